package desk

import (
	"context"
	"encoding/json"
	"slices"

	"tallybook/records"
	"tallybook/records/cql2"
)

// GiveOut streams whole records, those in the box if one is given, for
// writing to a file. Private things are blanked unless they are asked for by
// somebody who may see them.
func (d *Desk) GiveOut(ctx context.Context, actor records.Actor, in *records.Bounds, private bool, fn func(w *records.Well, total int64) error) error {
	return d.GiveOutWanted(ctx, actor, Wanted{In: in, Private: private}, fn)
}

// Wanted says which records are given out, and how.
type Wanted struct {
	In      *records.Bounds // those in this box; nil: anywhere
	Filter  string          // those that this filter chooses (package cql2), its places in degrees; "": all
	Private bool            // with people's names, addresses and telephone numbers
	// Ground is told ahead of each record what an elevation grid has at its
	// place; may be nil.
	Ground func(GroundAt)
}

// GiveOutWanted is GiveOut with a filter. One that cannot be read is an Error
// with code Invalid.
func (d *Desk) GiveOutWanted(ctx context.Context, actor records.Actor, wanted Wanted, fn func(w *records.Well, total int64) error) error {
	if err := d.Permit(actor, GiveOut); err != nil {
		return err
	}
	private := wanted.Private
	where, err := wellsWhere(wanted.Filter)
	if err != nil {
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
		var ground *groundOut
		if wanted.Ground != nil {
			if ground, err = d.groundOfAll(ctx, v); err != nil {
				return err
			}
		}
		return v.EachWellWhere(ctx, wanted.In, where, func(w *records.Well) error {
			if uids := merged[w.UID]; uids != nil {
				tellMerged(w, uids)
			}
			if !private {
				blankPrivate(w)
			}
			if wanted.Ground != nil {
				wanted.Ground(ground.at(w.ID))
			}
			return fn(w, total)
		})
	})
}

// CheckFilter says what is wrong with a filter of wells (package cql2), where and
// what would do, as an Error with code Invalid. There is nothing wrong with none.
func CheckFilter(filter string) error {
	_, err := wellsWhere(filter)
	return err
}

// wellsWhere reads a filter of wells, in either system of units; nil where
// there is none.
func wellsWhere(filter string) (records.Condition, error) {
	if filter == "" {
		return nil, nil
	}
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		return nil, err
	}
	return cql2.AskOf(filter, cql2.WithUS(cql2.FieldsOf(c)), cql2.CRS{})
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

// GiveOutBeside streams what stands beside the records: plates that are linked
// to none, and sightings of the ground; those in the box if one is given, a
// plate by where it was seen last. Linked plates go out with their records.
func (d *Desk) GiveOutBeside(ctx context.Context, actor records.Actor, in *records.Bounds, private bool, plate func(*records.Plate) error, sighting func(*records.Sighting) error) error {
	if err := d.Permit(actor, GiveOut); err != nil {
		return err
	}
	if private {
		if err := d.Permit(actor, SeePrivate); err != nil {
			return err
		}
	}
	return d.store.View(ctx, func(v records.StoreView) error {
		err := v.EachPlate(ctx, func(p *records.Plate) error {
			seen := p.LastSeen()
			if p.WellID != 0 || in != nil && (seen == nil || !in.Has(seen.Lon, seen.Lat)) {
				return nil
			}
			return plate(p)
		})
		if err != nil {
			return err
		}
		list, err := v.Sightings(ctx, in)
		for _, s := range list {
			if err != nil {
				return err
			}
			if !private {
				s.By = ""
			}
			err = sighting(s)
		}
		return err
	})
}
