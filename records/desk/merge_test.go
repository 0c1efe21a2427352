package desk_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// twoOfOneWell puts two records of one well, the second with its plate and a job
// that names it.
func twoOfOneWell(t *testing.T, d *desk.Desk) (a, b *records.Well, plate *records.Plate, job *records.Job) {
	t.Helper()
	a, b = recordstest.Plain(), recordstest.Plain()
	a.UID, a.Remarks, a.Rock = "", "", ""
	b.UID, b.Number, b.Remarks, b.Rock = "", "OLD 7", "by the road", "Example Schist"
	for _, w := range []*records.Well{a, b} {
		if _, err := d.Save(t.Context(), me, w, ""); err != nil {
			t.Fatal(err)
		}
	}
	plate = &records.Plate{Number: "4017", WellID: b.ID, LinkedBy: "a clerk"}
	if err := d.SavePlate(t.Context(), me, plate, ""); err != nil {
		t.Fatal(err)
	}
	job = &records.Job{Stage: records.JobFinished, WellUID: b.UID}
	if _, err := d.SaveJob(t.Context(), me, job, ""); err != nil {
		t.Fatal(err)
	}
	return a, b, plate, job
}

func mergeTwo(t *testing.T, d *desk.Desk, ask desk.MergeAsk) *desk.Merged {
	t.Helper()
	m, err := d.Merge(t.Context(), me, ask)
	if err != nil {
		t.Fatal(err)
	}
	if m.ID == 0 {
		t.Fatalf("not merged: open %v, faults %v", m.Open, m.Faults)
	}
	return m
}

func sheetOf(t *testing.T, d *desk.Desk, id int64) *records.Well {
	t.Helper()
	s, err := d.Well(t.Context(), me, id)
	if err != nil {
		t.Fatal(err)
	}
	return s.Well
}

func sound(t *testing.T, d *desk.Desk) {
	t.Helper()
	r, err := d.Check(t.Context(), me, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Sound() {
		t.Errorf("check finds %+v", r.Problems)
	}
}

func TestMergeAndSplit(t *testing.T) {
	d, _ := newDesk(t)
	a, b, plate, job := twoOfOneWell(t, d)
	ask := desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: 1, How: records.MergedFields, Why: "one house"}
	open, err := d.Merge(t.Context(), me, ask)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"number"}, open.Open); diff != "" || open.ID != 0 || sheetOf(t, d, b.ID).Revision != 1 {
		t.Errorf("with the number still to choose:\n%s", diff)
	}
	ask.Choose = map[string]records.Word{"number": records.SecondWord}
	m := mergeTwo(t, d, ask)
	kept := sheetOf(t, d, a.ID)
	if kept.Number != "OLD 7" || kept.Remarks != "by the road" || kept.Rock != "Example Schist" || kept.Revision != 2 || len(kept.Plates) != 1 {
		t.Errorf("merged: number %q, remarks %q, rock %q, revision %d, %d plates", kept.Number, kept.Remarks, kept.Rock, kept.Revision, len(kept.Plates))
	}
	if id, err := d.WellIDByUID(t.Context(), me, b.UID); err != nil || id != a.ID {
		t.Errorf("the old name leads to %d, %v", id, err)
	}
	if id, err := d.WhereTo(t.Context(), me, b.ID); err != nil || id != a.ID {
		t.Errorf("the old key leads to %d, %v", id, err)
	}
	if o, err := d.JobOutcomes(t.Context(), me, []*records.Job{job}); err != nil || o[0].Well == nil || o[0].Well.ID != a.ID {
		t.Errorf("the job's well is %+v, %v", o, err)
	}
	if _, found := d.Picture().ByID(b.ID); found {
		t.Error("maps still show the record that was taken out")
	}
	sound(t, d)

	// Years later: somebody changed the rock unit and added a land use.
	kept.Rock, kept.LandUse = "Example Gneiss", "pasture"
	if _, err := d.Save(t.Context(), me, kept, ""); err != nil {
		t.Fatal(err)
	}
	h, err := d.History(t.Context(), me, b.ID)
	if err != nil || h.ID != 0 || h.Into == nil || h.IntoID != a.ID || h.Gone == nil || h.Gone.EndedWhy != "merged into T-1: one house" {
		t.Errorf("history of the record that was taken out: %+v, %v", h, err)
	}
	s, err := d.SplitMerge(t.Context(), me, m.ID, "two houses after all")
	if err != nil {
		t.Fatal(err)
	}
	back, now := sheetOf(t, d, s.Back), sheetOf(t, d, a.ID)
	if back.UID != b.UID || !records.SameMatters(back, b) || back.Number != "OLD 7" || len(back.Plates) != 1 || back.Plates[0].ID != plate.ID {
		t.Errorf("came back as %+v", back)
	}
	if now.Number != "T-1" || now.Remarks != "" || now.Rock != "Example Gneiss" || now.LandUse != "pasture" || len(now.Plates) != 0 {
		t.Errorf("the kept one is %+v", now)
	}
	if diff := cmp.Diff([]string{"rock_unit"}, s.Stays); diff != "" || s.AsItWas {
		t.Errorf("what stays:\n%s", diff)
	}
	if id, err := d.WhereTo(t.Context(), me, b.ID); err != nil || id != s.Back {
		t.Errorf("the old key leads to %d, %v", id, err)
	}
	if _, err := d.SplitMerge(t.Context(), me, m.ID, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("split twice: %v", err)
	}
	h, err = d.History(t.Context(), me, s.Back)
	if err != nil || len(h.States) != 2 || h.ID != s.Back || !h.States[1].Out || h.Into != nil {
		t.Errorf("history of the one that came back: %+v, %v", h, err)
	}
	sound(t, d)
}

// A split that was a mistake is undone, and the merge can still be split.
func TestMergeAgain(t *testing.T) {
	d, _ := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	m := mergeTwo(t, d, desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: 1, How: records.MergedFields, Choose: map[string]records.Word{"number": records.SecondWord}})
	s, err := d.SplitMerge(t.Context(), me, m.ID, "")
	if err != nil || !s.Wrote {
		t.Fatal(s, err)
	}
	if _, err := d.MergeAgain(t.Context(), me, m.ID, 2, s.Revision, true); records.CodeOf(err) != records.Conflict {
		t.Errorf("stale: %v", err)
	}
	kept, err := d.MergeAgain(t.Context(), me, m.ID, 1, s.Revision, s.Wrote)
	if err != nil || kept != a.ID {
		t.Fatal(kept, err)
	}
	if w := sheetOf(t, d, a.ID); w.Number != "OLD 7" || w.Remarks != "by the road" || len(w.Plates) != 1 {
		t.Errorf("merged again: %+v", w)
	}
	if id, err := d.WellIDByUID(t.Context(), me, b.UID); err != nil || id != a.ID {
		t.Errorf("the old name leads to %d, %v", id, err)
	}
	if _, err := d.MergeAgain(t.Context(), stranger, m.ID, 1, 1, true); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger: %v", err)
	}
	h, err := d.History(t.Context(), me, a.ID)
	if err != nil || len(h.Merges) != 2 || !h.Merges[0].SplitAt.IsZero() {
		t.Fatalf("merges: %+v, %v", h, err)
	}
	if s, err = d.SplitMerge(t.Context(), me, h.Merges[0].ID, ""); err != nil {
		t.Fatal(err)
	}
	if w := sheetOf(t, d, a.ID); w.Number != "T-1" || w.Remarks != "" || sheetOf(t, d, s.Back).Number != "OLD 7" {
		t.Errorf("split once more: %+v", w)
	}
	sound(t, d)
}

// What goes out tells the names under which a record was known.
func TestGiveOutTellsMergedNames(t *testing.T) {
	d, _ := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	mergeTwo(t, d, desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: 1, How: records.MergedTwin})
	n := 0
	err := d.GiveOut(t.Context(), me, nil, false, func(w *records.Well, _ int64) error {
		n++
		if diff := cmp.Diff([]records.Member{{Name: "merged_uids", JSON: `["` + b.UID + `"]`}}, w.Extra); diff != "" {
			t.Errorf("told:\n%s", diff)
		}
		return nil
	})
	if err != nil || n != 1 {
		t.Errorf("%d records went out, %v", n, err)
	}
	if w := sheetOf(t, d, a.ID); w.Extra != nil {
		t.Errorf("the record itself holds %v", w.Extra)
	}
}

// A merge that the file does not bear out is told by check.
func TestCheckFindsBrokenMerges(t *testing.T) {
	d, path := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	mergeTwo(t, d, desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: 1, How: records.MergedTwin})
	sound(t, d)
	damage(t, path, "UPDATE merges SET revision = 9, into_uid = 'nobody'; UPDATE pair_decisions SET uid_a = '0', reasons = '['; INSERT INTO found_pairs VALUES ('a', 'b', 1, 2, 0.5, '[')")
	r, err := d.Check(t.Context(), me, nil)
	if err != nil {
		t.Fatal(err)
	}
	told := fmt.Sprint(r.Problems)
	for _, words := range []string{"the image of the record that was taken out is not there", "was never there", "names one that was never there", "reasons of a decision", "reasons of a likely pair"} {
		if !strings.Contains(told, words) {
			t.Errorf("check does not tell %q: %s", words, told)
		}
	}
}

func TestMergeRefuses(t *testing.T) {
	d, _ := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	ask := desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: 1, How: records.MergedFields, Choose: map[string]records.Word{"number": records.FirstWord}}
	for name, c := range map[string]struct {
		change func(*desk.MergeAsk)
		want   records.Code
	}{
		"stale":         {func(m *desk.MergeAsk) { m.OutRevision = 7 }, records.Conflict},
		"with itself":   {func(m *desk.MergeAsk) { m.Out = m.Keep }, records.Invalid},
		"no way":        {func(m *desk.MergeAsk) { m.How = "somehow" }, records.Invalid},
		"works of what": {func(m *desk.MergeAsk) { m.How, m.Works = records.MergedWorks, "paint" }, records.Invalid},
		"not there":     {func(m *desk.MergeAsk) { m.Out = 99 }, records.NotFound},
	} {
		bad := ask
		c.change(&bad)
		if _, err := d.Merge(t.Context(), me, bad); records.CodeOf(err) != c.want || err == nil {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	if _, err := d.Merge(t.Context(), stranger, ask); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger: %v", err)
	}
	if _, err := d.SplitMerge(t.Context(), stranger, 1, ""); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger splits: %v", err)
	}
	// What would be refused as a record is refused as a merge: the same casing
	// standing twice.
	w := sheetOf(t, d, b.ID)
	w.Casing[0].To = recordstest.Feet[records.Depth]("49")
	if _, err := d.Save(t.Context(), me, w, ""); err != nil {
		t.Fatal(err)
	}
	ask.OutRevision = 2
	ask.Choose = map[string]records.Word{"number": records.FirstWord, "casing": records.BothWords}
	m, err := d.Merge(t.Context(), me, ask)
	if err != nil || m.ID != 0 || !records.Refuses(m.Faults) {
		t.Errorf("casing that stands twice is merged: %+v, %v", m, err)
	}
	if sheetOf(t, d, a.ID).Revision != 1 || sheetOf(t, d, b.ID).Revision != 2 {
		t.Error("something was written all the same")
	}
}

func TestMergeOfATwinAndOfLaterWorks(t *testing.T) {
	d, _ := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	m := mergeTwo(t, d, desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: 1, How: records.MergedTwin})
	if now := sheetOf(t, d, a.ID); now.Revision != 1 || now.Number != "T-1" || len(now.Plates) != 1 {
		t.Errorf("beside a twin that was taken out: %+v", now)
	}
	s, err := d.SplitMerge(t.Context(), me, m.ID, "")
	if err != nil {
		t.Fatal(err)
	}
	b = sheetOf(t, d, s.Back)
	b.TotalDepth, b.Completed = recordstest.Feet[records.Depth]("405"), records.Date{Year: 2015}
	if _, err := d.Save(t.Context(), me, b, ""); err != nil {
		t.Fatal(err)
	}
	mergeTwo(t, d, desk.MergeAsk{Keep: a.ID, Out: b.ID, KeepRevision: 1, OutRevision: b.Revision, How: records.MergedWorks, Works: "deepen"})
	now := sheetOf(t, d, a.ID)
	if depth, _ := now.FirstDrilled(); len(now.Works) != 2 || depth != a.TotalDepth || now.TotalDepth != b.TotalDepth || now.Remarks != "by the road" {
		t.Errorf("with later works: %+v", now)
	}
	sound(t, d)
}

func TestRestoreState(t *testing.T) {
	d, _ := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	a.Number = "T-2"
	if _, err := d.Save(t.Context(), me, a, "renumbered"); err != nil {
		t.Fatal(err)
	}
	id, rev, err := d.RestoreState(t.Context(), me, a.ID, a.ID, 1, 2)
	if err != nil || id != a.ID || rev != 3 || sheetOf(t, d, a.ID).Number != "T-1" {
		t.Errorf("restored as %d at %d: %v", id, rev, err)
	}
	if _, _, err := d.RestoreState(t.Context(), me, a.ID, a.ID, 1, 2); records.CodeOf(err) != records.Conflict {
		t.Errorf("stale: %v", err)
	}
	if _, _, err := d.RestoreState(t.Context(), me, a.ID, b.ID, 1, 3); records.CodeOf(err) != records.Invalid {
		t.Errorf("a state of another record: %v", err)
	}
	if err := d.SavePlate(t.Context(), me, &records.Plate{Number: "77", WellID: a.ID, LinkedBy: "a clerk"}, ""); err != nil {
		t.Fatal(err)
	}
	if err := d.Remove(t.Context(), me, a.ID, 3, "a mistake"); err != nil {
		t.Fatal(err)
	}
	out, all, err := d.TakenOut(t.Context(), me, 0, 10)
	if err != nil || all != 1 || len(out) != 1 || out[0].Why != "a mistake" {
		t.Errorf("taken out: %+v, %v", out, err)
	}
	id, rev, err = d.RestoreState(t.Context(), me, a.ID, a.ID, 2, 0)
	if err != nil || id == a.ID || rev != 1 || sheetOf(t, d, id).Number != "T-2" || sheetOf(t, d, id).UID != a.UID {
		t.Errorf("brought back as %d at %d: %v", id, rev, err)
	}
	if w := sheetOf(t, d, id); len(w.Plates) != 1 || w.Plates[0].LinkedBy != "a clerk" {
		t.Errorf("its plate did not come back with it: %+v", w.Plates)
	}
	h, err := d.History(t.Context(), me, a.ID)
	if err != nil || h.ID != id || len(h.States) != 4 {
		t.Fatalf("history: %+v, %v", h, err)
	}
	var names []string
	for _, s := range h.States {
		names = append(names, s.Image.Number)
	}
	if !slices.Equal(names, []string{"T-2", "T-1", "T-2", "T-1"}) || h.States[2].Why != "renumbered" || !h.States[1].Out {
		t.Errorf("states %v: %+v", names, h.States)
	}
	if _, err := d.History(t.Context(), me, 99); records.CodeOf(err) != records.NotFound {
		t.Errorf("of a key that never was: %v", err)
	}
	sound(t, d)
}

func TestDecidePair(t *testing.T) {
	d, _ := newDesk(t)
	a, b, _, _ := twoOfOneWell(t, d)
	if rev, err := d.DecidePair(t.Context(), me, b.ID, a.ID, 0, records.PairDifferent, "two houses"); err != nil || rev != 1 {
		t.Errorf("decided at %d: %v", rev, err)
	}
	if _, err := d.DecidePair(t.Context(), me, a.ID, b.ID, 0, records.PairUnsure, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("stale: %v", err)
	}
	if _, err := d.DecidePair(t.Context(), me, a.ID, b.ID, 1, records.PairMerged, ""); records.CodeOf(err) != records.Invalid {
		t.Errorf("merged by word alone: %v", err)
	}
	if rev, err := d.DecidePair(t.Context(), me, a.ID, b.ID, 1, records.PairOpen, ""); err != nil || rev != 2 {
		t.Errorf("taken back at %d: %v", rev, err)
	}
	sound(t, d)
}
