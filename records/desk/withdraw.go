package desk

import (
	"context"

	"tallybook/records"
)

// Intakes lists the files that were taken in, the first one first.
func (d *Desk) Intakes(ctx context.Context, actor records.Actor) (batches []records.Batch, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		batches, err = v.Batches(ctx)
		return err
	})
	return batches, err
}

// Withdraw takes an intake back as a whole: every record that came in with it
// and was not edited since. Their last state is kept. It tells how many
// records were taken out, and how many were left because somebody had worked
// on them.
func (d *Desk) Withdraw(ctx context.Context, actor records.Actor, id int64) (removed, left int64, err error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return 0, 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		batches, err := tx.Batches(ctx)
		if err != nil {
			return err
		}
		for i := range batches {
			b := &batches[i]
			if b.ID != id {
				continue
			}
			if b.State != "published" {
				return records.Errorf(records.Conflict, "intake %d is %s and cannot be taken back", id, b.State)
			}
			if removed, left, err = tx.RemoveBatch(ctx, id, "the intake was taken back"); err != nil {
				return err
			}
			b.State = "withdrawn"
			return tx.PutBatch(ctx, b)
		}
		return records.Errorf(records.NotFound, "there is no intake %d", id)
	})
	return removed, left, err
}
