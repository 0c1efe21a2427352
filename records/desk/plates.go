package desk

import (
	"context"

	"tallybook/records"
)

// Plate opens one plate: what is stamped on it, where it was seen, and the
// well that somebody decided it belongs to.
func (d *Desk) Plate(ctx context.Context, actor records.Actor, id int64) (p *records.Plate, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		p, err = v.Plate(ctx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	return p, nil
}
