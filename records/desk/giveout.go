package desk

import (
	"context"
	"encoding/json"
	"slices"

	"tallybook/records"
)

// GiveOut streams whole records, those in the box if one is given, for
// writing to a file. Private things are blanked unless they are asked for by
// somebody who may see them.
func (d *Desk) GiveOut(ctx context.Context, actor records.Actor, in *records.Bounds, private bool, fn func(w *records.Well, total int64) error) error {
	if err := d.Permit(actor, GiveOut); err != nil {
		return err
	}
	if private {
		if err := d.Permit(actor, SeePrivate); err != nil {
			return err
		}
	}
	return d.store.View(ctx, func(v records.StoreView) error {
		total, err := v.CountWells(ctx)
		if err != nil {
			return err
		}
		merged, err := mergedInto(ctx, v)
		if err != nil {
			return err
		}
		return v.EachWell(ctx, in, func(w *records.Well) error {
			if uids := merged[w.UID]; uids != nil {
				tellMerged(w, uids)
			}
			if !private {
				blankPrivate(w)
			}
			return fn(w, total)
		})
	})
}

// mergedProperty lists the public names of records that were merged into this
// one: whoever knows one of them finds the record that was kept.
const mergedProperty = "merged_uids"

// mergedInto gives the names that lead to each record, in their order.
func mergedInto(ctx context.Context, v records.StoreView) (map[string][]string, error) {
	names, err := v.MergedNames(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string][]string{}
	for uid, into := range names {
		out[into] = append(out[into], uid)
	}
	for _, uids := range out {
		slices.Sort(uids)
	}
	return out, nil
}

// tellMerged adds the names to what goes out of a record, in place of what a
// file had told of them.
func tellMerged(w *records.Well, uids []string) {
	text, err := json.Marshal(uids)
	if err != nil {
		return // texts can always be written
	}
	extra := slices.DeleteFunc(slices.Clone(w.Extra), func(m records.Member) bool { return m.Name == mergedProperty })
	w.Extra = append(extra, records.Member{Name: mergedProperty, JSON: string(text)})
}
