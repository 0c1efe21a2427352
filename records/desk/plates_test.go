package desk_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// plateTown is a part of the invented township at the desk: its plates were
// stamped from the records, some are not linked, and two are linked to each
// other's well.
type plateTown struct {
	d       *desk.Desk
	path    string
	wells   []*records.Well
	linked  []*records.Plate
	loose   []*records.Plate // not linked
	own     map[int64]int64  // the well that each was stamped from, by key
	swapped [2]*records.Plate
}

func newPlateTown(t *testing.T) *plateTown {
	t.Helper()
	const some = 90
	x := &plateTown{own: map[int64]int64{}}
	x.d, x.path = newDesk(t)
	town := demo.Make(9)
	var plates []desk.PlateOf
	var from []int // the place in x.wells of the well that each was stamped from
	for _, p := range town.Plates[:some] {
		w := p.Well
		if w < 0 {
			w = slices.IndexFunc(town.Wells, func(w *records.Well) bool {
				return w.Completed == p.Plate.Stamped.Date && w.Yield.Value == p.Plate.Stamped.Yield.Value && math.Abs(w.Place.Lat-p.Plate.Seen[0].Lat) < 0.001 && math.Abs(w.Place.Lon-p.Plate.Seen[0].Lon) < 0.001
			})
			if w < 0 {
				continue // its well lies where its record does not say
			}
		}
		at := slices.Index(x.wells, town.Wells[w])
		if at < 0 {
			at = len(x.wells)
			x.wells = append(x.wells, town.Wells[w])
		}
		of := desk.PlateOf{Plate: p.Plate, Well: -1}
		if p.Well >= 0 {
			of.Well = at
			x.linked = append(x.linked, p.Plate)
		} else {
			x.loose = append(x.loose, p.Plate)
		}
		plates, from = append(plates, of), append(from, at)
	}
	for _, w := range town.Wells[len(town.Wells)-some:] {
		if !slices.Contains(x.wells, w) {
			x.wells = append(x.wells, w)
		}
	}
	var two []int
	for i := range plates {
		if plates[i].Well >= 0 && len(two) < 2 && i > 10 {
			two = append(two, i)
		}
	}
	plates[two[0]].Well, plates[two[1]].Well = plates[two[1]].Well, plates[two[0]].Well
	x.swapped = [2]*records.Plate{plates[two[0]].Plate, plates[two[1]].Plate}
	if err := x.d.AddAll(t.Context(), me, x.wells, plates, nil); err != nil {
		t.Fatal(err)
	}
	for i, p := range plates {
		x.own[p.Plate.ID] = x.wells[from[i]].ID
	}
	return x
}

func (x *plateTown) board(t *testing.T) *desk.PlateBoard {
	t.Helper()
	if err := x.d.AwaitPlates(t.Context(), me); err != nil {
		t.Fatal(err)
	}
	b, err := x.d.PlateBoard(t.Context(), me)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (x *plateTown) sheet(t *testing.T, id int64) *desk.PlateSheet {
	t.Helper()
	s, err := x.d.PlateSheet(t.Context(), me, id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// kind is where a plate lies.
func (x *plateTown) kind(t *testing.T, id int64) desk.PlateKind {
	t.Helper()
	e, ok := x.board(t).Entry(id)
	if !ok {
		t.Fatalf("plate %d is not on the desk", id)
	}
	return e.Kind
}

func done(t *testing.T, what string) func(*desk.PlateDone, error) *desk.PlateDone {
	return func(d *desk.PlateDone, err error) *desk.PlateDone {
		t.Helper()
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		return d
	}
}

// The plates lie where their truth says: those linked rightly are decided, the
// two that are exchanged are found, and what is offered for the others is the
// record that they were stamped from.
func TestPlateBoard(t *testing.T) {
	x := newPlateTown(t)
	b := x.board(t)
	if len(b.Entries) != len(x.linked)+len(x.loose) || b.Waiting() < len(x.loose) || b.Waiting() > len(x.loose)+6 {
		t.Errorf("%d plates, %d to decide; %d and about %d expected", len(b.Entries), b.Waiting(), len(x.linked)+len(x.loose), len(x.loose))
	}
	swapped := 0
	for i := range b.Entries {
		e := &b.Entries[i]
		if e.Swapped == 0 {
			continue
		}
		swapped++
		if o, _ := b.Entry(e.Swapped); o.Swapped != e.ID || e.Kind != desk.PlateDoubtful || e.ID != x.swapped[0].ID && e.ID != x.swapped[1].ID {
			t.Errorf("plate %d and %d are taken for exchanged", e.ID, e.Swapped)
		}
	}
	if swapped != 2 {
		t.Errorf("%d plates were found exchanged, want the two that are", swapped)
	}
	right, offered := 0, 0
	for _, p := range x.loose {
		if e, _ := b.Entry(p.ID); e.Kind == desk.PlateLikely {
			offered++
			if e.Best == x.own[p.ID] {
				right++
			}
		}
	}
	if offered < len(x.loose)*6/10 || right != offered {
		t.Errorf("%d of %d loose plates are likely, %d rightly", offered, len(x.loose), right)
	}
	if !slices.IsSortedFunc(b.Entries, func(p, q desk.PlateEntry) int { return int(p.Kind) - int(q.Kind) }) {
		t.Error("the plates are not in the order of the work")
	}
}

func TestPlateDecisions(t *testing.T) {
	x := newPlateTown(t)
	id := x.loose[0].ID
	s := x.sheet(t, id)
	if len(s.Candidates) == 0 || s.State.State() != records.PlateOpen {
		t.Fatalf("a loose plate has %d candidates and is %s", len(s.Candidates), s.State.State())
	}
	best := s.Candidates[0]
	call := desk.PlateCall{PlateID: id, WellID: best.WellID, Why: "all agrees"}

	// Linked, with who, when, why and the reasons as they stood.
	linked := done(t, "link")(x.d.LinkPlates(t.Context(), me, []desk.PlateCall{call}))
	s = x.sheet(t, id)
	d := s.Decisions[0]
	if s.Linked == nil || s.Linked.ID != best.WellID || d.By != me.Name || d.Why != "all agrees" || d.Act != linked.Act ||
		!strings.Contains(d.Reasons, `"field":"depth"`) || !strings.Contains(d.Reasons, best.WellUID) || !slices.Contains(d.Candidates, best.WellUID) {
		t.Errorf("linked: %+v", d)
	}
	if x.kind(t, id) != desk.PlateDecided {
		t.Error("linked and not decided")
	}
	// Nobody decides over what somebody else has decided.
	if _, err := x.d.LinkPlates(t.Context(), me, []desk.PlateCall{call}); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale decision gives %v", err)
	}
	undone := done(t, "undo")(x.d.UndoPlates(t.Context(), me, linked.Act))
	if s = x.sheet(t, id); s.Linked != nil || x.kind(t, id) != desk.PlateLikely {
		t.Error("undone and still linked")
	}
	if _, err := x.d.UndoPlates(t.Context(), me, linked.Act); records.CodeOf(err) != records.Conflict {
		t.Errorf("undone twice: %v", err)
	}
	done(t, "undo the undo")(x.d.UndoPlates(t.Context(), me, undone.Act))
	if s = x.sheet(t, id); s.Linked == nil || s.Plate.Evidence != "all agrees" {
		t.Error("the undo undone, and the link is not there again")
	}

	// A pair that was refused is not proposed again, and its link is undone.
	call.Revision = s.State.Decision.Revision
	refused := done(t, "refuse")(x.d.RefusePlate(t.Context(), me, call))
	s = x.sheet(t, id)
	if s.Linked != nil || slices.ContainsFunc(s.Candidates, func(c desk.PlateCandidate) bool { return c.WellID == best.WellID }) || len(s.Refused) != 1 {
		t.Errorf("refused, and it is proposed again: %d candidates, %d refused", len(s.Candidates), len(s.Refused))
	}
	if e, _ := x.board(t).Entry(id); e.Best == best.WellID {
		t.Error("refused, and it is the likeliest of the list")
	}
	done(t, "undo the refusal")(x.d.UndoPlates(t.Context(), me, refused.Act))
	if s = x.sheet(t, id); s.Linked == nil || len(s.Refused) != 0 {
		t.Error("the refusal undone, and it does not hold as before")
	}
}

// What was set aside comes back once it is seen again, a record that was looked
// at changes, or a better record comes in.
func TestPlatesComeBack(t *testing.T) {
	x := newPlateTown(t)
	id := x.loose[1].ID
	aside := func(state string) {
		t.Helper()
		s := x.sheet(t, id)
		done(t, state)(x.d.SetPlate(t.Context(), me, desk.PlateCall{PlateID: id, Revision: s.State.Decision.Revision}, state))
	}
	aside(records.PlateLater)
	if k := x.kind(t, id); k != desk.PlateAside {
		t.Fatalf("set aside and %s", k)
	}
	p, err := x.d.Plate(t.Context(), me, id)
	if err != nil {
		t.Fatal(err)
	}
	p.Seen = append(p.Seen, records.PlateSighting{Date: records.Date{Year: 2025}, Note: "still there"})
	if _, err := x.d.KeepPlate(t.Context(), me, p, ""); err != nil {
		t.Fatal(err)
	}
	if k := x.kind(t, id); !k.Waits() {
		t.Errorf("seen again and %s", k)
	}
	aside(records.PlateLater)
	best := x.sheet(t, id).Candidates[0]
	w, err := x.d.Well(t.Context(), me, best.WellID)
	if err != nil {
		t.Fatal(err)
	}
	w.Well.Remarks = "looked at again"
	if _, err := x.d.Save(t.Context(), me, w.Well, ""); err != nil {
		t.Fatal(err)
	}
	if k := x.kind(t, id); !k.Waits() {
		t.Errorf("its likeliest record was changed and it is %s", k)
	}
	// No record exists, until one comes in.
	if err := x.d.Remove(t.Context(), me, w.Well.ID, w.Well.Revision, "for the test"); err != nil {
		t.Fatal(err)
	}
	aside(records.PlateNoRecord)
	if k := x.kind(t, id); k != desk.PlateDecided {
		t.Fatalf("said to have no record and %s", k)
	}
	w.Well.ID, w.Well.Revision = 0, 0
	if _, err := x.d.Save(t.Context(), me, w.Well, ""); err != nil {
		t.Fatal(err)
	}
	if e, _ := x.board(t).Entry(id); !e.Kind.Waits() || !e.Renewed {
		t.Errorf("its record came in and it is %s", e.Kind)
	}
}

// Two plates that were exchanged get each other's record in one transaction,
// and back.
func TestPlatesExchanged(t *testing.T) {
	x := newPlateTown(t)
	var a, b *desk.PlateEntry
	board := x.board(t)
	for i := range board.Entries {
		if e := &board.Entries[i]; e.Swapped != 0 {
			a = e
			b, _ = board.Entry(e.Swapped)
		}
	}
	if a == nil {
		t.Fatal("no plates were found exchanged")
	}
	calls := [2]desk.PlateCall{{PlateID: a.ID, Why: "looked at both"}, {PlateID: b.ID, Why: "looked at both"}}
	exchanged := done(t, "exchange")(x.d.ExchangePlates(t.Context(), me, calls[0], calls[1]))
	if len(exchanged.Plates) != 2 || x.kind(t, a.ID) != desk.PlateDecided || x.kind(t, b.ID) != desk.PlateDecided {
		t.Error("exchanged, and not both fit")
	}
	if s := x.sheet(t, a.ID); s.Linked.ID != b.WellID || s.Plate.Evidence != "looked at both" {
		t.Errorf("plate %d is linked to %d, want %d", a.ID, s.Linked.ID, b.WellID)
	}
	done(t, "undo")(x.d.UndoPlates(t.Context(), me, exchanged.Act))
	if s := x.sheet(t, a.ID); s.Linked.ID != a.WellID || s.Plate.Evidence != "number on the completion report" || x.kind(t, b.ID) != desk.PlateDoubtful {
		t.Error("the exchange undone, and it is not as before")
	}
	loose := [2]int64{x.loose[0].ID, x.loose[1].ID}
	for name, c := range map[string][2]desk.PlateCall{
		"with itself":        {{PlateID: a.ID, Revision: 3}, {PlateID: a.ID, Revision: 3}},
		"neither has a link": {{PlateID: loose[0]}, {PlateID: loose[1]}},
	} {
		if _, err := x.d.ExchangePlates(t.Context(), me, c[0], c[1]); records.CodeOf(err) != records.Invalid || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Likely links are made many at once, all or none, and undone as one.
func TestPlatesConfirmed(t *testing.T) {
	x := newPlateTown(t)
	b := x.board(t)
	var calls []desk.PlateCall
	for i := range b.Entries {
		if e := &b.Entries[i]; e.Kind == desk.PlateLikely {
			calls = append(calls, desk.PlateCall{PlateID: e.ID, Revision: e.Revision, WellID: e.Best, Why: "confirmed"})
		}
	}
	if len(calls) < 5 {
		t.Fatalf("only %d are likely", len(calls))
	}
	stale := slices.Clone(calls)
	stale[len(stale)-1].Revision = 7
	if _, err := x.d.LinkPlates(t.Context(), me, stale); records.CodeOf(err) != records.Conflict {
		t.Errorf("one stale of many gives %v", err)
	}
	if n := x.board(t).Counts[desk.PlateLikely]; n != len(calls) {
		t.Errorf("one was stale, and %d of %d are linked all the same", len(calls)-n, len(calls))
	}
	for name, bad := range map[string][]desk.PlateCall{"none": nil, "one twice": {calls[0], calls[0]}} {
		if _, err := x.d.LinkPlates(t.Context(), me, bad); records.CodeOf(err) != records.Invalid || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	all := done(t, "confirm")(x.d.LinkPlates(t.Context(), me, calls))
	if b := x.board(t); b.Counts[desk.PlateLikely] != 0 || b.Waiting() != len(b.Entries)-b.Counts[desk.PlateDecided]-b.Counts[desk.PlateAside] {
		t.Errorf("%d are likely still", b.Counts[desk.PlateLikely])
	}
	r, err := x.d.Check(t.Context(), me, nil)
	if err != nil || len(r.Problems) > 0 {
		t.Errorf("check after it: %v %v", err, r.Problems)
	}
	undone := done(t, "undo")(x.d.UndoPlates(t.Context(), me, all.Act))
	if n := x.board(t).Counts[desk.PlateLikely]; n != len(calls) || len(undone.Plates) != len(calls) {
		t.Errorf("undone, and %d of %d are likely again", n, len(calls))
	}
}

// On a large office the matching is made in the background and kept; what is
// written since is counted, and decisions are not.
func TestPlatesMatchedBehind(t *testing.T) {
	x := newPlateTown(t)
	if err := x.d.MatchPlates(t.Context(), me); err != nil {
		t.Fatal(err)
	}
	if err := x.d.AwaitPlates(t.Context(), me); err != nil {
		t.Fatal(err)
	}
	at, err := x.d.PlateProgress(t.Context(), me)
	if err != nil || at.Running || at.Failed != "" || at.Wells+at.Plates != 0 {
		t.Errorf("after the matching: %+v, %v", at, err)
	}
	b := x.board(t)
	if b.Run == nil || len(b.Run.Result.Plates) != len(x.linked)+len(x.loose) {
		t.Fatal("the matching is not kept")
	}
	e := &b.Entries[0]
	done(t, "link")(x.d.LinkPlates(t.Context(), me, []desk.PlateCall{{PlateID: e.ID, Revision: e.Revision, WellID: e.Best}}))
	if at, err := x.d.PlateProgress(t.Context(), me); err != nil || at.Wells+at.Plates != 0 {
		t.Errorf("a decision is counted as news: %+v, %v", at, err)
	}
}

// A damaged decision is told by the check.
func TestCheckKnowsPlateDecisions(t *testing.T) {
	x := newPlateTown(t)
	id := x.loose[0].ID
	done(t, "later")(x.d.SetPlate(t.Context(), me, desk.PlateCall{PlateID: id}, records.PlateLater))
	damage(t, x.path, "DROP TRIGGER plate_decisions_never_change; UPDATE plate_decisions SET candidates = '{' WHERE revision = 1; INSERT INTO plate_decisions(plate_uid, revision, at, by, act, commit_no, plate_revision, state) VALUES ('none', 2, '2026-01-01T00:00:00Z', 'x', '', 1, 1, 'open')")
	r, err := x.d.Check(t.Context(), me, nil)
	if err != nil {
		t.Fatal(err)
	}
	said := fmt.Sprint(r.Problems)
	for _, want := range []string{"cannot be read", "never was", "gap"} {
		if !strings.Contains(said, want) {
			t.Errorf("the check does not say %q: %s", want, said)
		}
	}
}

func TestReadNumber(t *testing.T) {
	x := newPlateTown(t)
	linked, loose := x.linked[3], x.loose[0]
	well := x.wells[5]
	for name, c := range map[string]struct {
		text        string
		well, plate int64
		matches     bool
	}{
		"a plate that is linked": {linked.Number, linked.WellID, 0, true},
		"one that is not":        {loose.Number, 0, loose.ID, true},
		"its public name":        {loose.UID, 0, loose.ID, false},
		"a well's number":        {strings.ToLower(well.Number), well.ID, 0, true},
		"a well's public name":   {strings.ToUpper(well.UID), well.ID, 0, false},
		"a digit unread":         {loose.Number[:4] + "?", 0, 0, true},
		"nobody's":               {"99999", 0, 0, false},
	} {
		n, err := x.d.ReadNumber(t.Context(), me, c.text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if n.Well != c.well || n.Plate != c.plate || (len(n.Matches) > 0) != c.matches {
			t.Errorf("%s: well %d, plate %d, %d matches; want %d, %d", name, n.Well, n.Plate, len(n.Matches), c.well, c.plate)
		}
	}
	if _, err := x.d.ReadNumber(t.Context(), me, " "); records.CodeOf(err) != records.Invalid {
		t.Errorf("nothing typed: %v", err)
	}
}

// Rows of a table of plates are always plates, plates seen again, and rows
// refused.
func TestBringPlates(t *testing.T) {
	x := newPlateTown(t)
	known := x.loose[0]
	before := len(x.board(t).Entries)
	table := "number,depth_ft,seen,position,by\n" +
		"70001,300,2025-05-02,44.2 -38.7,Invented Walker\n" + // new
		known.Number + ",,2025-05-02,44.2 -38.7,\n" + // seen again
		known.Number + ",,,,\n" + // known, and nothing of it seen
		known.Number + ",9,2025-05-02,,\n" + // another plate with the same number: what is stamped contradicts
		"70001,300,2025-05-02,44.2 -38.7,Invented Walker\n" + // the very same row
		",5,,,\n" + "8,deep,,,\n"
	o := importer.PlateOptions{Lengths: records.Foot}
	name := ""
	for _, rehearse := range []bool{true, false} {
		b, err := x.d.BringPlates(t.Context(), me, strings.NewReader(table), o, rehearse)
		if err != nil {
			t.Fatal(err)
		}
		if b.Read != 7 || b.New != 2 || b.SeenAgain != 1 || len(b.Refused) != 4 {
			t.Errorf("rehearsed %v: %d read, %d new, %d seen again, %d refused", rehearse, b.Read, b.New, b.SeenAgain, len(b.Refused))
		}
		if name = b.Table; (name == "") != rehearse {
			t.Errorf("rehearsed %v: it is called %q", rehearse, name)
		}
		for _, row := range b.Refused {
			if len(row.Faults) == 0 || row.Faults[0].Mend == "" {
				t.Errorf("row %d is refused without a mend", row.Number)
			}
		}
		want := before
		if !rehearse {
			want += 2
		}
		if n := len(x.board(t).Entries); n != want {
			t.Errorf("rehearsed %v: %d plates, want %d", rehearse, n, want)
		}
	}
	p, err := x.d.Plate(t.Context(), me, known.ID)
	if err != nil || len(p.Seen) != len(known.Seen)+1 {
		t.Errorf("it was seen %d times, want %d (%v)", len(p.Seen), len(known.Seen)+1, err)
	}
	b, err := x.d.BringPlates(t.Context(), me, strings.NewReader(table), o, false)
	if err != nil || b.New+b.SeenAgain != 0 || len(b.Refused) != 7 || b.Table != "" {
		t.Errorf("the same file again: %+v, %v", b, err)
	}
	// Taken back as a whole, but for what somebody worked on since.
	if n, err := x.d.UndoBrought(t.Context(), me, name); n != 3 || err != nil {
		t.Errorf("taken back: %d plates, %v; want 3", n, err)
	}
	if n := len(x.board(t).Entries); n != before {
		t.Errorf("taken back, and there are %d plates, want %d", n, before)
	}
	if p, err := x.d.Plate(t.Context(), me, known.ID); err != nil || len(p.Seen) != len(known.Seen) {
		t.Errorf("taken back, and it was seen %d times, want %d (%v)", len(p.Seen), len(known.Seen), err)
	}
	for _, bad := range []string{name, "table-x", "", "table-999999"} {
		if _, err := x.d.UndoBrought(t.Context(), me, bad); err == nil {
			t.Errorf("%q is taken back", bad)
		}
	}
}

// What was seen is edited with its history, and never touches the link.
func TestPlateKeptAndRestored(t *testing.T) {
	x := newPlateTown(t)
	p, err := x.d.Plate(t.Context(), me, x.linked[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	was, link := p.Revision, p.WellID
	number := p.Number
	p.Number, p.WellID = "9?9", 0
	if _, err := x.d.KeepPlate(t.Context(), me, p, "misread"); err != nil {
		t.Fatal(err)
	}
	if p.WellID != link {
		t.Error("an edit of what was seen has undone the link")
	}
	revs, err := x.d.PlateRevisions(t.Context(), me, p.ID)
	if err != nil || len(revs) != 1 || revs[0].Why != "misread" || revs[0].Image.Number != number {
		t.Errorf("its history: %v %v", revs, err)
	}
	if _, err := x.d.RestorePlate(t.Context(), me, p.ID, was, p.Revision); err != nil {
		t.Fatal(err)
	}
	if back, _ := x.d.Plate(t.Context(), me, p.ID); back.Number != number || back.WellID != link {
		t.Errorf("restored as %q, linked to %d", back.Number, back.WellID)
	}
	if err := x.d.RemovePlate(t.Context(), me, p.ID, p.Revision+1, "twice"); err != nil {
		t.Fatal(err)
	}
	id, err := x.d.RestorePlate(t.Context(), me, p.ID, p.Revision+1, p.Revision+1)
	if err != nil {
		t.Fatal(err)
	}
	if back, _ := x.d.Plate(t.Context(), me, id); back.UID != p.UID || back.WellID != link {
		t.Error("taken out and brought back, and it is not as it was")
	}
	if faults, err := x.d.KeepPlate(t.Context(), me, &records.Plate{}, ""); records.CodeOf(err) != records.Invalid || !records.Refuses(faults) {
		t.Errorf("a plate of which nothing is known is kept: %v", err)
	}
}
