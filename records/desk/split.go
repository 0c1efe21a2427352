package desk

import (
	"context"

	"tallybook/records"
)

// Split is what splitting two merged records came to.
type Split struct {
	Back     int64    // the key of the record that came back
	Kept     int64    // the key of the other; 0 where it was taken out meanwhile
	Stays    []string // matters of the kept record that somebody changed since, and that stay
	AsItWas  bool     // the kept record could not go back: see Faults
	Faults   []records.Fault
	Revision int64 // of the kept record
	Wrote    bool  // whether the kept record was written
}

// SplitMerge takes a merge back, even years later: the record that was taken
// out comes back as it was, and the other is again as it was before in all
// that nobody changed since. Plates that moved along, and that nobody linked
// elsewhere, move back.
func (d *Desk) SplitMerge(ctx context.Context, actor records.Actor, id int64, why string) (*Split, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	s := &Split{}
	err := d.update(ctx, actor, func(tx records.StoreTx) error {
		m, err := tx.Merge(ctx, id)
		if err != nil {
			return err
		}
		if err := tx.SplitMerge(ctx, id, why); err != nil {
			return err
		}
		image, err := imageOf(ctx, tx, m.WellID, m.Revision)
		if err != nil {
			return err
		}
		back := *image
		back.ID, back.Revision, back.Plates = 0, 0, nil
		if err := tx.PutWell(ctx, &back, ""); err != nil {
			return err
		}
		s.Back = back.ID
		if s.Kept, err = ownID(ctx, tx, m.IntoUID); err != nil {
			return err
		}
		if s.Kept == 0 {
			if _, err := tx.MergeOf(ctx, m.IntoUID); err == nil {
				return records.Errorf(records.Conflict, "the record that was kept was merged into another since: split those two first")
			} else if records.CodeOf(err) != records.NotFound {
				return err
			}
		} else if err := d.apart(ctx, tx, m, s, wellName(&back)); err != nil {
			return err
		}
		if err := platesBack(ctx, tx, m, s); err != nil {
			return err
		}
		return decidePair(ctx, tx, m.UID, m.IntoUID, records.PairOpen, "split again")
	})
	return s, err
}

// apart brings the kept record back to what it was, as far as nobody changed it.
func (d *Desk) apart(ctx context.Context, tx records.StoreTx, m *records.Merge, s *Split, other string) error {
	now, err := tx.Well(ctx, s.Kept)
	if err != nil {
		return err
	}
	s.Revision = now.Revision
	before, err := imageOf(ctx, tx, m.IntoWellID, m.Before)
	if err != nil {
		return err
	}
	after, err := imageOf(ctx, tx, m.IntoWellID, m.After)
	if err != nil {
		return err
	}
	w, stays := records.Apart(before, after, now)
	s.Stays = stays
	if records.SameMatters(w, now) {
		return nil
	}
	if faults := w.Validate(d.Validation()); records.Refuses(faults) {
		// What was changed since does not go with what was before: the record
		// stays, and a person mends it.
		s.AsItWas, s.Faults = true, faults
		return nil
	}
	if err := tx.PutWell(ctx, w, "split from "+other+" again"); err != nil {
		return err
	}
	s.Revision, s.Wrote = w.Revision, true
	return nil
}

// MergeAgain undoes a split that was a mistake, as long as nobody wrote either
// of the two records since: both revisions must be those that the split left.
// wrote says whether the split wrote the kept record.
func (d *Desk) MergeAgain(ctx context.Context, actor records.Actor, id, backRevision, keptRevision int64, wrote bool) (kept int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		m, err := tx.Merge(ctx, id)
		if err != nil {
			return err
		}
		if m.SplitAt.IsZero() {
			return records.Errorf(records.Conflict, "the two records are merged already")
		}
		a, err := recordAt(ctx, tx, m.IntoUID, keptRevision)
		if err != nil {
			return err
		}
		b, err := recordAt(ctx, tx, m.UID, backRevision)
		if err != nil {
			return err
		}
		kept = a.ID
		if wrote {
			image, err := imageOf(ctx, tx, a.ID, keptRevision-1)
			if err != nil {
				return err
			}
			w := *image
			w.ID, w.Revision, w.Plates = a.ID, a.Revision, nil
			if err := tx.PutWell(ctx, &w, "merged with "+wellName(b)+" again"); err != nil {
				return err
			}
		}
		again := *m
		again.ID, again.WellID, again.Revision, again.Why = 0, b.ID, b.Revision, "the split was taken back"
		if again.Plates, err = movePlates(ctx, tx, b, a); err != nil {
			return err
		}
		if err := tx.RemoveWell(ctx, b.ID, b.Revision, "merged into "+wellName(a)+" again"); err != nil {
			return err
		}
		if err := tx.PutMerge(ctx, &again); err != nil {
			return err
		}
		return decidePair(ctx, tx, m.UID, m.IntoUID, verdictOf[m.How], again.Why)
	})
	return kept, err
}

// recordAt is the record that bears a public name itself, which must be at a
// revision.
func recordAt(ctx context.Context, tx records.StoreTx, uid string, revision int64) (*records.Well, error) {
	id, err := ownID(ctx, tx, uid)
	if err != nil {
		return nil, err
	}
	if id == 0 {
		return nil, records.Errorf(records.NotFound, "one of the two records is no longer there")
	}
	w, err := tx.Well(ctx, id)
	if err == nil && w.Revision != revision {
		return nil, records.Errorf(records.Conflict, "%s was changed since the two were split: merge them anew", wellName(w))
	}
	return w, err
}

// platesBack links the plates that moved along to the record that came back.
func platesBack(ctx context.Context, tx records.StoreTx, m *records.Merge, s *Split) error {
	for _, id := range m.Plates {
		p, err := tx.Plate(ctx, id)
		if records.CodeOf(err) == records.NotFound {
			continue
		}
		if err != nil {
			return err
		}
		if p.WellID != s.Kept && p.WellID != 0 {
			continue // somebody linked it elsewhere since
		}
		p.WellID = s.Back
		if p.LinkedBy == "" {
			continue // somebody took the link away since
		}
		if err := tx.PutPlate(ctx, p, "its well's record was split again"); err != nil {
			return err
		}
	}
	return nil
}
