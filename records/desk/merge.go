package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tallybook/records"
)

// MergeOffer is two records beside each other, with what each says of every
// matter.
type MergeOffer struct {
	Keep, Out *Sheet
	Matters   []records.Matter // those that may be seen
	Decision  records.PairDecision
}

// MergeAsk says how two records become one.
type MergeAsk struct {
	Keep, Out                 int64 // keys
	KeepRevision, OutRevision int64 // as the person saw them
	How                       string
	Works                     string // kind of works, where the other is a report of later ones
	Choose                    map[string]records.Word
	Why                       string
}

// Merged is what a merge came to.
type Merged struct {
	Well   *records.Well // the record that was kept; where nothing was written, as it would be
	ID     int64         // of the merge
	Open   []string      // matters of which a side has to be chosen first
	Faults []records.Fault
}

// OfferMerge reads two records for somebody who is to merge them; works says
// that the second is a report of later works of this kind, "" that it is not.
func (d *Desk) OfferMerge(ctx context.Context, actor records.Actor, keep, out int64, works string) (*MergeOffer, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if keep == out {
		return nil, records.Errorf(records.Invalid, "a record cannot be merged with itself; choose two")
	}
	sheets, err := d.Wells(ctx, actor, []int64{keep, out})
	if err != nil {
		return nil, err
	}
	o := &MergeOffer{Keep: sheets[0], Out: sheets[1]}
	a, b := o.Keep.Well, o.Out.Well
	if works != "" {
		a, b = records.AsWorks(a, b, works)
	}
	for _, m := range records.Matters(a, b) {
		if !m.Private || d.Permit(actor, SeePrivate) == nil {
			o.Matters = append(o.Matters, m)
		}
	}
	o.Decision, err = look(ctx, d, actor, func(v records.StoreView) (records.PairDecision, error) {
		return v.PairDecision(ctx, o.Keep.Well.UID, o.Out.Well.UID)
	})
	return o, err
}

// Merge makes one record of two: the first is kept with what was chosen, the
// second taken out; its names lead to the first, and its plates move along.
// Nothing is written where something is still to be chosen or the result has
// faults that refuse it: both are told.
func (d *Desk) Merge(ctx context.Context, actor records.Actor, ask MergeAsk) (*Merged, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	if err := ask.check(); err != nil {
		return nil, err
	}
	m := &Merged{}
	err := d.update(ctx, actor, func(tx records.StoreTx) error {
		a, b, err := ask.read(ctx, tx)
		if err != nil {
			return err
		}
		m.Well = d.combined(actor, &ask, a, b, m)
		m.Faults = m.Well.Validate(d.Validation())
		if len(m.Open) > 0 || records.Refuses(m.Faults) {
			return errNothingWritten
		}
		return m.write(ctx, tx, &ask, a, b)
	})
	if errors.Is(err, errNothingWritten) {
		return m, nil
	}
	return m, err
}

// errNothingWritten ends a transaction in which there is nothing to write.
var errNothingWritten = records.Errorf(records.Invalid, "nothing was written")

func (ask *MergeAsk) check() error {
	switch {
	case !slices.Contains(records.MergeWays(), ask.How):
		return records.Errorf(records.Invalid, "say how the two become one: field by field, as later works, or as a copy by mistake")
	case ask.How == records.MergedWorks && !slices.Contains(records.WorkWords(), ask.Works):
		return records.Errorf(records.Invalid, "say what the later works were: deepened, fractured, mended or sealed")
	case ask.Keep == ask.Out:
		return records.Errorf(records.Invalid, "a record cannot be merged with itself; choose two")
	}
	return nil
}

// read gives the two records as they stand, which must be as the person saw
// them.
func (ask *MergeAsk) read(ctx context.Context, tx records.StoreTx) (a, b *records.Well, err error) {
	for _, x := range []struct {
		id, revision int64
		to           **records.Well
	}{{ask.Keep, ask.KeepRevision, &a}, {ask.Out, ask.OutRevision, &b}} {
		w, err := tx.Well(ctx, x.id)
		if err != nil {
			return nil, nil, err
		}
		if w.Revision != x.revision {
			return nil, nil, records.Errorf(records.Conflict, "%s was changed by somebody else meanwhile: look at the two again before they are merged", wellName(w))
		}
		*x.to = w
	}
	return a, b, nil
}

// wellName is what a record is called in words for a person.
func wellName(w *records.Well) string {
	if w.Number != "" {
		return w.Number
	}
	return fmt.Sprintf("no. %d", w.ID)
}

// combined is the record that is to be kept, as it will be.
func (d *Desk) combined(actor records.Actor, ask *MergeAsk, a, b *records.Well, m *Merged) *records.Well {
	if ask.How == records.MergedTwin {
		c := *a
		c.Plates = nil
		return &c
	}
	if ask.How == records.MergedWorks {
		a, b = records.AsWorks(a, b, ask.Works)
	}
	choose := ask.Choose
	if d.Permit(actor, SeePrivate) != nil {
		// Who may not see a matter cannot choose: the kept record's word stays.
		choose = map[string]records.Word{}
		for name, side := range ask.Choose {
			choose[name] = side
		}
		for _, matter := range records.Matters(a, b) {
			if matter.Private && matter.Clashes() {
				choose[matter.Name] = records.FirstWord
			}
		}
	}
	c, open := records.Combine(a, b, choose)
	m.Open = open
	return c
}

func (m *Merged) write(ctx context.Context, tx records.StoreTx, ask *MergeAsk, a, b *records.Well) error {
	merge := records.Merge{
		UID: b.UID, WellID: b.ID, Revision: b.Revision, IntoUID: a.UID, IntoWellID: a.ID, Before: a.Revision, After: a.Revision, How: ask.How, Why: ask.Why,
	}
	words := map[string]string{
		records.MergedFields: "merged with %s", records.MergedWorks: "later works taken in from %s", records.MergedTwin: "%s was a copy by mistake",
	}[ask.How]
	why := fmt.Sprintf(words, wellName(b))
	if ask.Why != "" {
		why += ": " + ask.Why
	}
	if !records.SameMatters(a, m.Well) {
		if err := tx.PutWell(ctx, m.Well, why); err != nil {
			return err
		}
		merge.After = m.Well.Revision
	}
	var err error
	if merge.Plates, err = movePlates(ctx, tx, b, a); err != nil {
		return err
	}
	out := fmt.Sprintf("merged into %s", wellName(a))
	if ask.How == records.MergedTwin {
		out = fmt.Sprintf("a copy of %s by mistake", wellName(a))
	}
	if ask.Why != "" {
		out += ": " + ask.Why
	}
	// While both are there, since a pair is of two records.
	if err := decide(ctx, tx, a, b, verdictOf[ask.How], ask.Why); err != nil {
		return err
	}
	if err := tx.RemoveWell(ctx, b.ID, b.Revision, out); err != nil {
		return err
	}
	if err := tx.PutMerge(ctx, &merge); err != nil {
		return err
	}
	m.ID = merge.ID
	return nil
}

// verdictOf says what was decided of two records that became one.
var verdictOf = map[string]string{records.MergedFields: records.PairMerged, records.MergedWorks: records.PairWorks, records.MergedTwin: records.PairTwin}

// movePlates links the plates of one record to another, and gives their keys.
func movePlates(ctx context.Context, tx records.StoreTx, from, to *records.Well) (ids []int64, err error) {
	for i := range from.Plates {
		p := from.Plates[i]
		p.WellID = to.ID
		if err := tx.PutPlate(ctx, &p, "its well's record was merged into "+wellName(to)); err != nil {
			return nil, err
		}
		ids = append(ids, p.ID)
	}
	return ids, nil
}
