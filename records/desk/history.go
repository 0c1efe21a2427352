package desk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tallybook/records"
)

// History is everything that became of a record, whether it is there or not.
type History struct {
	UID    string
	ID     int64          // the key under which it stands; 0 where it was taken out
	LastID int64          // likewise, or the key that it had last
	States []HistoryState // the latest first
	Merges []HistoryMerge // records that were merged into it, the latest first
	Into   *records.Merge // what it was merged into, nil where it is its own
	IntoID int64          // the key to which that leads; 0: to nothing
	Gone   *HistoryState  // the last state of one that was taken out
}

// HistoryState is one state of a record: who wrote it, when and why, and until
// when it held.
type HistoryState struct {
	Key      int64 // under which it is kept
	Revision int64
	Image    *records.Well
	Since    time.Time // zero: as first written, and nobody noted when
	By, Why  string    // of the write that made it
	Until    time.Time // zero: it holds
	Ended    string    // who ended it
	EndedWhy string
	Out      bool // it ended with the record being taken out
}

// Name is what addresses call the state.
func (s *HistoryState) Name() string { return fmt.Sprintf("%d.%d", s.Key, s.Revision) }

// HistoryMerge is a merge into a record, with the name of what went in.
type HistoryMerge struct {
	records.Merge
	Number string
}

// History reads what became of the record that has a key, or had it.
func (d *Desk) History(ctx context.Context, actor records.Actor, id int64) (*History, error) {
	return look(ctx, d, actor, func(v records.StoreView) (*History, error) {
		uid, err := v.UIDOf(ctx, id)
		if err != nil {
			return nil, err
		}
		h := &History{UID: uid}
		if err := h.readStates(ctx, v); err != nil {
			return nil, err
		}
		if len(h.States) == 0 {
			return nil, records.Errorf(records.NotFound, "nothing is kept of the record %d", id)
		}
		if d.Permit(actor, SeePrivate) != nil {
			for i := range h.States {
				blankPrivate(h.States[i].Image)
			}
		}
		return h, h.readMerges(ctx, v)
	})
}

func blankPrivate(w *records.Well) {
	w.Owner, w.Place.Address, w.Attachments = records.Person{}, "", nil // owners stand on scans
}

// readStates lists the states under each key that the record had.
func (h *History) readStates(ctx context.Context, v records.StoreView) error {
	keys, err := v.FormerKeys(ctx, h.UID)
	if err != nil {
		return err
	}
	now, err := ownID(ctx, v, h.UID)
	if err != nil {
		return err
	}
	if now != 0 {
		w, err := v.Well(ctx, now)
		if err != nil {
			return err
		}
		h.ID = now
		h.States = append(h.States, HistoryState{Key: now, Revision: w.Revision, Image: w})
		keys = append([]int64{now}, keys...)
	}
	if len(keys) > 0 {
		h.LastID = keys[0]
	}
	for _, key := range keys {
		revs, err := v.Revisions(ctx, key)
		if err != nil {
			return err
		}
		for i, r := range revs {
			h.States = append(h.States, HistoryState{Key: key, Revision: r.Revision, Image: r.Image, Until: r.Until, Ended: r.By, EndedWhy: r.Why, Out: key != now && i == 0})
		}
	}
	// What ended a state made the one before it in the list.
	for i := range h.States {
		s := &h.States[i]
		if i+1 == len(h.States) {
			break
		}
		if prev := &h.States[i+1]; prev.Key == s.Key {
			s.Since, s.By, s.Why = prev.Until, prev.Ended, prev.EndedWhy
		}
	}
	if h.ID == 0 && len(h.States) > 0 {
		h.Gone = &h.States[0]
	}
	return nil
}

// ownID is the key of the record that bears a public name itself; 0 where none
// does.
func ownID(ctx context.Context, v records.StoreView, uid string) (int64, error) {
	id, err := v.WellIDByUID(ctx, uid)
	switch {
	case records.CodeOf(err) == records.NotFound:
		return 0, nil
	case err != nil:
		return 0, err
	}
	own, err := v.UIDOf(ctx, id)
	if err != nil || own != uid {
		return 0, err
	}
	return id, nil
}

func (h *History) readMerges(ctx context.Context, v records.StoreView) error {
	into, err := v.MergeOf(ctx, h.UID)
	switch {
	case records.CodeOf(err) == records.NotFound:
	case err != nil:
		return err
	case h.ID == 0:
		h.Into = into
		if h.IntoID, err = v.WellIDByUID(ctx, h.UID); records.CodeOf(err) != records.NotFound && err != nil {
			return err
		}
	}
	merges, err := v.MergesInto(ctx, h.UID)
	if err != nil {
		return err
	}
	for _, m := range merges {
		name := HistoryMerge{Merge: m}
		image, err := imageOf(ctx, v, m.WellID, m.Revision)
		if err == nil {
			name.Number = image.Number
		} else if records.CodeOf(err) != records.NotFound {
			return err
		}
		h.Merges = append(h.Merges, name)
	}
	return nil
}

// imageOf is a state of a record by its key and revision.
func imageOf(ctx context.Context, v records.StoreView, id, revision int64) (*records.Well, error) {
	if w, err := v.Well(ctx, id); err == nil && w.Revision == revision {
		return w, nil
	} else if err != nil && records.CodeOf(err) != records.NotFound {
		return nil, err
	}
	revs, err := v.Revisions(ctx, id)
	if err != nil {
		return nil, err
	}
	for _, r := range revs {
		if r.Revision == revision {
			return r.Image, nil
		}
	}
	return nil, records.Errorf(records.NotFound, "the record has no revision %d", revision)
}

// HistoryID finds the key under which the history of a record is read, by its
// public name: the present one, else the one that it had last.
func (d *Desk) HistoryID(ctx context.Context, actor records.Actor, uid string) (int64, error) {
	return look(ctx, d, actor, func(v records.StoreView) (int64, error) {
		id, err := v.WellIDByUID(ctx, uid)
		if records.CodeOf(err) != records.NotFound || err == nil {
			return id, err
		}
		keys, kerr := v.FormerKeys(ctx, uid)
		if kerr != nil || len(keys) == 0 {
			return 0, errors.Join(kerr, err)
		}
		return keys[0], nil
	})
}

// WhereTo finds where an old address of a record leads: the key of the record
// that came back under another, or of the one that it was merged into.
func (d *Desk) WhereTo(ctx context.Context, actor records.Actor, id int64) (int64, error) {
	return look(ctx, d, actor, func(v records.StoreView) (int64, error) {
		uid, err := v.UIDOf(ctx, id)
		if err != nil {
			return 0, err
		}
		return v.WellIDByUID(ctx, uid)
	})
}

// RestoreState makes an earlier state of a record the present one, be the
// record there or taken out; key and revision name the state, and current is
// the revision that the person saw, 0 for one that was taken out. It gives the
// key under which the record stands, and its revision.
func (d *Desk) RestoreState(ctx context.Context, actor records.Actor, id, key, revision, current int64) (now, rev int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		uid, err := tx.UIDOf(ctx, id)
		if err != nil {
			return err
		}
		of, err := tx.UIDOf(ctx, key)
		if err != nil {
			return err
		}
		if of != uid {
			return records.Errorf(records.Invalid, "the state %d of record %d is of another record; open the history again and restore from there", revision, key)
		}
		image, err := imageOf(ctx, tx, key, revision)
		if err != nil {
			return err
		}
		w := *image
		w.Revision, w.Plates = current, nil
		if w.ID, err = ownID(ctx, tx, uid); err != nil {
			return err
		}
		if w.ID == 0 {
			if _, err := tx.MergeOf(ctx, uid); err == nil {
				return records.Errorf(records.Conflict, "this record was merged into another; split the two again, and it comes back as it was")
			} else if records.CodeOf(err) != records.NotFound {
				return err
			}
			w.Revision = 0
		}
		back := w.ID == 0
		if err := tx.PutWell(ctx, &w, fmt.Sprintf("revision %d restored", revision)); err != nil {
			return err
		}
		now, rev = w.ID, w.Revision
		if !back {
			return nil
		}
		return linkAgain(ctx, tx, id, w.ID)
	})
	return now, rev, err
}

// linkAgain gives a record that came back the plates that it had when it was
// taken out.
func linkAgain(ctx context.Context, tx records.StoreTx, was, now int64) error {
	lost, err := tx.PlatesOnce(ctx, was)
	if err != nil {
		return err
	}
	for _, p := range lost {
		p.WellID = now
		if err := tx.PutPlate(ctx, p, "its well's record came back"); err != nil {
			return err
		}
	}
	return nil
}

// TakenOut lists records that were taken out, the latest first, and how many
// there are in all.
func (d *Desk) TakenOut(ctx context.Context, actor records.Actor, skip, limit int) (out []records.TakenOut, all int64, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, 0, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		out, all, err = v.TakenOut(ctx, skip, limit)
		return err
	})
	if d.Permit(actor, SeePrivate) != nil {
		for i := range out {
			blankPrivate(out[i].Image)
		}
	}
	return out, all, err
}
