package desk

import (
	"context"

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
		return v.EachWell(ctx, in, func(w *records.Well) error {
			if !private {
				w.Owner, w.Place.Address = records.Person{}, ""
			}
			return fn(w, total)
		})
	})
}
