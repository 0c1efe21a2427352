package desk

import (
	"context"

	"tallybook/records"
)

// PairShow says which pairs are listed.
type PairShow string

// What can be listed.
const (
	PairsOpen    PairShow = "open"    // to be decided
	PairsAside   PairShow = "aside"   // set aside: not sure
	PairsDecided PairShow = "decided" // what was decided, the latest first
)

// PairRow is a pair in the list.
type PairRow struct {
	records.FoundPair
	Decision records.PairDecision
	// Reopened says that one of the two was changed, in something that is
	// compared, since somebody decided.
	Reopened bool
}

// PairList is the pairs of one sort.
type PairList struct {
	Rows                 []PairRow
	Open, Aside, Decided int // how many there are of each sort, whatever their probability
}

// Pairs lists the pairs of a sort that are at least so likely.
func (d *Desk) Pairs(ctx context.Context, actor records.Actor, show PairShow, least float64) (*PairList, error) {
	return look(ctx, d, actor, func(v records.StoreView) (*PairList, error) {
		_, found, err := v.FoundPairs(ctx)
		if err != nil {
			return nil, err
		}
		decisions, err := v.PairDecisions(ctx)
		if err != nil {
			return nil, err
		}
		type names struct{ a, b string }
		decided := make(map[names]*records.PairDecision, len(decisions))
		for i := range decisions {
			decided[names{decisions[i].A, decisions[i].B}] = &decisions[i]
		}
		l := &PairList{}
		for i := range found {
			row := PairRow{FoundPair: found[i]}
			sort := PairsOpen
			if dec := decided[names{row.A, row.B}]; dec != nil {
				row.Decision = *dec
				if sort, err = d.sortOf(ctx, v, &row); err != nil {
					return nil, err
				}
			}
			switch sort {
			case PairsOpen:
				l.Open++
			case PairsAside:
				l.Aside++
			}
			if sort == show && show != PairsDecided && row.Probability >= least {
				l.Rows = append(l.Rows, row)
			}
		}
		for i := range decisions {
			switch dec := &decisions[i]; dec.Verdict {
			case records.PairOpen, records.PairUnsure:
			default:
				l.Decided++
				if show == PairsDecided {
					l.Rows = append(l.Rows, PairRow{FoundPair: records.FoundPair{A: dec.A, B: dec.B, Probability: dec.Probability}, Decision: *dec})
				}
			}
		}
		return l, nil
	})
}

// sortOf says where a pair belongs on which somebody decided, and whether it is
// open again.
func (d *Desk) sortOf(ctx context.Context, v records.StoreView, row *PairRow) (PairShow, error) {
	dec := &row.Decision
	switch dec.Verdict {
	case records.PairDifferent, records.PairUnsure:
	default:
		return PairsOpen, nil // taken back, or split again
	}
	a, err := d.pairMark(ctx, v, row.IDA)
	if err != nil {
		return "", err
	}
	b, err := d.pairMark(ctx, v, row.IDB)
	if err != nil {
		return "", err
	}
	if a != dec.MarkA || b != dec.MarkB {
		row.Reopened = true
		return PairsOpen, nil
	}
	if dec.Verdict == records.PairUnsure {
		return PairsAside, nil
	}
	return PairsDecided, nil
}

// pairMark is what is compared of a record as it stands, from those kept.
func (d *Desk) pairMark(ctx context.Context, v records.StoreView, id int64) (string, error) {
	key := pairMarkKey{id, -1}
	if row, ok := d.Picture().ByID(id); ok {
		key.revision = int64(row.Digest().Revision)
	}
	s := &d.pairs
	s.mu.Lock()
	mark, ok := s.marks[key]
	s.mu.Unlock()
	if ok {
		return mark, nil
	}
	w, err := v.Well(ctx, id)
	if err != nil {
		return "", err
	}
	mark = records.PairMark(w)
	if w.Revision == key.revision { // the picture may be behind the store
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.marks == nil || len(s.marks) > 4*mostPairs {
			s.marks = map[pairMarkKey]string{}
		}
		s.marks[key] = mark
	}
	return mark, nil
}

// PairSheet is a pair to be decided: both records, what speaks for one well and
// what against, and what was decided before.
type PairSheet struct {
	A, B     *Sheet
	Found    records.FoundPair // no reasons: the search did not find the two
	Decision records.PairDecision
	Reopened bool
	History  []records.PairDecision
}

// Pair opens a pair by the keys of its records, in the order given.
func (d *Desk) Pair(ctx context.Context, actor records.Actor, a, b int64) (*PairSheet, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if a == b {
		return nil, records.Errorf(records.Invalid, "these are not two records but one")
	}
	private := d.Permit(actor, SeePrivate) == nil
	return look(ctx, d, actor, func(v records.StoreView) (*PairSheet, error) {
		p := &PairSheet{}
		var uids [2]string
		for i, x := range []struct {
			id int64
			to **Sheet
		}{{a, &p.A}, {b, &p.B}} {
			w, err := v.Well(ctx, x.id)
			if err != nil {
				return nil, err
			}
			uids[i] = w.UID
			*x.to = d.sheet(actor, w)
		}
		var err error
		if p.Found, err = v.FoundPair(ctx, uids[0], uids[1]); err != nil && records.CodeOf(err) != records.NotFound {
			return nil, err
		}
		if p.Found.A == uids[1] { // as asked for
			p.Found = turned(p.Found)
		}
		if !private {
			p.Found.Reasons = publicReasons(p.Found.Reasons)
		}
		if p.History, err = v.PairHistory(ctx, uids[0], uids[1]); err != nil || len(p.History) == 0 {
			return p, err
		}
		p.Decision = p.History[0]
		row := PairRow{FoundPair: records.FoundPair{IDA: a, IDB: b}, Decision: p.Decision}
		if p.Decision.A == uids[1] {
			row.IDA, row.IDB = b, a
		}
		_, err = d.sortOf(ctx, v, &row)
		p.Reopened = row.Reopened
		return p, err
	})
}

func turned(p records.FoundPair) records.FoundPair {
	p.A, p.B, p.IDA, p.IDB = p.B, p.A, p.IDB, p.IDA
	for i := range p.Reasons {
		r := &p.Reasons[i]
		r.A, r.B = r.B, r.A
	}
	return p
}

func publicReasons(reasons []records.PairReason) []records.PairReason {
	var out []records.PairReason
	for _, r := range reasons {
		if !r.Private {
			out = append(out, r)
		}
	}
	return out
}

// PairNames are what two records of a decision are called, and their keys: the
// present ones, else those they had when they were taken out.
func (d *Desk) PairNames(ctx context.Context, actor records.Actor, a, b string) (names [2]string, ids [2]int64, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return names, ids, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		for i, uid := range []string{a, b} {
			h := &History{UID: uid}
			id, err := ownID(ctx, v, uid)
			if err != nil {
				return err
			}
			if id == 0 {
				if err := h.readStates(ctx, v); err != nil {
					return err
				}
				if len(h.States) == 0 {
					names[i] = "a record"
					continue
				}
				names[i], ids[i] = wellName(h.States[0].Image), h.LastID
				continue
			}
			w, err := v.Well(ctx, id)
			if err != nil {
				return err
			}
			names[i], ids[i] = wellName(w), id
		}
		return nil
	})
	return names, ids, err
}
