package desk_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tallybook/records"
)

func byDriller(n int, driller string) []*records.Well {
	var out []*records.Well
	for i := range n {
		w := &records.Well{Number: fmt.Sprintf("%s-%d", driller, i), Completed: records.Date{Year: 1980 + i%20}}
		w.Crew.Driller = driller
		a, err := records.ParseAmount(fmt.Sprint(60+i), records.DimLength, records.Foot)
		if err != nil {
			panic(err)
		}
		w.TotalDepth = records.Amount[records.Depth]{Qualifier: a.Qualifier, Value: records.Depth(a.Value), Given: a.Given}
		out = append(out, w)
	}
	return out
}

// One driller wrote metres under a head of feet: it is seen before, applied as
// one, undone as one, but for the record that somebody has worked on since.
func TestCorrectForMany(t *testing.T) {
	d, _ := newDesk(t)
	if err := d.AddAll(t.Context(), me, append(byDriller(30, "Metres"), byDriller(5, "Feet")...), nil, nil); err != nil {
		t.Fatal(err)
	}
	c := records.Correction{Choose: records.CorrectionChoice{Driller: "metres"}, Rule: records.CorrectionRule{Kind: records.CorrectUnit, Field: "total_depth", From: "ft", To: "m"}}
	look, err := d.RehearseCorrection(t.Context(), me, c, nil)
	if err != nil {
		t.Fatal(err)
	}
	if look.Looked != 35 || look.Chosen != 30 || look.Changed != 30 || look.Refused != 0 || len(look.Records) != 30 || len(look.Records[0].Changes) == 0 {
		t.Errorf("%+v", look)
	}
	total := func(id int64) records.Depth {
		t.Helper()
		s, err := d.Well(t.Context(), me, id)
		if err != nil {
			t.Fatal(err)
		}
		return s.Well.TotalDepth.Value
	}
	first := look.Records[0].WellID
	was := total(first)
	done, err := d.ApplyCorrection(t.Context(), me, c, "the book was in metres", look.Commit)
	if err != nil || done.Records != 30 || done.ID == 0 {
		t.Fatalf("%+v, %v", done, err)
	}
	if got := total(first); got < was*3.28 || got > was*3.281 {
		t.Errorf("%v became %v", was, got)
	}
	// It holds no longer for what was looked at before.
	if _, err := d.ApplyCorrection(t.Context(), me, c, "", look.Commit); records.CodeOf(err) != records.Conflict {
		t.Errorf("a second time: %v", err)
	}
	if again, err := d.RehearseCorrection(t.Context(), me, c, nil); err != nil || again.Changed != 0 {
		t.Errorf("%+v, %v", again, err)
	}
	s, err := d.Well(t.Context(), me, look.Records[1].WellID)
	if err != nil {
		t.Fatal(err)
	}
	s.Well.Remarks = "looked at by hand"
	if _, err := d.Save(t.Context(), me, s.Well, ""); err != nil {
		t.Fatal(err)
	}
	undone, err := d.UndoCorrection(t.Context(), me, done.ID)
	if err != nil || undone.Left != 1 || undone.UndoneAt.IsZero() {
		t.Fatalf("%+v, %v", undone, err)
	}
	if got := total(first); got != was {
		t.Errorf("after undo it is %v, was %v", got, was)
	}
	if s, _ := d.Well(t.Context(), me, look.Records[1].WellID); s.Well.Remarks == "" || s.Well.TotalDepth.Given.Unit != records.Metre {
		t.Error("what somebody has worked on was taken back")
	}
	if _, err := d.UndoCorrection(t.Context(), me, done.ID); records.CodeOf(err) != records.Conflict {
		t.Errorf("undone twice: %v", err)
	}
	list, err := d.Corrections(t.Context(), me)
	if err != nil || len(list) != 1 || list[0].Why != "the book was in metres" || list[0].Correction.Rule != c.Rule {
		t.Errorf("%+v, %v", list, err)
	}
	if report, err := d.Check(t.Context(), me, nil); err != nil || !report.Sound() {
		t.Errorf("check: %+v, %v", report, err)
	}
}

// A record that the rule would make senseless is left and told; all the others
// are changed.
func TestCorrectionLeavesWhatWouldNotHold(t *testing.T) {
	d, _ := newDesk(t)
	wells := byDriller(4, "Any")
	bottom := records.Of(records.Depth(50)) // of a hole of 60 m, which read as feet is 18 m deep
	wells[0].Strata = []records.Stratum{{Top: records.Of(records.Depth(0)), Bottom: bottom, Description: "clay"}}
	wells[0].TotalDepth = records.Amount[records.Depth]{Qualifier: records.Exact, Value: 60, Given: records.Given{Text: "60", Unit: records.Metre}}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	c := records.Correction{Rule: records.CorrectionRule{Kind: records.CorrectUnit, Field: "total_depth", From: "m", To: "ft"}}
	look, err := d.RehearseCorrection(t.Context(), me, c, nil)
	if err != nil {
		t.Fatal(err)
	}
	if look.Chosen != 4 || look.Changed+look.Refused != 1 {
		t.Errorf("%+v", look)
	}
	if look.Changed == 1 && look.Warned == 0 {
		t.Error("strata below the depth of the hole are not told of")
	}
	if _, err := d.RehearseCorrection(t.Context(), records.Actor{Name: "nobody"}, c, nil); records.CodeOf(err) != records.Forbidden {
		t.Errorf("anybody may: %v", err)
	}
}

// A filter chooses the same records as the conditions that say the same, alone
// and together with others, and no others are read.
func TestCorrectionFilterChoosesAlike(t *testing.T) {
	d, _ := newDesk(t)
	wells := append(byDriller(30, "Metres"), byDriller(25, "Feet")...)
	for i, w := range wells {
		w.Place = records.Place{Located: true, Lon: -38.7 - float64(i)/100, Lat: 44.2, Given: fmt.Sprintf("44.2, %.2f", -38.7-float64(i)/100), Datum: "WGS 84"}
		if i%3 == 0 {
			w.Rock = "invented slate"
		}
	}
	wells[1].Completed, wells[2].TotalDepth, wells[4].Place = records.Date{}, records.Amount[records.Depth]{}, records.Place{}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	least, most := 70*0.3048, 80*0.3048
	for filter, same := range map[string]records.CorrectionChoice{
		"completed >= DATE('1984-01-01') AND completed <= DATE('1986-12-31')": {FromYear: 1984, ToYear: 1986},
		"total_depth_ft BETWEEN 70 AND 80":                                    {Of: "total_depth", Least: &least, Most: &most},
		"total_depth_m IS NULL":                                               {Lacks: "total_depth"},
		"rock_unit IS NOT NULL":                                               {Has: "rock_unit"},
		"S_INTERSECTS(geometry, BBOX(-38.905, 44.1, -38.805, 44.3))":          {Within: &[4]float64{-38.905, 44.1, -38.805, 44.3}},
	} {
		for _, driller := range []string{"", "metres"} {
			by, said := records.CorrectionChoice{Filter: filter, Driller: driller}, same
			said.Driller = driller
			ids := func(c records.CorrectionChoice) (out []int64, looked int64) {
				t.Helper()
				look, err := d.RehearseCorrection(t.Context(), me, records.Correction{Choose: c, Rule: records.CorrectionRule{Kind: records.CorrectText, Field: "land_use", To: "pasture"}}, nil)
				if err != nil {
					t.Fatal(err)
				}
				for _, r := range look.Records {
					out = append(out, r.WellID)
				}
				return out, look.Looked
			}
			want, _ := ids(said)
			got, looked := ids(by)
			if len(want) == 0 || !slices.Equal(got, want) || looked >= int64(len(wells)) || driller == "" && looked != int64(len(got)) {
				t.Errorf("%s of %q: %d of %d read, %v, the conditions choose %v", filter, driller, len(got), looked, got, want)
			}
		}
	}
}

// What a filter chose is applied, told and undone as any other; one that cannot
// be read is refused, and so is what was looked at before something changed.
func TestCorrectByAFilter(t *testing.T) {
	d, _ := newDesk(t)
	if err := d.AddAll(t.Context(), me, byDriller(20, "Any"), nil, nil); err != nil {
		t.Fatal(err)
	}
	c := records.Correction{Choose: records.CorrectionChoice{Filter: " total_depth_ft > 75 "}, Rule: records.CorrectionRule{Kind: records.CorrectUnit, Field: "total_depth", From: "ft", To: "m"}}
	look, err := d.RehearseCorrection(t.Context(), me, c, nil)
	if err != nil || look.Looked != 4 || look.Changed != 4 {
		t.Fatalf("%+v, %v", look, err)
	}
	if _, err := d.Save(t.Context(), me, &records.Well{Number: "new"}, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := d.ApplyCorrection(t.Context(), me, c, "", look.Commit); records.CodeOf(err) != records.Conflict {
		t.Errorf("with what was looked at changed: %v", err)
	}
	if look, err = d.RehearseCorrection(t.Context(), me, c, nil); err != nil {
		t.Fatal(err)
	}
	done, err := d.ApplyCorrection(t.Context(), me, c, "", look.Commit)
	if err != nil || done.Records != 4 {
		t.Fatalf("%+v, %v", done, err)
	}
	if list, err := d.Corrections(t.Context(), me); err != nil || len(list) != 1 || list[0].Correction.Choose.Filter != "total_depth_ft > 75" {
		t.Errorf("%+v, %v", list, err)
	}
	// The filter holds for what the records say now, undoing for what was changed.
	if undone, err := d.UndoCorrection(t.Context(), me, done.ID); err != nil || undone.Left != 0 {
		t.Errorf("%+v, %v", undone, err)
	}
	if again, err := d.RehearseCorrection(t.Context(), me, c, nil); err != nil || again.Changed != 4 {
		t.Errorf("after undo %+v, %v", again, err)
	}
	for filter, want := range map[string]string{"gold > 3": "the filter at character 1", "yield_gpm >": "its end", "owner_name = 'x'": "owner_name"} {
		c.Choose.Filter = filter
		_, err := d.RehearseCorrection(t.Context(), me, c, nil)
		if _, err2 := d.ApplyCorrection(t.Context(), me, c, "", look.Commit); records.CodeOf(err) != records.Invalid || !strings.Contains(records.MessageOf(err), want) || records.MessageOf(err2) != records.MessageOf(err) {
			t.Errorf("%q: %v, %v", filter, err, err2)
		}
	}
}
