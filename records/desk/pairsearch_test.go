package desk_test

import (
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// townWithTwins puts an invented township with three of its wells a second time:
// one as it is, one typed anew with less in it, and one with another depth.
func townWithTwins(t *testing.T, d *desk.Desk) (of map[int64]int64) {
	t.Helper()
	town := demo.Make(9)
	wells := town.Wells[:120]
	twins := map[*records.Well]*records.Well{}
	for i, at := range []int{3, 40, 77} {
		twin := *wells[at]
		twin.UID, twin.ID, twin.Revision = "", 0, 0
		if i > 0 {
			twin.Strata, twin.Casing, twin.Owner.Name = nil, nil, ""
		}
		if i == 2 {
			twin.TotalDepth = recordstest.Feet[records.Depth]("999")
		}
		twins[&twin] = wells[at]
		wells = append(wells, &twin)
	}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	of = map[int64]int64{}
	for twin, w := range twins {
		of[twin.ID], of[w.ID] = w.ID, twin.ID
	}
	return of
}

func searched(t *testing.T, d *desk.Desk) {
	t.Helper()
	ended, err := d.SearchPairs(t.Context(), me)
	if err != nil {
		t.Fatal(err)
	}
	<-ended
	if st, err := d.PairState(t.Context(), me); err != nil || st.Err != nil || st.Working || st.Run.At.IsZero() {
		t.Fatalf("the search: %+v, %v", st, err)
	}
}

func pairsOf(t *testing.T, d *desk.Desk, show desk.PairShow) *desk.PairList {
	t.Helper()
	l, err := d.Pairs(t.Context(), me, show, 0)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestPairsAreFoundAndDecided(t *testing.T) {
	d, _ := newDesk(t)
	if st, err := d.PairState(t.Context(), me); err != nil || !st.Run.At.IsZero() || st.Working {
		t.Errorf("before anybody searched: %+v, %v", st, err)
	}
	of := townWithTwins(t, d)
	searched(t, d)
	open := pairsOf(t, d, desk.PairsOpen)
	if len(open.Rows) < 3 || open.Open != len(open.Rows) {
		t.Fatalf("%d pairs are open, %d listed", open.Open, len(open.Rows))
	}
	for _, row := range open.Rows[:3] {
		if of[row.IDA] != row.IDB {
			t.Errorf("records %d and %d are found with %.3f before the twins", row.IDA, row.IDB, row.Probability)
		}
	}
	first := open.Rows[0]
	sheet, err := d.Pair(t.Context(), me, first.IDB, first.IDA)
	if err != nil || len(sheet.Found.Reasons) == 0 || sheet.Found.A != sheet.A.Well.UID || sheet.A.Well.ID != first.IDB {
		t.Fatalf("the likeliest: %+v, %v", sheet, err)
	}
	before := open.Open
	if _, err := d.DecidePair(t.Context(), me, first.IDA, first.IDB, 0, records.PairDifferent, "two houses"); err != nil {
		t.Fatal(err)
	}
	if l := pairsOf(t, d, desk.PairsDecided); l.Open != before-1 || l.Decided != 1 || len(l.Rows) != 1 || l.Rows[0].Decision.Why != "two houses" || len(l.Rows[0].Decision.Reasons) == 0 {
		t.Errorf("decided: %+v", l)
	}
	// It is not asked again by the next search, until one of the two changes in
	// something that is compared.
	searched(t, d)
	if l := pairsOf(t, d, desk.PairsOpen); l.Open != before-1 {
		t.Errorf("after the next search %d are open, want %d", l.Open, before-1)
	}
	w := sheetOf(t, d, first.IDA)
	w.Remarks = "seen"
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	if l := pairsOf(t, d, desk.PairsOpen); l.Open != before-1 {
		t.Errorf("after a remark %d are open", l.Open)
	}
	w.TotalDepth = recordstest.Feet[records.Depth]("777")
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	l := pairsOf(t, d, desk.PairsOpen)
	if l.Open != before || !l.Rows[0].Reopened {
		t.Errorf("after another depth %d are open: %+v", l.Open, l.Rows[0])
	}
	if st, err := d.PairState(t.Context(), me); err != nil || st.Changed != 1 {
		t.Errorf("changed since: %+v, %v", st, err)
	}
	// Set aside, and a pair of which one is taken out is no pair any more.
	second := pairsOf(t, d, desk.PairsOpen).Rows[1]
	if _, err := d.DecidePair(t.Context(), me, second.IDA, second.IDB, 0, records.PairUnsure, ""); err != nil {
		t.Fatal(err)
	}
	if l := pairsOf(t, d, desk.PairsAside); l.Aside != 1 || len(l.Rows) != 1 {
		t.Errorf("aside: %+v", l)
	}
	if err := d.Remove(t.Context(), me, second.IDB, 1, ""); err != nil {
		t.Fatal(err)
	}
	if l := pairsOf(t, d, desk.PairsAside); l.Aside != 0 {
		t.Errorf("a pair of one: %+v", l)
	}
	if _, err := d.SearchPairs(t.Context(), stranger); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger searches: %v", err)
	}
	if _, err := d.Pairs(t.Context(), stranger, desk.PairsOpen, 0); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger looks: %v", err)
	}
	sound(t, d)
}
