package desk

import (
	"context"
	"slices"
	"time"

	"tallybook/records"
)

// RecordEdit is a form of a record as it was sent.
type RecordEdit struct {
	ID       int64 // 0: a new record
	Revision int64 // the state that the form was made from
	Typed    records.Typed
	Unit     func(records.Dimension) records.Unit // of bare numbers where the form does not say it
	Why      string
	UID      string // of a new record, where the form was given one: sent twice, it makes one record

	// Where somebody else saved meanwhile: which state of theirs this person
	// was shown, and what was chosen where both changed the same.
	Against int64
	Choose  map[string]records.Side

	DraftID, DraftRevision int64 // the draft that it ends; 0: none
}

// Edited is what came of a form.
type Edited struct {
	Well    *records.Well // as typed, or as it was saved
	Reading records.Reading
	Faults  []records.Fault // of the reading and of what was read
	Saved   bool
	Same    bool  // there was nothing to save
	Already bool  // since somebody saved the same meanwhile: this form, sent twice
	Was     int64 // the revision that was replaced; 0 for a new record
	Stale   *Stale
}

// Stale is a record that somebody else saved while a form of it was open: the
// three states, and what they come to together.
type Stale struct {
	Base, Ours, Theirs *records.Well
	Merged             *records.Well
	Clashes            []records.Clash
	Faults             []records.Fault // of what they come to
	Gone               bool            // it was taken out: Theirs is what was taken out
	By                 string          // who saved last, and when
	At                 time.Time
}

// BringBack as RecordEdit.Against says that a record which was taken out meanwhile
// is to come back as it was typed.
const BringBack = -1

func (d *Desk) typedOptions(actor records.Actor, e *RecordEdit) records.TypedOptions {
	return records.TypedOptions{Private: d.Permit(actor, SeePrivate) == nil, Unit: e.Unit}
}

// TypedOf is the form of a record.
func (d *Desk) TypedOf(actor records.Actor, w *records.Well, unit func(records.Dimension) records.Unit) records.Typed {
	return w.Typed(d.typedOptions(actor, &RecordEdit{Unit: unit}))
}

// LookAtEdit reads a form as SaveEdit does and tells what is wrong with it,
// without writing anything.
func (d *Desk) LookAtEdit(ctx context.Context, actor records.Actor, e RecordEdit) (out *Edited, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		out, err = d.readEdit(ctx, v, actor, &e)
		return err
	})
	return out, err
}

// SaveEdit saves a form. Nothing is written where it has faults that refuse
// it, and where somebody else saved meanwhile and this person has not seen
// that or not yet chosen: Edited says which. What the form does not show stays
// as it is stored, also from those who may not see it.
func (d *Desk) SaveEdit(ctx context.Context, actor records.Actor, e RecordEdit) (out *Edited, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		if out, err = d.readEdit(ctx, tx, actor, &e); err != nil || records.Refuses(out.Reading.Faults) {
			return err
		}
		if e.ID == 0 && out.empty() {
			out.Faults = append(out.Faults, records.Fault{Severity: records.Refusal, Message: "nothing is written in the new record", Mend: "type at least its number, its place or a depth"})
		}
		w, faults := out.Well, out.Faults
		if s := out.Stale; s != nil {
			out.Already = out.Same
			if !out.Same && !s.seen(&e) {
				return nil
			}
			w, faults = s.Merged, s.Faults
		}
		if records.Refuses(faults) {
			return nil
		}
		if !out.Same {
			out.Was = w.Revision
			if err := tx.PutWell(ctx, w, e.Why); err != nil {
				return err
			}
		}
		out.Saved, out.Well, out.Faults, out.Stale = true, w, faults, nil
		return endDraft(ctx, tx, e.DraftID, e.DraftRevision)
	})
	return out, err
}

// empty says whether nothing at all was typed into the form of a new record.
func (e *Edited) empty() bool {
	return len(records.Diff(&records.Well{UID: e.Well.UID, Provenance: e.Well.Provenance}, e.Well)) == 0
}

// seen says whether the person saw the state that is stored now and settled
// every clash.
func (s *Stale) seen(e *RecordEdit) bool {
	if s.Gone {
		return e.Against == BringBack
	}
	return e.Against == s.Theirs.Revision && records.Unsettled(s.Clashes) == 0
}

// readEdit reads a form into the state that it was made from, and where that
// is no longer the one that is stored, brings both together.
func (d *Desk) readEdit(ctx context.Context, v records.StoreView, actor records.Actor, e *RecordEdit) (*Edited, error) {
	out := &Edited{}
	if e.ID == 0 {
		out.Well = &records.Well{UID: e.UID, Provenance: records.Provenance{Source: "own_log"}}
		out.read(d, actor, e)
		return out, nil
	}
	base, stored, last, err := statesOf(ctx, v, e.ID, e.Revision)
	if err != nil {
		return nil, err
	}
	ours, _, _, err := statesOf(ctx, v, e.ID, e.Revision) // one of its own, to be written into
	if err != nil {
		return nil, err
	}
	out.Well = ours
	out.read(d, actor, e)
	if stored != nil && stored.Revision == e.Revision {
		out.Same = len(records.Diff(base, ours)) == 0
		return out, nil
	}
	s := &Stale{Base: base, Ours: ours, Theirs: stored, By: last.By, At: last.Until}
	if stored == nil {
		back := *ours
		back.ID, back.Revision = 0, 0
		s.Gone, s.Theirs, s.Merged, s.Faults = true, last.Image, &back, out.Faults
	} else {
		s.Merged, s.Clashes = records.Merge3(base, ours, stored, func(field string) records.Side { return e.Choose[field] })
		s.Faults = s.Merged.Validate(d.Validation())
		out.Same = len(s.Clashes) == 0 && len(records.Diff(stored, s.Merged)) == 0
	}
	out.Stale = s
	return out, nil
}

// read fills the record from the form and tells what is wrong with it.
func (out *Edited) read(d *Desk, actor records.Actor, e *RecordEdit) {
	out.Reading = out.Well.ReadTyped(e.Typed, d.typedOptions(actor, e))
	out.Faults = append(append([]records.Fault(nil), out.Reading.Faults...), out.Well.Validate(d.Validation())...)
	if d.Permit(actor, SeePrivate) != nil { // a fault quotes what it is about
		out.Faults = slices.DeleteFunc(out.Faults, func(f records.Fault) bool { return f.Severity != records.Refusal && privateField(f.Field) })
		for i := range out.Faults {
			if f := &out.Faults[i]; privateField(f.Field) {
				f.Message = "is at fault; somebody who may see it has to mend it"
			}
		}
	}
}

// privateField says whether a property is for those alone who may see people.
func privateField(field string) bool {
	return slices.ContainsFunc(records.Profile(), func(p records.Property) bool { return p.Private && p.Name == field })
}

// statesOf reads a record at a revision and as it is stored now; stored is nil
// where it was taken out. last is the latest of the earlier images.
func statesOf(ctx context.Context, v records.StoreView, id, revision int64) (base, stored *records.Well, last records.Revision, err error) {
	stored, err = v.Well(ctx, id)
	switch {
	case records.CodeOf(err) == records.NotFound:
		stored = nil
	case err != nil:
		return nil, nil, last, err
	case stored.Revision == revision:
		base, err = v.Well(ctx, id)
		return base, stored, last, err
	}
	revs, err := v.Revisions(ctx, id)
	if err != nil {
		return nil, nil, last, err
	}
	for i := range revs {
		if i == 0 {
			last = revs[0]
		}
		if revs[i].Revision == revision {
			base = revs[i].Image
			base.ID, base.Revision = id, revision
		}
	}
	if base == nil {
		return nil, nil, last, records.Errorf(records.NotFound, "the record has no revision %d", revision)
	}
	return base, stored, last, nil
}

// RemoveRecord takes a record out, and tells which plates were linked to it,
// so that BringBackRecord can link them again.
func (d *Desk) RemoveRecord(ctx context.Context, actor records.Actor, id, revision int64, why string) (plates []int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		w, err := tx.Well(ctx, id)
		if err != nil {
			return err
		}
		for i := range w.Plates {
			plates = append(plates, w.Plates[i].ID)
		}
		return tx.RemoveWell(ctx, id, revision, why)
	})
	return plates, err
}

// BringBackRecord undoes RemoveRecord: the record comes back as it was, under
// its public name and a new key, and those of its plates that nobody linked
// elsewhere meanwhile with it.
func (d *Desk) BringBackRecord(ctx context.Context, actor records.Actor, id, revision int64, plates []int64) (back int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		w, stored, _, err := statesOf(ctx, tx, id, revision)
		switch {
		case err != nil:
			return err
		case stored != nil:
			return records.Errorf(records.Conflict, "the record is there: it need not be brought back")
		}
		w.ID, w.Revision = 0, 0
		if err := tx.PutWell(ctx, w, ""); err != nil {
			return err
		}
		for _, key := range plates {
			p, err := tx.Plate(ctx, key)
			if records.CodeOf(err) == records.NotFound || err == nil && p.WellID != 0 {
				continue
			}
			if err != nil {
				return err
			}
			p.WellID, p.LinkedBy, p.LinkedAt = w.ID, actor.Name, tx.Now()
			if err := tx.PutPlate(ctx, p, "its record was brought back"); err != nil {
				return err
			}
		}
		back = w.ID
		return nil
	})
	return back, err
}
