package desk

import (
	"context"
	"fmt"

	"tallybook/records"
)

// CorrectionLook is what a correction would do.
type CorrectionLook struct {
	Looked  int64 // records looked at: all, or those that the box and the filter choose
	Chosen  int64 // those that are meant
	Changed int64 // those that would change
	Refused int64 // those of the chosen that the rule cannot change, or whose record would not hold
	Warned  int64 // those that would change and have something to look at then
	// Records are the first that would change, Kept the first that could not.
	Records []CorrectionRecord
	Kept    []CorrectionRecord
	// Bounds is where those that would change lie; Located says whether any does.
	Bounds  records.Bounds
	Located bool
	// Commit is the state that was looked at: applying asks for the same.
	Commit int64
}

// CorrectionRecord is one record before and after.
type CorrectionRecord struct {
	WellID  int64
	Number  string
	Changes []records.Change
	Faults  []records.Fault
}

// mostCorrected is how many records one correction changes: all in one
// transaction, for which others wait.
const mostCorrected = 50_000

// shownCorrected is how many are shown before and after.
const shownCorrected = 200

// RehearseCorrection looks what a correction would do, and writes nothing.
// progress may be nil.
func (d *Desk) RehearseCorrection(ctx context.Context, actor records.Actor, c records.Correction, progress func(looked int64)) (*CorrectionLook, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	d.sign(actor, &c)
	if err := checkCorrection(&c); err != nil {
		return nil, err
	}
	var out *CorrectionLook
	err := d.store.View(ctx, func(v records.StoreView) (err error) {
		out, err = d.correct(ctx, v, &c, progress, nil)
		return err
	})
	return out, err
}

// checkCorrection says what is wrong with a correction, its filter too.
func checkCorrection(c *records.Correction) error {
	if err := c.Check(); err != nil {
		return err
	}
	return CheckFilter(c.Choose.Filter)
}

// sign says who marks logs, and when, where a rule does not say it itself.
func (d *Desk) sign(actor records.Actor, c *records.Correction) {
	r := &c.Rule
	if r.Kind != records.CorrectMark {
		return
	}
	if r.By = orActor(r.By, actor); r.On == "" {
		r.On = d.Validation().Today.String()
	}
}

// correct walks through all records, or through those alone that the box and the
// filter choose; put is given each that changes, as it is
// to be, or is nil.
func (d *Desk) correct(ctx context.Context, v records.StoreView, c *records.Correction, progress func(int64), put func(*records.Well) error) (*CorrectionLook, error) {
	look := &CorrectionLook{Commit: v.Commit()}
	var in *records.Bounds
	if b := c.Choose.Within; b != nil {
		in = &records.Bounds{West: b[0], South: b[1], East: b[2], North: b[3]}
	}
	where, err := wellsWhere(c.Choose.Filter)
	if err != nil {
		return nil, err
	}
	var changed []*records.Well // a store is not written while it is read through
	err = v.EachWellWhere(ctx, in, where, func(w *records.Well) error {
		if look.Looked++; progress != nil && look.Looked%1000 == 0 {
			progress(look.Looked)
		}
		if !c.Choose.Chosen(w) {
			return nil
		}
		look.Chosen++
		now := w.Copy()
		did, faults := c.Rule.Apply(now)
		if did {
			faults = append(faults, newFaults(w.Validate(d.Validation()), now.Validate(d.Validation()))...)
		}
		r := CorrectionRecord{WellID: w.ID, Number: w.Number, Faults: faults}
		switch {
		case records.Refuses(faults):
			if look.Refused++; len(look.Kept) < shownCorrected {
				look.Kept = append(look.Kept, r)
			}
			return nil
		case !did:
			return nil
		}
		if len(faults) > 0 {
			look.Warned++
		}
		if look.Changed++; look.Changed > mostCorrected {
			return records.Errorf(records.TooLarge, "more than %d records would change; choose fewer at a time, such as by intake or by years", mostCorrected)
		}
		if len(look.Records) < shownCorrected {
			r.Changes = records.Diff(w, now)
			look.Records = append(look.Records, r)
		}
		look.spread(now)
		if put != nil {
			changed = append(changed, now)
		}
		return nil
	})
	for _, w := range changed {
		if err == nil {
			err = put(w)
		}
	}
	return look, err
}

// newFaults are the faults that a record has after a change and had not before.
func newFaults(was, is []records.Fault) []records.Fault {
	had := map[string]bool{}
	for _, f := range was {
		had[f.String()] = true
	}
	var out []records.Fault
	for _, f := range is {
		if !had[f.String()] {
			out = append(out, f)
		}
	}
	return out
}

// spread takes a record into the extent.
func (l *CorrectionLook) spread(w *records.Well) {
	p := &w.Place
	if !p.Located {
		return
	}
	if !l.Located {
		l.Located, l.Bounds = true, records.Bounds{West: p.Lon, East: p.Lon, South: p.Lat, North: p.Lat}
		return
	}
	b := &l.Bounds
	b.West, b.East, b.South, b.North = min(b.West, p.Lon), max(b.East, p.Lon), min(b.South, p.Lat), max(b.North, p.Lat)
}

// ApplyCorrection changes the records, all of them or none, and keeps what it
// did, to be undone as a whole. seen is the state that was looked at: where
// something that would change it was written since, an Error with code Conflict.
func (d *Desk) ApplyCorrection(ctx context.Context, actor records.Actor, c records.Correction, why string, seen int64) (*records.CorrectionDone, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	d.sign(actor, &c)
	if err := checkCorrection(&c); err != nil {
		return nil, err
	}
	done := &records.CorrectionDone{Correction: c, Why: why}
	because := why
	if because == "" {
		because = "corrected with others"
	}
	err := d.update(ctx, actor, func(tx records.StoreTx) error {
		if n, err := tx.ChangedSince(ctx, seen); err != nil || n > 0 {
			if err != nil {
				return err
			}
			return records.Errorf(records.Conflict, "what was looked at is no longer as it was (records written since: %d): look again, then apply it", n)
		}
		var list []records.CorrectedRecord
		_, err := d.correct(ctx, tx, &c, nil, func(w *records.Well) error {
			r := records.CorrectedRecord{WellID: w.ID, Before: w.Revision}
			if err := tx.PutWell(ctx, w, because); err != nil {
				return fmt.Errorf("record %d: %w", w.ID, err)
			}
			r.After = w.Revision
			list = append(list, r)
			return nil
		})
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return records.Errorf(records.NotFound, "no record would change")
		}
		return tx.PutCorrection(ctx, done, list)
	})
	return done, err
}

// Corrections lists what was corrected for many at once, the latest first.
func (d *Desk) Corrections(ctx context.Context, actor records.Actor) ([]records.CorrectionDone, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]records.CorrectionDone, error) { return v.Corrections(ctx) })
}

// UndoCorrection brings back what every record was before a correction, but for
// those that somebody has worked on since, which are left and counted.
func (d *Desk) UndoCorrection(ctx context.Context, actor records.Actor, id int64) (done *records.CorrectionDone, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	return done, d.update(ctx, actor, func(tx records.StoreTx) error {
		all, err := tx.Corrections(ctx)
		if err != nil {
			return err
		}
		for i := range all {
			if all[i].ID == id {
				done = &all[i]
			}
		}
		if done == nil {
			return records.Errorf(records.NotFound, "there is no correction %d", id)
		}
		list, err := tx.CorrectedRecords(ctx, id)
		if err != nil {
			return err
		}
		for _, r := range list {
			back, err := d.uncorrect(ctx, tx, r, id)
			if err != nil {
				return err
			}
			if !back {
				done.Left++
			}
		}
		return tx.PutCorrection(ctx, done, nil)
	})
}

// uncorrect brings one record back; false where somebody has worked on it.
func (d *Desk) uncorrect(ctx context.Context, tx records.StoreTx, r records.CorrectedRecord, id int64) (bool, error) {
	now, err := tx.Well(ctx, r.WellID)
	if records.CodeOf(err) == records.NotFound || err == nil && now.Revision != r.After {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	revisions, err := tx.Revisions(ctx, r.WellID)
	if err != nil {
		return false, err
	}
	for _, earlier := range revisions {
		if earlier.Revision == r.Before {
			w := earlier.Image
			w.ID, w.Revision = r.WellID, r.After
			return true, tx.PutWell(ctx, w, fmt.Sprintf("correction %d undone", id))
		}
	}
	return false, records.Errorf(records.Internal, "record %d has lost its revision %d", r.WellID, r.Before)
}
