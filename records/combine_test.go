package records_test

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

// matter finds one by its name.
func matter(t *testing.T, ms []records.Matter, name string) records.Matter {
	t.Helper()
	i := slices.IndexFunc(ms, func(m records.Matter) bool { return m.Name == name })
	if i < 0 {
		t.Fatalf("there is no matter %q", name)
	}
	return ms[i]
}

// Expected values here were worked by hand.
func TestMattersSuggest(t *testing.T) {
	day := records.Date{Year: 2004, Month: 6, Day: 15}
	for name, c := range map[string]struct {
		change func(a, b *records.Well)
		matter string
		clash  bool
		want   records.Word
	}{
		"the same":                 {func(a, b *records.Well) {}, "number", false, ""},
		"only one speaks":          {func(a, b *records.Well) { a.Remarks, b.Remarks = "", "by the road" }, "remarks", false, ""},
		"two numbers":              {func(a, b *records.Well) { b.Number = "X-77" }, "number", true, ""},
		"the same but for signs":   {func(a, b *records.Well) { b.Number = "t 1" }, "number", true, records.FirstWord},
		"a fuller remark":          {func(a, b *records.Well) { a.Remarks, b.Remarks = "By the road.", "by the road, 20 ft off" }, "remarks", true, records.SecondWord},
		"two remarks":              {func(a, b *records.Well) { a.Remarks, b.Remarks = "by the road", "sand in the pump" }, "remarks", true, records.BothWords},
		"a fuller date":            {func(a, b *records.Well) { a.Completed, b.Completed = records.Date{Year: 2004}, day }, "completed", true, records.SecondWord},
		"two dates":                {func(a, b *records.Well) { b.Completed.Year = 2005 }, "completed", true, ""},
		"rounded":                  {func(a, b *records.Well) { b.TotalDepth = recordstest.Metres[records.Depth]("61.9") }, "total_depth_m", true, records.FirstWord},
		"another depth":            {func(a, b *records.Well) { b.TotalDepth = recordstest.Feet[records.Depth]("230") }, "total_depth_m", true, ""},
		"a figure against a bound": {func(a, b *records.Well) { a.Bedrock = recordstest.Feet[records.Depth]("<50") }, "depth_to_bedrock_m", true, records.SecondWord},
		"a bound that forbids it":  {func(a, b *records.Well) { a.Bedrock = recordstest.Feet[records.Depth]("<30") }, "depth_to_bedrock_m", true, ""},
		"a better position": {func(a, b *records.Well) {
			b.Place.Lat, b.Place.Accuracy = 44.2501, recordstest.Metres[records.Length]("2")
		}, "place", true, records.SecondWord},
		"no position":    {func(a, b *records.Well) { a.Place.Located = false; a.Place.Method = "map" }, "place", true, records.SecondWord},
		"more strata":    {func(a, b *records.Well) { a.Strata = a.Strata[:2] }, "strata", true, records.SecondWord},
		"other strata":   {func(a, b *records.Well) { b.Strata = []records.Stratum{recordstest.Stratum("0", "9", "till", "till")} }, "strata", true, records.FirstWord},
		"levels of both": {func(a, b *records.Well) { a.StaticLevels, b.StaticLevels = level(2001), level(2010) }, "static_levels", true, records.BothWords},
		// A mark that is lost lets in what somebody found not to be relied on.
		"marks of both": {func(a, b *records.Well) {
			a.Unreliable = []records.Doubt{{About: records.DoubtStrata, Reason: "from memory"}, {About: records.DoubtYield, Reason: "read off a bucket"}}
			b.Unreliable = []records.Doubt{{About: records.DoubtPosition, Reason: "another lot"}}
		}, "unreliable", true, records.BothWords},
		"picks of both": {func(a, b *records.Well) {
			pick := func(set string) records.OwnPick {
				return records.OwnPick{Set: set, Of: records.PickBedrock, Depth: recordstest.Feet[records.Depth]("40"), Reason: "casing"}
			}
			a.OwnPicks, b.OwnPicks = []records.OwnPick{pick("first"), pick("hearing")}, []records.OwnPick{pick("second")}
		}, "own_picks", true, records.BothWords},
		"a phone number to the same name": {func(a, b *records.Well) {
			a.Owner.Name, b.Owner = "Owner A", records.Person{Name: "Owner A", Telephone: "000"}
		}, "owner", false, ""},
		"another owner": {func(a, b *records.Well) { a.Owner.Name, b.Owner.Name = "Owner A", "Owner B" }, "owner", true, ""},
	} {
		t.Run(name, func(t *testing.T) {
			a, b := recordstest.Plain(), recordstest.Plain()
			c.change(a, b)
			m := matter(t, records.Matters(a, b), c.matter)
			if m.Clashes() != c.clash || m.Suggested != c.want {
				t.Errorf("clashes %v, suggests %q (%s); want %v, %q", m.Clashes(), m.Suggested, m.Reason, c.clash, c.want)
			}
			if (m.Suggested == "") != (m.Reason == "") {
				t.Errorf("suggests %q with the reason %q", m.Suggested, m.Reason)
			}
			// Seen from the other side it is the same, but for the side.
			back := matter(t, records.Matters(b, a), c.matter)
			if back.Clashes() != c.clash || back.A != m.B || back.B != m.A {
				t.Errorf("backwards: %+v", back)
			}
		})
	}
}

func level(year int) []records.Level {
	return []records.Level{{Date: records.Date{Year: year}, Depth: recordstest.Feet[records.Depth]("20")}}
}

func TestCombineTakesWhatWasChosen(t *testing.T) {
	a, b := recordstest.Plain(), recordstest.Full()
	b.Number, b.Yield, b.YieldMethod = "OLD 7", recordstest.Gpm("5 1/2"), "bailer"
	a.StaticLevels, b.StaticLevels = level(2010), append(level(2001), level(2010)...)
	a.Extra, b.Extra = []records.Member{{Name: "zone", JSON: "1"}}, []records.Member{{Name: "zone", JSON: "2"}, {Name: "tile", JSON: "9"}}
	before, other := cmpWell(a), cmpWell(b)
	ms := records.Matters(a, b)
	choose := map[string]records.Word{}
	for _, m := range ms {
		if m.Clashes() {
			choose[m.Name] = records.SecondWord
		}
	}
	choose["static_levels"], choose["extra"] = records.BothWords, records.BothWords
	got, open := records.Combine(a, b, choose)
	if len(open) > 0 {
		t.Errorf("still open: %v", open)
	}
	if got.Number != "OLD 7" || got.Yield.Given.Text != "5 1/2" || got.YieldMethod != "bailer" || got.UID != a.UID || got.Provenance.Source != a.Provenance.Source {
		t.Errorf("number %q, yield %+v %q, uid %q, source %q", got.Number, got.Yield, got.YieldMethod, got.UID, got.Provenance.Source)
	}
	if n := len(got.StaticLevels); n != 2 || got.StaticLevels[0].Date.Year != 2001 {
		t.Errorf("levels of both: %+v", got.StaticLevels)
	}
	if diff := cmp.Diff([]records.Member{{Name: "zone", JSON: "1"}, {Name: "tile", JSON: "9"}}, got.Extra); diff != "" {
		t.Errorf("kept properties of both:\n%s", diff)
	}
	if cmp.Diff(before, cmpWell(a))+cmp.Diff(other, cmpWell(b)) != "" {
		t.Error("a record that was merged was changed itself")
	}
}

func cmpWell(w *records.Well) string {
	return string(w.AppendProperties(nil, records.WriteOptions{Private: true}))
}

// What holds of any two records: with nothing chosen each clash is told and no
// other matter is; a record merged with itself or with an empty one is itself;
// nothing that only one of them says is lost; and apart is the way back.
func TestCombineOnRandomRecords(t *testing.T) {
	for seed := range uint64(200) {
		a, b := recordstest.Random(seed), recordstest.Random(seed+1000)
		if seed%3 == 0 {
			b = recordstest.Full()
		}
		if same, open := records.Combine(a, a, nil); len(open) > 0 || !records.SameMatters(same, a) {
			t.Fatalf("seed %d: with itself: %v", seed, open)
		}
		if same, open := records.Combine(a, &records.Well{}, nil); len(open) > 0 || !records.SameMatters(same, a) {
			t.Fatalf("seed %d: with nothing: %v", seed, open)
		}
		if other, open := records.Combine(&records.Well{}, b, nil); len(open) > 0 || !records.SameMatters(other, b) {
			t.Fatalf("seed %d: nothing with it: %v\n%v", seed, open, records.Diff(other, b))
		}
		after, open := records.Combine(a, b, nil)
		for _, m := range records.Matters(a, b) {
			if slices.Contains(open, m.Name) != m.Clashes() {
				t.Errorf("seed %d: %s is told as open: %v, clashes: %v", seed, m.Name, slices.Contains(open, m.Name), m.Clashes())
			}
			if is := matter(t, records.Matters(after, b), m.Name); m.A == "" && is.A != m.B {
				t.Errorf("seed %d: %s: only the second says %q, and it became %q", seed, m.Name, m.B, is.A)
			}
		}
		back, stays := records.Apart(a, after, after)
		if len(stays) > 0 || !records.SameMatters(back, a) {
			t.Fatalf("seed %d: apart again: %v, %v", seed, stays, records.Diff(a, back))
		}
	}
}

func TestApartLeavesWhatSomebodyChanged(t *testing.T) {
	a := recordstest.Plain()
	a.Remarks = ""
	b := recordstest.Plain()
	b.Number, b.Remarks, b.Rock = "X-9", "by the road", "Example Schist"
	after, open := records.Combine(a, b, map[string]records.Word{"number": records.SecondWord, "rock_unit": records.SecondWord})
	if len(open) > 0 {
		t.Fatal(open)
	}
	now := *after
	now.Rock, now.LandUse = "Example Gneiss", "pasture"
	got, stays := records.Apart(a, after, &now)
	if got.Number != a.Number || got.Remarks != "" || got.Rock != "Example Gneiss" || got.LandUse != "pasture" {
		t.Errorf("number %q, remarks %q, rock %q, land use %q", got.Number, got.Remarks, got.Rock, got.LandUse)
	}
	if diff := cmp.Diff([]string{"rock_unit"}, stays); diff != "" {
		t.Errorf("what stays:\n%s", diff)
	}
}

// A hole of 203 ft and 6 gpm of 2004, deepened to 405 ft and 9 gpm in 2015:
// worked by hand from what a later report means.
func TestAsWorks(t *testing.T) {
	a, b := recordstest.Plain(), recordstest.Plain()
	b.Number, b.Completed = "T-1 deep", records.Date{Year: 2015, Month: 3, Day: 2}
	b.TotalDepth, b.Yield, b.StaticLevel = recordstest.Feet[records.Depth]("405"), recordstest.Gpm("9"), recordstest.Feet[records.Depth]("31")
	b.Crew = records.Crew{Driller: "Driller B", Firm: "Firm B"}
	b.Strata = nil
	x, y := records.AsWorks(a, b, "deepen")
	got, open := records.Combine(x, y, nil)
	if len(open) > 0 {
		t.Errorf("open: %v", open)
	}
	depth, yield := got.FirstDrilled()
	if depth != a.TotalDepth || yield != a.Yield {
		t.Errorf("as first drilled %+v, %+v", depth, yield)
	}
	if got.TotalDepth != b.TotalDepth || got.Yield != b.Yield || got.StaticLevel != b.StaticLevel || got.Number != "T-1" || got.Completed != a.Completed {
		t.Errorf("as it stands: %+v", got)
	}
	if len(got.Works) != 2 || got.Works[0].Kind != "drill" || got.Works[1].Kind != "deepen" || got.Works[1].Firm != "Firm B" || got.Works[1].Report != "T-1 deep" || got.Works[1].Note != "driller: Driller B" {
		t.Errorf("works: %+v", got.Works)
	}
	if len(got.StaticLevels) != 2 || len(got.Strata) != len(a.Strata) || got.Crew.Driller != "Driller A" {
		t.Errorf("levels %+v, %d strata, driller %q", got.StaticLevels, len(got.Strata), got.Crew.Driller)
	}
	if a.Works != nil || b.Number == "" {
		t.Error("a record was changed itself")
	}
	sealed, _ := records.AsWorks(a, b, "decommission")
	if sealed.Status != "decommissioned" || sealed.Yield != a.Yield {
		t.Errorf("sealed: status %q, yield %+v", sealed.Status, sealed.Yield)
	}
}

func TestPairMark(t *testing.T) {
	a, b := recordstest.Full(), recordstest.Full()
	b.Remarks, b.Strata = "another", nil
	if records.PairMark(a) != records.PairMark(b) {
		t.Error("a remark changes the mark")
	}
	for name, change := range map[string]func(w *records.Well){
		"moved": func(w *records.Well) { w.Place.Lat += 1e-6 }, "number": func(w *records.Well) { w.Number = "Q" },
		"depth": func(w *records.Well) { w.TotalDepth = recordstest.Feet[records.Depth]("7") }, "casing": func(w *records.Well) { w.Casing = nil },
		"owner": func(w *records.Well) { w.Owner.Name = "Q" }, "day": func(w *records.Well) { w.Completed.Day++ },
	} {
		c := recordstest.Full()
		change(c)
		if records.PairMark(a) == records.PairMark(c) {
			t.Errorf("%s: the mark stays", name)
		}
	}
}
