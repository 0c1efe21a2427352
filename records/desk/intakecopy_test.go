package desk_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/records/recordstest"
)

// Each case was worked by hand: what the office did to a record between a
// file and a later copy of it, what the copy says, and what stands then.
func TestALaterCopy(t *testing.T) {
	d, path := newDesk(t)
	first := mustTakeInCSV(t, d, "wells-2025.csv", 0, "number,lon,lat,depth_to_bedrock_m,total_depth_m,remarks\n"+
		"A,-72,44,3,60,\nB,-72.01,44,4,61,\nC,-72.02,44,5,62,\nD,-72.03,44,6,63,\nE,-72.04,44,7,64,\n")
	edit := func(number string, change func(*records.Well)) *records.Well {
		t.Helper()
		w := wellNumbered(t, d, number)
		change(w)
		if _, err := d.Save(t.Context(), me, w, "a correction"); err != nil {
			t.Fatal(err)
		}
		return w
	}
	edit("B", func(w *records.Well) { w.Remarks = "the office's own words" })
	edit("C", func(w *records.Well) { w.Bedrock = recordstest.Metres[records.Depth]("9") })
	out := wellNumbered(t, d, "E")
	if err := d.Remove(t.Context(), me, out.ID, out.Revision, "no such well"); err != nil {
		t.Fatal(err)
	}
	// A as it was; B deeper; C with another depth to rock; D is gone; E was
	// taken out by the office; F is new; A once more by mistake.
	text := "number,lon,lat,depth_to_bedrock_m,total_depth_m,remarks\n" +
		"A,-72,44,3,60,\nB,-72.01,44,4,71,\nC,-72.02,44,5.5,62,\nE,-72.04,44,7,64,\nF,-72.05,44,8,65,\nA,-72,44,3,60,\n"
	rehearsed, err := d.Rehearse(t.Context(), me, csvIntake(t, d, "wells-2026.csv", first.ID, text))
	if err != nil {
		t.Fatal(err)
	}
	second := mustTakeInCSV(t, d, "wells-2026.csv", first.ID, text)
	for what, b := range map[string]*records.Batch{"rehearsed": rehearsed, "taken in": second} {
		have := [...]int64{b.Read, b.Accepted, b.Refused, b.Changed, b.Same, b.Clashes, b.Gone}
		if want := [...]int64{6, 4, 2, 1, 2, 1, 1}; have != want {
			t.Errorf("%s: read, accepted, refused, changed, same, clashes, gone: %v, want %v", what, have, want)
		}
	}
	if w := wellNumbered(t, d, "B"); w.TotalDepth.Value != 71 || w.Remarks != "the office's own words" {
		t.Errorf("B has a total depth of %v and the remarks %q", w.TotalDepth.Value, w.Remarks)
	}
	if w := wellNumbered(t, d, "C"); w.Bedrock.Value != 9 {
		t.Errorf("C: rock at %v, which the office had corrected to 9", w.Bedrock.Value)
	}
	if w := wellNumbered(t, d, "D"); w.Revision != 1 {
		t.Errorf("D, gone from the copy, was written: revision %d", w.Revision)
	}
	if n := d.Picture().Len(); n != 5 { // A, B, C, D, F
		t.Errorf("%d wells", n)
	}
	list, more, err := d.CopyRecords(t.Context(), me, second.ID, "", 0, 50)
	if err != nil || more || len(list) != 3 {
		t.Fatalf("%d records, more %v: %v", len(list), more, err)
	}
	c := list[1]
	if c.Label != "C" || len(c.Clashes) != 1 || c.Clashes[0].Field != "depth_to_bedrock_m" || c.Clashes[0].Before != "5 m" || c.Clashes[0].Office != "9 m" || c.Clashes[0].Copy != "5.5 m" {
		t.Errorf("the clash is shown as %+v", c)
	}
	if !list[2].Gone || list[2].Label != "D" {
		t.Errorf("gone: %+v", list[2])
	}
	decideAndTakeBack(t, d, c.WellID, second.ID)

	// A third copy, of the second, says what the second said: nothing is asked
	// again, and nothing changes.
	third := mustTakeInCSV(t, d, "wells-2027.csv", second.ID, text[:strings.LastIndex(text, "A,")])
	if third.Changed != 0 || third.Clashes != 0 || third.Same != 4 || third.Gone != 1 {
		t.Errorf("a third copy: %+v", third)
	}
	takeAllBack(t, d, path, first, second, third)
}

// decideAndTakeBack settles the clash of C by the copy, takes that back, and
// leaves it with the office.
func decideAndTakeBack(t *testing.T, d *desk.Desk, well, batch int64) {
	t.Helper()
	const field = "depth_to_bedrock_m"
	rock := func(want records.Depth) {
		t.Helper()
		if w := wellNumbered(t, d, "C"); w.Bedrock.Value != want {
			t.Errorf("C: rock at %v, want %v", w.Bedrock.Value, want)
		}
	}
	decide := func(choice string) error { return d.DecideClash(t.Context(), me, batch, well, field, choice) }
	for _, c := range []struct {
		choice string
		want   records.Depth
	}{{"copy", 5.5}, {"", 9}, {"office", 9}, {"", 9}} {
		if err := decide(c.choice); err != nil {
			t.Fatalf("%q: %v", c.choice, err)
		}
		rock(c.want)
	}
	if err := d.DecideClash(t.Context(), me, batch, well, "remarks", "copy"); records.CodeOf(err) != records.NotFound {
		t.Errorf("a property that does not clash: %v", err)
	}
	if err := d.DecideClash(t.Context(), stranger, batch, well, field, "copy"); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger: %v", err)
	}
	if err := decide("copy"); err != nil {
		t.Fatal(err)
	}
	if err := decide("office"); records.CodeOf(err) != records.Conflict {
		t.Errorf("decided twice: %v", err)
	}
	if err := decide(""); err != nil {
		t.Fatal(err)
	}
}

// takeAllBack withdraws the copies, the last first: an earlier one is refused
// while a later one stands.
func takeAllBack(t *testing.T, d *desk.Desk, path string, first, second, third *records.Batch) {
	t.Helper()
	if _, err := d.Withdraw(t.Context(), me, first.ID); records.CodeOf(err) != records.Conflict {
		t.Errorf("the first is taken back before its copies: %v", err)
	}
	if back, err := d.Withdraw(t.Context(), me, third.ID); err != nil || back != (desk.TakenBack{}) {
		t.Errorf("the third: %+v, %v", back, err)
	}
	if back, err := d.Withdraw(t.Context(), me, second.ID); err != nil || back != (desk.TakenBack{Removed: 1, Back: 1}) {
		t.Errorf("the second: %+v, %v", back, err)
	}
	if w := wellNumbered(t, d, "B"); w.TotalDepth.Value != 61 || w.Remarks != "the office's own words" {
		t.Errorf("B is not as it was: %v, %q", w.TotalDepth.Value, w.Remarks)
	}
	// A and D were never touched; B and C hold the office's corrections.
	if back, err := d.Withdraw(t.Context(), me, first.ID); err != nil || back != (desk.TakenBack{Removed: 2, Left: 2}) {
		t.Errorf("the first: %+v, %v", back, err)
	}
	if r, err := d.Check(t.Context(), me, nil); err != nil || !r.Sound() {
		t.Errorf("check finds %+v, %v", r, err)
	}
	if n := ask(t, path, "SELECT count(*) FROM wells"); n != 2 {
		t.Errorf("%d wells are left", n)
	}
}

func csvIntake(t *testing.T, d *desk.Desk, name string, copyOf int64, text string) desk.Intake {
	t.Helper()
	src, err := importer.NewSource(strings.NewReader(text), importer.Options{Name: name, Validate: d.Validation()})
	if err != nil {
		t.Fatal(err)
	}
	return desk.Intake{Source: src, Name: name, CopyOf: copyOf}
}

func mustTakeInCSV(t *testing.T, d *desk.Desk, name string, copyOf int64, text string) *records.Batch {
	t.Helper()
	b, err := d.TakeIn(t.Context(), me, csvIntake(t, d, name, copyOf, text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func wellNumbered(t *testing.T, d *desk.Desk, number string) *records.Well {
	t.Helper()
	found, err := d.Find(t.Context(), me, number, 5)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range found.Matches {
		if m.Kind == "well_number" && m.Text == number {
			sheet, err := d.Well(t.Context(), me, m.WellID)
			if err != nil {
				t.Fatal(err)
			}
			return sheet.Well
		}
	}
	t.Fatalf("there is no well %s", number)
	return nil
}
