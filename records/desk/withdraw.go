package desk

import (
	"context"
	"slices"

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

// IntakeStanding counts the records that came in with an intake and are there,
// and those of them that were written since.
func (d *Desk) IntakeStanding(ctx context.Context, actor records.Actor, batch int64) (there, written int64, err error) {
	n, err := look(ctx, d, actor, func(v records.StoreView) (n [2]int64, err error) {
		n[0], n[1], err = v.IntakeStanding(ctx, batch)
		return n, err
	})
	return n[0], n[1], err
}

// TakenBack is what taking an intake back came to.
type TakenBack struct {
	Removed int64 // records that came in with it and were taken out
	Back    int64 // records that it had changed and that are as they were before
	Left    int64 // records that were left because somebody had worked on them
}

// Withdraw takes an intake back as a whole: every record that came in with it
// and was not edited since is taken out, and what a later copy changed is set
// back. Their last states are kept.
func (d *Desk) Withdraw(ctx context.Context, actor records.Actor, id int64) (out TakenBack, err error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return out, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		batches, err := tx.Batches(ctx)
		if err != nil {
			return err
		}
		b, err := standing(batches, id)
		if err != nil {
			return err
		}
		if out.Back, out.Left, err = takeBackCopy(ctx, tx, b); err != nil {
			return err
		}
		const why = "the intake was taken back"
		removed, kept, err := tx.RemoveBatch(ctx, id, why)
		if err != nil {
			return err
		}
		again, err := removeUntouched(ctx, tx, id, kept, why)
		if err != nil {
			return err
		}
		out.Removed, out.Left = removed+again, out.Left+kept-again
		b.State = "withdrawn"
		return tx.PutBatch(ctx, b)
	})
	return out, err
}

// standing is an intake that can be taken back.
func standing(batches []records.Batch, id int64) (*records.Batch, error) {
	var found *records.Batch
	for i := range batches {
		b := &batches[i]
		if b.ID == id {
			found = b
		}
		if b.CopyOf == id && b.State == "published" {
			return nil, records.Errorf(records.Conflict, "intake %d is a later copy of intake %d and was compared with it: take that one back first", b.ID, id)
		}
	}
	switch {
	case found == nil:
		return nil, records.Errorf(records.NotFound, "there is no intake %d", id)
	case found.State != "published":
		return nil, records.Errorf(records.Conflict, "intake %d is %s and cannot be taken back", id, found.State)
	}
	return found, nil
}

// removeUntouched takes out the records of an intake that were written since
// and are as they came in all the same: a later copy had changed them, and was
// taken back.
func removeUntouched(ctx context.Context, tx records.StoreTx, id, kept int64, why string) (removed int64, err error) {
	if kept == 0 {
		return 0, nil
	}
	err = tx.SourceImages(ctx, []int64{id}, func(s *records.SourceImage) error {
		if s.Out {
			return nil
		}
		now, err := tx.Well(ctx, s.WellID)
		if err != nil {
			return err
		}
		if len(records.Diff(s.Image, now)) > 0 {
			return nil
		}
		into, err := tx.MergesInto(ctx, now.UID)
		if err != nil || slices.ContainsFunc(into, func(m records.Merge) bool { return m.SplitAt.IsZero() }) {
			return err
		}
		if linked, err := plateDecided(ctx, tx, now); err != nil || linked {
			return err
		}
		removed++
		return tx.RemoveWell(ctx, now.ID, now.Revision, why)
	})
	return removed, err
}

// plateDecided says whether somebody decided that a plate is a record's.
func plateDecided(ctx context.Context, tx records.StoreTx, w *records.Well) (bool, error) {
	for i := range w.Plates {
		state, err := tx.PlateState(ctx, w.Plates[i].ID)
		if err != nil {
			return false, err
		}
		if state.Decision.State == records.PlateLinked && state.Decision.WellUID == w.UID {
			return true, nil
		}
	}
	return false, nil
}
