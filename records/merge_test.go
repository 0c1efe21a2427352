package records_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/recordstest"
)

// Expected merges were worked by hand.
func TestMerge3(t *testing.T) {
	type edit = func(w *records.Well)
	for name, c := range map[string]struct {
		ours, theirs edit
		want         edit     // on the base; nil: only the clashes are looked at
		clashes      []string // fields
	}{
		"nothing":             {func(*records.Well) {}, func(*records.Well) {}, func(*records.Well) {}, nil},
		"apart":               {func(w *records.Well) { w.Number = "A" }, func(w *records.Well) { w.Remarks = "B" }, func(w *records.Well) { w.Number, w.Remarks = "A", "B" }, nil},
		"alike":               {func(w *records.Well) { w.Number = "A" }, func(w *records.Well) { w.Number = "A" }, func(w *records.Well) { w.Number = "A" }, nil},
		"clash":               {func(w *records.Well) { w.Number = "A" }, func(w *records.Well) { w.Number = "B" }, func(w *records.Well) { w.Number = "A" }, []string{"number"}},
		"emptied and kept":    {func(w *records.Well) { w.Remarks = "" }, func(w *records.Well) { w.Remarks += "!" }, nil, []string{"remarks"}},
		"in one group":        {func(w *records.Well) { w.Crew.Rig = "9" }, func(w *records.Well) { w.Crew.Helper = "H" }, func(w *records.Well) { w.Crew.Rig, w.Crew.Helper = "9", "H" }, nil},
		"clash in a group":    {func(w *records.Well) { w.Owner.Name = "X" }, func(w *records.Well) { w.Owner.Name = "Y" }, nil, []string{"owner.name"}},
		"moved and its words": {func(w *records.Well) { w.Place.Lon = -73 }, func(w *records.Well) { w.Place.Datum = "WGS 84" }, nil, []string{"lon"}},
		"moved, and parcel":   {func(w *records.Well) { w.Place.Lon = -73 }, func(w *records.Well) { w.Place.Parcel = "9" }, func(w *records.Well) { w.Place.Lon, w.Place.Parcel = -73, "9" }, nil},
		"result and its unit": {func(w *records.Well) {
			w.Quality[0].Value = recordstest.Read[records.Pure]("7", records.DimNone, records.NoUnit)
		}, func(w *records.Well) { w.Quality[0].Unit = "ug/L" }, nil, []string{"quality[0].value"}},
		"rows apart":       {func(w *records.Well) { w.Strata[0].Description = "A" }, func(w *records.Well) { w.Strata[4].Description = "B" }, func(w *records.Well) { w.Strata[0].Description, w.Strata[4].Description = "A", "B" }, nil},
		"rows beside":      {func(w *records.Well) { w.Strata[0].Description = "A" }, func(w *records.Well) { w.Strata[1].Description = "B" }, func(w *records.Well) { w.Strata[0].Description, w.Strata[1].Description = "A", "B" }, nil},
		"cells of one row": {func(w *records.Well) { w.Strata[2].Description = "A" }, func(w *records.Well) { w.Strata[2].Color = "B" }, func(w *records.Well) { w.Strata[2].Description, w.Strata[2].Color = "A", "B" }, nil},
		"one cell":         {func(w *records.Well) { w.Strata[2].Description = "A" }, func(w *records.Well) { w.Strata[2].Description = "B" }, nil, []string{"strata[2].description"}},
		"put in, and changed below": {
			func(w *records.Well) { w.Rods = append([]records.Rod{{Number: 7}}, w.Rods...) }, func(w *records.Well) { w.Rods[0].Remark = "B" },
			func(w *records.Well) { w.Rods[0].Remark = "B"; w.Rods = append([]records.Rod{{Number: 7}}, w.Rods...) }, nil},
		"taken out, and another changed":  {func(w *records.Well) { w.Strata = w.Strata[1:] }, func(w *records.Well) { w.Strata[4].Color = "B" }, func(w *records.Well) { w.Strata[4].Color = "B"; w.Strata = w.Strata[1:] }, nil},
		"taken out, and changed":          {func(w *records.Well) { w.Strata = w.Strata[1:] }, func(w *records.Well) { w.Strata[0].Color = "B" }, nil, []string{"strata"}},
		"both add at the end":             {func(w *records.Well) { w.Strikes = append(w.Strikes, records.Strike{Note: "A"}) }, func(w *records.Well) { w.Strikes = append(w.Strikes, records.Strike{Note: "B"}) }, nil, []string{"strikes"}},
		"both add the same":               {func(w *records.Well) { w.Strikes = append(w.Strikes, records.Strike{Note: "A"}) }, func(w *records.Well) { w.Strikes = append(w.Strikes, records.Strike{Note: "A"}) }, func(w *records.Well) { w.Strikes = append(w.Strikes, records.Strike{Note: "A"}) }, nil},
		"a strike, and how they are read": {func(w *records.Well) { w.Strikes = append(w.Strikes, records.Strike{Note: "A"}) }, func(w *records.Well) { w.StrikesAs = "running_total" }, nil, []string{"strikes"}},
		"kept apart": {func(w *records.Well) { w.Extra = append(w.Extra, records.Member{Name: "a", JSON: "1"}) }, func(w *records.Well) { w.Extra = append(w.Extra, records.Member{Name: "b", JSON: "2"}) }, func(w *records.Well) {
			w.Extra = append(w.Extra, records.Member{Name: "b", JSON: "2"}, records.Member{Name: "a", JSON: "1"})
		}, nil},
		"kept, clash":   {func(w *records.Well) { w.Extra[0].JSON = "1" }, func(w *records.Well) { w.Extra[0].JSON = "2" }, nil, []string{"tile"}},
		"kept in a row": {func(w *records.Well) { w.Strata[0].Extra[0].JSON = "1" }, func(w *records.Well) { w.Strata[0].Color = "B" }, func(w *records.Well) { w.Strata[0].Extra[0].JSON, w.Strata[0].Color = "1", "B" }, nil},
	} {
		t.Run(name, func(t *testing.T) {
			base, ours, theirs, want := recordstest.Full(), recordstest.Full(), recordstest.Full(), recordstest.Full()
			c.ours(ours)
			c.theirs(theirs)
			untouched := [3]string{asJSON(base), asJSON(ours), asJSON(theirs)}
			got, clashes := records.Merge3(base, ours, theirs, nil)
			var fields []string
			for _, x := range clashes {
				fields = append(fields, x.Field)
				if x.Private != strings.HasPrefix(x.Field, "owner.") {
					t.Errorf("%s: private is %v", x.Field, x.Private)
				}
			}
			if diff := cmp.Diff(c.clashes, fields); diff != "" {
				t.Errorf("clashes (-want +got):\n%s", diff)
			}
			if c.want != nil {
				c.want(want)
				if diff := records.Diff(want, got); len(diff) > 0 {
					t.Errorf("merged: %v", diff)
				}
			}
			if untouched != [3]string{asJSON(base), asJSON(ours), asJSON(theirs)} {
				t.Error("a merge changed what it was given")
			}
		})
	}
}

// Worked by hand: what stands after each choice.
func TestMerge3Choices(t *testing.T) {
	base, ours, theirs := recordstest.Full(), recordstest.Full(), recordstest.Full()
	ours.Remarks, theirs.Remarks = "mine", "yours"
	ours.Crew.Rig, theirs.Crew.Rig = "1", "2"
	ours.Strikes = append(ours.Strikes, records.Strike{Note: "A"})
	theirs.Strikes = append(theirs.Strikes, records.Strike{Note: "B"})
	n := len(base.Strikes)
	for side, want := range map[records.Side]struct {
		remarks, rig string
		strikes      []string
	}{
		records.Unchosen: {"mine", "1", []string{"A"}},
		records.Ours:     {"mine", "1", []string{"A"}},
		records.Theirs:   {"yours", "2", []string{"B"}},
		records.Both:     {"yours\nmine", "yours\nmine", []string{"B", "A"}},
	} {
		got, clashes := records.Merge3(base, ours, theirs, func(string) records.Side { return side })
		var notes []string
		for _, x := range got.Strikes[n:] {
			notes = append(notes, x.Note)
		}
		if want.rig == "yours\nmine" {
			want.rig = "2\n1"
		}
		if got.Remarks != want.remarks || got.Crew.Rig != want.rig || cmp.Diff(want.strikes, notes) != "" {
			t.Errorf("%v: %q, rig %q, strikes %v", side, got.Remarks, got.Crew.Rig, notes)
		}
		if len(clashes) != 3 || (records.Unsettled(clashes) == 3) != (side == records.Unchosen) {
			t.Errorf("%v: %v", side, clashes)
		}
		if back, ok := records.ParseSide(side.String()); !ok || back != side {
			t.Errorf("%v came back as %v", side, back)
		}
	}
	_, told := records.Merge3(base, ours, theirs, nil)
	for _, c := range told { // a list is told as people write it
		if want := "1. depth 97 ft, flow 2 gpm, note in the seam\n2. depth 188 ft, flow 4 gpm\n3. note A"; c.Field == "strikes" && c.Ours != want {
			t.Errorf("the rows are told as %q, want %q", c.Ours, want)
		}
	}
	// A number cannot be both; nobody chose then.
	ours, theirs = recordstest.Full(), recordstest.Full()
	ours.TotalDepth, theirs.TotalDepth = recordstest.Feet[records.Depth]("210"), recordstest.Feet[records.Depth]("220")
	got, clashes := records.Merge3(base, ours, theirs, func(string) records.Side { return records.Both })
	if got.TotalDepth != ours.TotalDepth || records.Unsettled(clashes) != 1 {
		t.Errorf("%v %v", got.TotalDepth, clashes)
	}
}

func asJSON(w *records.Well) string {
	return string(w.AppendProperties(nil, records.WriteOptions{Private: true}))
}

// copyWell is a record of its own with the same content.
func copyWell(w *records.Well) *records.Well {
	c := &records.Well{ID: w.ID, Revision: w.Revision}
	c.ParseProperties([]byte(asJSON(w)))
	c.Place.Located, c.Place.Lon, c.Place.Lat = w.Place.Located, w.Place.Lon, w.Place.Lat
	return c
}

// changed is a copy of a record with edits drawn at random, those of strata
// among them.
func changed(t *rapid.T, w *records.Well, who string) *records.Well {
	c := copyWell(w)
	for i := range rapid.IntRange(0, 5).Draw(t, who+" edits") {
		word := rapid.SampledFrom([]string{"p", "q", ""}).Draw(t, "word")
		at := func(n int) int { return rapid.IntRange(0, n).Draw(t, "at") }
		switch rapid.IntRange(0, 9).Draw(t, "edit") {
		case 0:
			c.Number = word
		case 1:
			c.Remarks = word
		case 2:
			c.TotalDepth = recordstest.Feet[records.Depth](strconv.Itoa(200 + at(3)))
		case 3:
			c.Place.Lon -= float64(at(2))
		case 4:
			c.Extra = append([]records.Member{{Name: "x" + who + strconv.Itoa(i), JSON: "1"}}, c.Extra...)
		case 5:
			k := at(len(c.Strata))
			c.Strata = append(c.Strata[:k:k], append([]records.Stratum{{Description: word}}, c.Strata[k:]...)...)
		case 6, 7:
			if n := len(c.Strata); n > 0 {
				k := at(n - 1)
				c.Strata = append(c.Strata[:k:k], c.Strata[k+1:]...)
			}
		case 8:
			if n := len(c.Strata); n > 0 {
				c.Strata[at(n-1)].Description = word
			}
		case 9:
			if n := len(c.Strata); n > 0 {
				c.Strata[at(n-1)].Color = word
			}
		}
	}
	return c
}

// The laws of a merge: what one side left alone comes out as the other has it,
// what both changed alike stands once, the sides can be exchanged but for the
// clashes, and where nothing clashes every change of either side is in it.
func TestMerge3Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := recordstest.Random(rapid.Uint64Range(0, 500).Draw(t, "seed"))
		base = copyWell(base)
		a, b := changed(t, base, "a"), changed(t, base, "b")
		same := func(what string, want *records.Well, x, y, z *records.Well) {
			got, clashes := records.Merge3(x, y, z, nil)
			if len(clashes) > 0 || asJSON(got) != asJSON(want) || len(records.Diff(want, got)) > 0 {
				t.Fatalf("%s: %v, clashes %v", what, records.Diff(want, got), clashes)
			}
		}
		same("theirs untouched", a, base, a, base)
		same("ours untouched", a, base, base, a)
		same("alike", a, base, a, a)

		ab, clashes := records.Merge3(base, a, b, nil)
		ba, mirrored := records.Merge3(base, b, a, nil)
		if len(clashes) != len(mirrored) {
			t.Fatalf("clashes %v, exchanged %v", clashes, mirrored)
		}
		for i, x := range clashes {
			if y := mirrored[i]; x.Field != y.Field || x.Ours != y.Theirs || x.Theirs != y.Ours || x.Base != y.Base {
				t.Fatalf("clash %v, exchanged %v", x, y)
			}
		}
		if diff := records.Diff(ab, ba); len(clashes) == 0 && len(diff) > 0 {
			t.Fatalf("exchanged: %v", diff)
		}
		chosen, _ := records.Merge3(base, a, b, func(string) records.Side { return records.Theirs })
		mirror, _ := records.Merge3(base, b, a, func(string) records.Side { return records.Ours })
		if diff := records.Diff(chosen, mirror); len(diff) > 0 {
			t.Fatalf("their side chosen, exchanged: %v", diff)
		}
		if len(clashes) > 0 {
			return
		}
		for _, side := range []*records.Well{a, b} { // merging a side again brings nothing new
			again, _ := records.Merge3(base, side, ab, nil)
			for _, ch := range records.Diff(base, side) {
				if !strings.Contains(ch.Field, "strata") && ch.Is != "" && !strings.Contains(asDiff(records.Diff(base, again)), ch.Is) {
					t.Fatalf("%v was lost", ch)
				}
			}
			for i := range side.Strata {
				if d := side.Strata[i].Description; d != "" && !hasDescription(base, d) && !hasDescription(ab, d) {
					t.Fatalf("the description %q was lost", d)
				}
			}
		}
	})
}

func asDiff(list []records.Change) string {
	var b strings.Builder
	for _, c := range list {
		b.WriteString(c.Is + "\n")
	}
	return b.String()
}

func hasDescription(w *records.Well, d string) bool {
	for i := range w.Strata {
		if w.Strata[i].Description == d {
			return true
		}
	}
	return false
}

// Without a state before, only what one side alone has can be taken.
func TestMerge3WithoutBase(t *testing.T) {
	ours := &records.Well{Number: "A", Remarks: "mine"}
	got, clashes := records.Merge3(nil, ours, &records.Well{Number: "B", LandUse: "pasture"}, nil)
	if got.Remarks != "mine" || got.LandUse != "pasture" || len(clashes) != 1 || clashes[0].Field != "number" {
		t.Errorf("%v %v", got, clashes)
	}
}
