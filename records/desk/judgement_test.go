package desk_test

import (
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/records/snapshot"
)

// An own pick stands beside the driller's log and never in its place; it counts
// where its set is asked for; undoing brings the record back as it was.
func TestOwnPick(t *testing.T) {
	d, _ := newDesk(t)
	w := recordstest.Plain()
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	stated, strata := w.Bedrock, len(w.Strata)
	pick := records.OwnPick{Set: " first  reading ", Of: records.PickBedrock, Depth: recordstest.Feet[records.Depth]("~44"), Reason: "the ledge is a boulder"}
	did, err := d.AddPick(t.Context(), me, w.ID, w.Revision, pick)
	if err != nil {
		t.Fatal(err)
	}
	s, err := d.Well(t.Context(), me, w.ID)
	if err != nil {
		t.Fatal(err)
	}
	got := s.Well.OwnPicks
	if len(got) != 1 || got[0].Set != "first reading" || got[0].By != me.Name || got[0].Date.IsZero() || got[0].Depth.Given.Text != "~44" || got[0].Depth.Given.Unit != records.Foot || got[0].Depth.Qualifier != records.About {
		t.Errorf("%+v", got)
	}
	if s.Well.Bedrock != stated || len(s.Well.Strata) != strata || s.Picks.Bedrock.Source == records.FromOwnPick {
		t.Error("the pick took the place of what the driller wrote")
	}
	row, _ := d.Picture().ByID(w.ID)
	filter := snapshot.Filter{Trust: records.Trust{Picks: "first reading"}}
	if v := filter.Value(row, snapshot.Bedrock); v.Qualifier != records.About || v.Value != 44*0.3048 {
		t.Errorf("asked for the set, bedrock is %+v", v)
	}
	// A second reading in the same set takes the first one's place, and the
	// record goes back to either.
	pick.Depth, pick.Reason = recordstest.Feet[records.Depth](">50"), "on second thoughts"
	again, err := d.AddPick(t.Context(), me, w.ID, did.Revision, pick)
	if err != nil {
		t.Fatal(err)
	}
	if s, _ = d.Well(t.Context(), me, w.ID); len(s.Well.OwnPicks) != 1 || s.Well.OwnPicks[0].Depth.Qualifier != records.GreaterThan {
		t.Errorf("%+v", s.Well.OwnPicks)
	}
	if err := d.Restore(t.Context(), me, w.ID, again.Was, again.Revision); err != nil {
		t.Fatal(err)
	}
	if s, _ = d.Well(t.Context(), me, w.ID); s.Well.OwnPicks[0].Reason != "the ledge is a boulder" {
		t.Errorf("undone: %+v", s.Well.OwnPicks)
	}
	if _, err := d.DropPick(t.Context(), me, w.ID, s.Well.Revision, 0); err != nil {
		t.Fatal(err)
	}
	if s, _ = d.Well(t.Context(), me, w.ID); len(s.Well.OwnPicks) != 0 {
		t.Errorf("taken out: %+v", s.Well.OwnPicks)
	}
}

func TestOwnPickRefused(t *testing.T) {
	d, _ := newDesk(t)
	w := recordstest.Plain()
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	good := records.OwnPick{Set: "a", Of: records.PickBedrock, Depth: recordstest.Feet[records.Depth]("44"), Reason: "r"}
	for name, c := range map[string]struct {
		change   func(*records.OwnPick)
		revision int64
		code     records.Code
	}{
		"no set":       {func(p *records.OwnPick) { p.Set = " " }, w.Revision, records.Invalid},
		"a long set":   {func(p *records.OwnPick) { p.Set = strings.Repeat("a", 200) }, w.Revision, records.Invalid},
		"of nothing":   {func(p *records.OwnPick) { p.Of = "gold" }, w.Revision, records.Invalid},
		"no depth":     {func(p *records.OwnPick) { p.Depth = records.Amount[records.Depth]{} }, w.Revision, records.Invalid},
		"no reason":    {func(p *records.OwnPick) { p.Reason = "" }, w.Revision, records.Invalid},
		"above ground": {func(p *records.OwnPick) { p.Depth.Value = -4 }, w.Revision, records.Invalid},
		"stale":        {func(*records.OwnPick) {}, w.Revision + 1, records.Conflict},
	} {
		p := good
		c.change(&p)
		if _, err := d.AddPick(t.Context(), me, w.ID, c.revision, p); records.CodeOf(err) != c.code {
			t.Errorf("%s: %v", name, err)
		}
	}
	if s, _ := d.Well(t.Context(), me, w.ID); s.Well.Revision != w.Revision {
		t.Error("something that was refused was written")
	}
}

// What is marked is left out of the surface, the estimate and its wells, is
// counted there, and comes in when that is asked for.
func TestMarkedUnreliable(t *testing.T) {
	d, _ := newDesk(t)
	var wells []*records.Well
	for i := range 40 {
		w := recordstest.Plain()
		w.UID, w.Number = "", ""
		w.Place.Lon += float64(i%8) / 500
		w.Place.Lat += float64(i/8) / 500
		wells = append(wells, w)
	}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	used := func(f snapshot.Field, trust records.Trust) (int, int) {
		t.Helper()
		m, err := d.Model(t.Context(), f, &snapshot.Filter{Trust: trust})
		if err != nil {
			t.Fatal(err)
		}
		return len(m.Selection.Rows), m.Selection.LeftOut
	}
	c := records.Correction{Choose: records.CorrectionChoice{Within: &[4]float64{wells[0].Place.Lon - 0.001, wells[0].Place.Lat - 0.001, wells[0].Place.Lon + 0.0035, wells[0].Place.Lat + 0.001}},
		Rule: records.CorrectionRule{Kind: records.CorrectMark, Field: records.DoubtStrata, To: "copied from the next lot"}}
	look, err := d.RehearseCorrection(t.Context(), me, c, nil)
	if err != nil || look.Changed != 2 {
		t.Fatalf("%+v, %v", look, err)
	}
	done, err := d.ApplyCorrection(t.Context(), me, c, "seen in the field", look.Commit)
	if err != nil {
		t.Fatal(err)
	}
	if n, left := used(snapshot.Bedrock, records.Trust{}); n != 38 || left != 2 {
		t.Errorf("bedrock stands on %d, %d left out", n, left)
	}
	if n, left := used(snapshot.Yield, records.Trust{}); n != 40 || left != 0 {
		t.Errorf("yield stands on %d, %d left out", n, left)
	}
	if n, left := used(snapshot.Bedrock, records.Trust{Marked: true}); n != 40 || left != 0 {
		t.Errorf("taken in, bedrock stands on %d, %d left out", n, left)
	}
	list, all, err := d.Marked(t.Context(), me, 0, 1)
	if err != nil || all != 2 || len(list) != 1 || list[0].Marks[0].Reason != "copied from the next lot" || list[0].Marks[0].By != me.Name || list[0].Marks[0].Date.IsZero() {
		t.Errorf("%+v of %d, %v", list, all, err)
	}
	// Marking again for the same reason changes nothing; undone as one.
	if look, err := d.RehearseCorrection(t.Context(), me, c, nil); err != nil || look.Changed != 0 {
		t.Errorf("again: %+v, %v", look, err)
	}
	if _, err := d.UndoCorrection(t.Context(), me, done.ID); err != nil {
		t.Fatal(err)
	}
	if n, left := used(snapshot.Bedrock, records.Trust{}); n != 40 || left != 0 {
		t.Errorf("undone, bedrock stands on %d, %d left out", n, left)
	}
	// One by one: a position that is marked says nothing of any place.
	id := wells[0].ID
	s, err := d.Well(t.Context(), me, id)
	if err != nil {
		t.Fatal(err)
	}
	did, err := d.MarkUnreliable(t.Context(), me, id, s.Well.Revision, records.Doubt{About: records.DoubtPosition, Reason: "a lot's middle"})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range snapshot.Fields() {
		if n, left := used(f, records.Trust{}); n != 39 || left != 1 {
			t.Errorf("%v stands on %d, %d left out", f, n, left)
		}
	}
	sc, err := d.Scouting(t.Context(), me, desk.ScoutAsk{At: position.LonLat{Lon: wells[0].Place.Lon, Lat: wells[0].Place.Lat}, Need: 0.3, Hole: 152, Casing: 168})
	if err != nil {
		t.Fatal(err)
	}
	if sc.Hole == nil {
		t.Errorf("no replay: %v", sc.NoReplay)
	}
	if _, err := d.Unmark(t.Context(), me, id, did.Revision, 0); err != nil {
		t.Fatal(err)
	}
	if n, left := used(snapshot.Yield, records.Trust{}); n != 40 || left != 0 {
		t.Errorf("unmarked, yield stands on %d, %d left out", n, left)
	}
}
