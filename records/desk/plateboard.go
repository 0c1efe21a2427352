package desk

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"tallybook/records"
)

// PlateKind is where a plate lies on the desk.
type PlateKind uint8

// The kinds, in the order of the work.
const (
	PlateLikely   PlateKind = iota // one record is likely enough to be linked with many others
	PlateUnsure                    // a record may be its own
	PlateWithout                   // no record is likely
	PlateDoubtful                  // linked, and another record fits better
	PlateAside                     // set aside
	PlateDecided                   // linked, or said to have no record
	plateKinds
)

var plateKindWords = [plateKinds]string{"likely", "unsure", "none", "doubtful", "aside", "decided"}

// String gives the kind's word, as used in addresses.
func (k PlateKind) String() string { return plateKindWords[min(k, plateKinds-1)] }

// ParsePlateKind reads the words that String writes.
func ParsePlateKind(s string) (PlateKind, bool) {
	i := slices.Index(plateKindWords[:], s)
	return PlateKind(max(i, 0)), i >= 0
}

// Waits says whether a plate of this kind is still to be decided.
func (k PlateKind) Waits() bool { return k <= PlateDoubtful }

// PlateEntry is a plate in the list of the desk.
type PlateEntry struct {
	ID, Revision int64 // Revision of the latest decision
	Number       string
	Kind         PlateKind
	State        string
	WellID       int64 // what it is linked to
	// Best is the likeliest record, 0 for none, with its probability, and Next
	// the probability of the one after it.
	Best              int64
	Probability, Next float64
	// Taken says that another plate is linked to the likeliest record already.
	Taken bool
	// Renewed says that it was set aside, and something is new.
	Renewed bool
	// Swapped is the plate that it may be exchanged with: each fits the record
	// of the other better. 0 for none.
	Swapped int64
}

// PlateBoard is all plates as they lie on the desk.
type PlateBoard struct {
	Commit  int64        // of the state that it shows
	Entries []PlateEntry // in the order of the work
	Counts  [plateKinds]int
	// Run is the matching that it goes by; nil until there is one.
	Run *PlateRun
	// Threshold is the probability from which on links may be made many at once.
	Threshold float64

	place map[int64]int // of a plate in Entries
}

// Waiting is how many plates are still to be decided.
func (b *PlateBoard) Waiting() int {
	n := 0
	for k := range plateKinds {
		if k.Waits() {
			n += b.Counts[k]
		}
	}
	return n
}

// Entry is the entry of a plate.
func (b *PlateBoard) Entry(id int64) (*PlateEntry, bool) {
	i, ok := b.place[id]
	if !ok {
		return nil, false
	}
	return &b.Entries[i], true
}

// Around gives the plates before and after one among those of the same kind, 0
// where there is none, and its place among them from 1.
func (b *PlateBoard) Around(id int64, kinds func(PlateKind) bool) (before, after int64, at, of int) {
	own, ok := b.place[id]
	for i := range b.Entries {
		if e := &b.Entries[i]; kinds(e.Kind) || e.ID == id {
			of++
			switch {
			case !ok:
			case i < own:
				before, at = e.ID, of
			case i > own && after == 0:
				after = e.ID
			}
			if i == own && ok {
				at = of
			}
		}
	}
	return before, after, at, of
}

// PlateBoard gives all plates with where they stand. It is kept until something
// is written.
func (d *Desk) PlateBoard(ctx context.Context, actor records.Actor) (*PlateBoard, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	run, err := d.plateRun(ctx)
	if err != nil {
		return nil, err
	}
	now, err := d.store.Changes(ctx)
	if err != nil {
		return nil, err
	}
	s := &d.plates
	s.mu.Lock()
	kept := s.board
	fresh := kept != nil && s.boardAt >= now && s.boardOf == run
	s.mu.Unlock()
	if fresh {
		return kept, nil
	}
	b, err := look(ctx, d, actor, func(v records.StoreView) (*PlateBoard, error) { return d.makeBoard(ctx, v, run) })
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	s.board, s.boardAt, s.boardOf = b, b.Commit, run
	s.mu.Unlock()
	return b, nil
}

// makeBoard sorts the plates.
func (d *Desk) makeBoard(ctx context.Context, v records.StoreView, run *PlateRun) (*PlateBoard, error) {
	b := &PlateBoard{Commit: v.Commit(), Run: run, Threshold: 2, place: map[int64]int{}}
	if run != nil {
		b.Threshold = run.Result.Threshold
	}
	linked := map[int64][]int64{} // plates by the well that they are linked to
	looked := map[int64][]string{}
	refused := map[int64][]string{}
	if err := v.EachPlateState(ctx, func(p *records.PlateState) error {
		e := PlateEntry{ID: p.ID, Revision: p.Decision.Revision, Number: p.Number, State: p.State(), WellID: p.WellID, Renewed: p.Renewed && p.Decision.State == records.PlateLater}
		if p.WellID != 0 {
			linked[p.WellID] = append(linked[p.WellID], p.ID)
		}
		if e.State == records.PlateLater || e.State == records.PlateNoRecord {
			looked[p.ID] = p.Decision.Candidates
		}
		if len(p.Decision.Refused) > 0 {
			refused[p.ID] = p.Decision.Refused
		}
		b.Entries = append(b.Entries, e)
		return nil
	}); err != nil {
		return nil, err
	}
	for i := range b.Entries {
		e := &b.Entries[i]
		no, err := idsOf(ctx, v, refused[e.ID])
		if err != nil {
			return nil, err
		}
		e.suggest(run, func(well int64) bool { return !no[well] && d.there(well) })
		for _, other := range linked[e.Best] {
			e.Taken = e.Taken || other != e.ID
		}
		if uids, put := looked[e.ID]; put && e.Best != 0 && e.Probability >= openAgain {
			was, err := idsOf(ctx, v, uids)
			if err != nil {
				return nil, err
			}
			if !was[e.Best] { // a record that nobody had when it was put off
				e.State, e.Renewed = records.PlateOpen, true
			}
		}
		e.Kind = e.kind(b.Threshold)
		b.Counts[e.Kind]++
	}
	b.findSwapped(linked)
	slices.SortStableFunc(b.Entries, func(x, y PlateEntry) int {
		return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(y.Probability, x.Probability), strings.Compare(x.Number, y.Number), cmp.Compare(x.ID, y.ID))
	})
	for i := range b.Entries {
		b.place[b.Entries[i].ID] = i
	}
	return b, nil
}

// The probabilities that the desk goes by; ours, no source. A record is offered
// from leastOffered on; a plate that was put off is open again for a record that
// is likelier than openAgain; a link is doubtful where another record is.
const (
	leastOffered = 0.02
	openAgain    = 0.5
)

// there says whether a record that was matched is still there.
func (d *Desk) there(well int64) bool {
	if d.blind {
		return true
	}
	_, ok := d.snap.Picture().ByID(well)
	return ok
}

// suggest fills in the likeliest record.
func (e *PlateEntry) suggest(run *PlateRun, may func(well int64) bool) {
	found := run.of(e.ID)
	if found == nil {
		return
	}
	take := func(well int64, p float64) {
		switch {
		case p < leastOffered || !may(well):
		case e.Best == 0:
			e.Best, e.Probability = well, p
		default:
			e.Next = max(e.Next, p)
		}
	}
	if found.Best != nil {
		take(found.Best.WellID, found.Best.Probability)
	}
	for i := range found.Others {
		take(found.Others[i].WellID, found.Others[i].Probability)
	}
}

func (e *PlateEntry) kind(threshold float64) PlateKind {
	switch e.State {
	case records.PlateLinked:
		if e.Best != 0 && e.Best != e.WellID && e.Probability >= openAgain {
			return PlateDoubtful
		}
		return PlateDecided
	case records.PlateNoRecord:
		return PlateDecided
	case records.PlateLater:
		return PlateAside
	}
	switch {
	case e.Best == 0:
		return PlateWithout
	case e.Probability >= threshold && !e.Taken:
		return PlateLikely
	}
	return PlateUnsure
}

// findSwapped finds pairs of plates each of which fits the record of the other.
func (b *PlateBoard) findSwapped(linked map[int64][]int64) {
	at := map[int64]int{}
	for i := range b.Entries {
		at[b.Entries[i].ID] = i
	}
	for i := range b.Entries {
		e := &b.Entries[i]
		if e.Kind != PlateDoubtful {
			continue
		}
		for _, id := range linked[e.Best] {
			if o := &b.Entries[at[id]]; o.Best == e.WellID && o.ID != e.ID {
				e.Swapped = o.ID
			}
		}
	}
}

// idsOf gives the keys of wells that are there.
func idsOf(ctx context.Context, v records.StoreView, uids []string) (map[int64]bool, error) {
	if len(uids) == 0 {
		return nil, nil
	}
	out := map[int64]bool{}
	for _, uid := range uids {
		id, err := v.WellIDByUID(ctx, uid)
		switch {
		case err == nil:
			out[id] = true
		case records.CodeOf(err) != records.NotFound:
			return nil, err
		}
	}
	return out, nil
}
