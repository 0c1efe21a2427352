package figuring_test

import (
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
)

func needRule(t *testing.T, id string) figuring.NeedRule {
	t.Helper()
	for _, r := range figuring.NeedRules() {
		if r.ID == id {
			return r
		}
	}
	t.Fatalf("no rule %q", id)
	return figuring.NeedRule{}
}

// Orange County, North Carolina: 360, 480, 600 gallons a day for 3, 4, 5
// bedrooms are 0.25, 0.33, 0.42 gpm over 24 hours, 0.50, 0.67, 0.83 over 12
// and 1.00, 1.33, 1.67 over 6.
func TestNeedByBedrooms(t *testing.T) {
	for _, c := range []struct{ bedrooms, daily, over24, over12, over6 float64 }{
		{3, 360, 0.25, 0.50, 1.00}, {4, 480, 0.33, 0.67, 1.33}, {5, 600, 0.42, 0.83, 1.67},
	} {
		n := must[figuring.Need](t)(needRule(t, "bedroom-nc").For(c.bedrooms))
		near(t, "gallons a day", inGal(n.High), c.daily, 1e-9)
		for hours, want := range map[float64]float64{24: c.over24, 12: c.over12, 6: c.over6} {
			q := must[figuring.Figure[records.Flow]](t)(figuring.Sustained(n.High, records.Minutes(hours*60)))
			near(t, "gpm", inGPM(q.Value), want, 0.0051)
		}
	}
	// 1 gpm is 1,440 gallons a day: a county's published figure.
	day := must[figuring.Figure[records.Flow]](t)(figuring.Sustained(gal(1440), 1440))
	near(t, "1,440 gal a day", inGPM(day.Value), 1, 1e-12)
}

// Groundwater Project, Domestic Wells (2022), box 1: 300 L a day for each of
// 4 persons. Stock figures are from memory, as the table says.
func TestNeedTogether(t *testing.T) {
	people := must[figuring.Need](t)(needRule(t, "person-gwp").For(4))
	near(t, "four persons", float64(people.High), 1200, 1e-9)
	wide := must[figuring.Need](t)(needRule(t, "person-usda").For(4))
	near(t, "low", inGal(wide.Low), 200, 1e-9)
	near(t, "high", inGal(wide.High), 400, 1e-9)
	cows := must[figuring.Need](t)(needRule(t, "dairy-cow-epa").For(10))
	all := figuring.Together(wide, cows)
	near(t, "all low", inGal(all.Low), 550, 1e-9)
	near(t, "all high", inGal(all.High), 750, 1e-9)
	if len(all.Working.Sources) != 2 || len(all.Working.Inputs) != 6 {
		t.Errorf("working %+v", all.Working)
	}
}

// USDA water-systems handbook: shower 5, washer 5, toilet 3 gpm.
func TestPeak(t *testing.T) {
	byName := map[string]figuring.Fixture{}
	for _, f := range figuring.Fixtures() {
		byName[f.Name] = f
	}
	q := must[figuring.Figure[records.Flow]](t)(figuring.Peak(byName["shower"], byName["clothes washer"], byName["toilet"]))
	near(t, "peak", inGPM(q.Value), 13, 1e-9)
	if len(q.Working.Sources) != 1 || len(q.Working.Inputs) != 3 {
		t.Errorf("working %+v", q.Working)
	}
}

func TestCriteria(t *testing.T) {
	want := map[string]float64{ // gallons, from the rules' own words; 1,200 L are 317 gallons
		"600 gallons within 2 hours":           600,
		"5 gpm for 4 hours":                    1200,
		"1 gpm for 6 hours":                    360,
		"5 gpm for 10 minutes":                 50,
		"1,200 L within 2 hours for 4 persons": 1200 / 3.785411784,
	}
	for _, c := range figuring.Criteria() {
		if w, ok := want[c.Name]; ok {
			near(t, c.Name, inGal(c.Volume()), w, 1e-6)
			delete(want, c.Name)
		}
		p := must[figuring.Figure[records.Flow]](t)(figuring.Sustained(c.Volume(), max(c.For, 1)))
		if c.For > 0 {
			pattern := c.Pattern(1000)
			peak, err := pattern.Peak()
			near(t, c.Name+" pattern", float64(pattern.Volume()), float64(c.Volume()), 1e-9)
			near(t, c.Name+" peak", float64(peak), float64(c.Flow), 1e-9)
			d := must[figuring.Day](t)(figuring.Carry(figuring.Supply{Yield: c.Flow}, pattern))
			if source := d.Working.Sources[1]; err != nil || source.Mark != c.Source.Mark || !strings.Contains(source.Text, c.Source.Text) || !d.Carries() {
				t.Errorf("%s: %v, source %+v, short %v", c.Name, err, source, d.Short)
			}
			near(t, c.Name, float64(p.Value), float64(c.Flow), 1e-9)
		}
	}
	for name := range want {
		t.Errorf("no criterion %q", name)
	}
}

// 600 gallons in 2 hours (advice in New Hampshire): storage is 600 - 120 gpm,
// and so much of 6 in hole; computed.
func TestStorageNeeded(t *testing.T) {
	for _, c := range []struct{ yield, gallons, feet float64 }{
		{0.5, 540, 368}, {1, 480, 327}, {2, 360, 245}, {3, 240, 163}, {4, 120, 82}, {5, 0, 0}, {9, 0, 0},
	} {
		s := must[figuring.Shortage](t)(figuring.StorageNeeded(gal(600), 120, gpm(c.yield), 0, 0))
		near(t, "gallons", inGal(s.Needed), c.gallons, 1e-6)
		hole := must[figuring.Figure[records.Length]](t)(figuring.LengthHolding(s.Needed, in(6)))
		near(t, "feet of 6 in", records.Foot.FromBase(float64(hole.Value)), c.feet, 0.51)
		if s.Met() != (c.gallons == 0) {
			t.Errorf("%v gpm: met %v, short %v", c.yield, s.Met(), s.Short)
		}
	}

	// California counties: 1,200 - 240 gpm - tank/4 - standing; 1 gpm, 80
	// gallons, 100 ft of 6 in: 793 gallons (computed).
	standing := must[figuring.Figure[records.Volume]](t)(figuring.Holds(in(6), ft(100)))
	s := must[figuring.Shortage](t)(figuring.StorageNeeded(gal(1200), 240, gpm(1), gal(80), standing.Value))
	near(t, "auxiliary storage", inGal(s.Short), 793, 0.5)

	// Groundwater Project, box 1: 181.5 + 9 x 120 = 1,261 L against 1,200: met.
	box := figuring.Hole{Bores: []figuring.Round{{From: 0, To: 20, Across: 152}}}
	stored := must[figuring.Figure[records.Volume]](t)(box.Standing(5, 15))
	near(t, "stored and yielded", float64(stored.Value)+9*120, 1261, 0.6)
	s = must[figuring.Shortage](t)(figuring.StorageNeeded(1200, 120, 9./60, 0, stored.Value))
	if !s.Met() {
		t.Errorf("box 1 is short of %v L", s.Short)
	}
}
