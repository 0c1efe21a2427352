package figuring_test

import (
	"math"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
)

// Nonsense is refused with the field at fault and words that say how to mend.
func TestRefusals(t *testing.T) {
	nan := math.NaN()
	mix := figuring.MixExamples()[0]
	rule := figuring.NeedRules()[0]
	day := figuring.Pattern{Draws: []figuring.Draw{{At: 0, Flow: 1, For: 10}}}
	hole := figuring.Hole{Bores: []figuring.Round{{From: 0, To: 50, Across: 150}}}
	for _, c := range []struct {
		name  string
		call  func() error
		field string
		mend  string
	}{
		{"diameter below zero", func() error { _, err := figuring.Holds(-150, 1); return err }, "inside_mm", "minus"},
		{"diameter of zero", func() error { _, err := figuring.Holds(0, 1); return err }, "inside_mm", "above 0"},
		{"length no number", func() error { _, err := figuring.Holds(150, records.Length(nan)); return err }, "length_m", "give one"},
		{"length without end", func() error { _, err := figuring.Holds(150, records.Length(math.Inf(1))); return err }, "length_m", "unit"},
		{"casing as wide as the hole", func() error { _, err := figuring.Annulus(150, 150, 1); return err }, "casing_outside_mm", "same unit"},
		{"hole and casing exchanged", func() error { _, err := figuring.Annulus(150, 200, 1); return err }, "casing_outside_mm", "hole first"},
		{"wall fills the pipe", func() error { _, err := figuring.InsideOf(168, 84); return err }, "wall_mm", "same unit"},
		{"no hole", func() error { _, err := figuring.Hole{}.Standing(1, 2); return err }, "bores", "at least one"},
		{"intake above the level", func() error { _, err := hole.Standing(30, 20); return err }, "intake_m", "deeper"},
		{"hole too short", func() error { _, err := hole.Standing(30, 60); return err }, "bores", "reaches"},
		{"stretch runs upward", func() error {
			_, err := figuring.Hole{Bores: []figuring.Round{{From: 9, To: 3, Across: 150}}}.Standing(1, 2)
			return err
		}, "to_m", "top first"},
		{"level no number", func() error { _, err := hole.LevelAfter(records.Depth(nan), 20, 1); return err }, "static_level_m", "give one"},
		{"drawn below zero", func() error { _, err := hole.LevelAfter(3, 20, -1); return err }, "drawn_l", "minus"},
		{"rise in no time", func() error { _, err := figuring.Recovery(150, 3, 0); return err }, "took_min", "above 0"},
		{"too little mixing water", func() error { _, err := figuring.NeatCement(gal(1)); return err }, "water_l", "3 to 10"},
		{"water no number", func() error { _, err := figuring.NeatCement(records.Volume(nan)); return err }, "water_l", "give one"},
		{"bentonite soup", func() error { _, err := figuring.Bentonite(lb(50), gal(400)); return err }, "water_l", "unit"},
		{"bag of nothing", func() error { _, err := figuring.Bentonite(0, gal(20)); return err }, "bag_kg", "above 0"},
		{"chips like feathers", func() error { _, err := figuring.Chips(lb(50), 0.01); return err }, "bulk_kg_per_l", "above 0.3"},
		{"no overrun", func() error { _, err := mix.For(100, 0); return err }, "overrun", "above 0"},
		{"overrun in per cent", func() error { _, err := mix.For(100, 130); return err }, "overrun", "look at"},
		{"no mix", func() error { _, err := figuring.Mix{}.For(100, 1); return err }, "mix", "take one"},
		{"mix of a thousandth", func() error { _, err := figuring.Mix{Yield: 1e-300}.For(100, 1); return err }, "mix", "take one"},
		{"fewer than no persons", func() error { _, err := rule.For(-1); return err }, "number", "minus"},
		{"rule upside down", func() error { _, err := figuring.NeedRule{Low: 2, High: 1}.For(1); return err }, "high_l", "exchange"},
		{"a day of no minutes", func() error { _, err := figuring.Sustained(1, 0); return err }, "over_min", "above 0"},
		{"fixture below zero", func() error { _, err := figuring.Peak(figuring.Fixture{Flow: -1}); return err }, "flow_lps", "minus"},
		{"yield below zero", func() error { _, err := figuring.StorageNeeded(1, 1, -1, 0, 0); return err }, "yield_lps", "minus"},
		{"yield no number", func() error { _, err := figuring.Carry(figuring.Supply{Yield: records.Flow(nan)}, day); return err }, "yield_lps", "give one"},
		{"too many days", func() error { _, err := figuring.Carry(figuring.Supply{Days: 1000}, day); return err }, "days", "from 1 to 366"},
		{"draw after the day", func() error {
			_, err := figuring.Carry(figuring.Supply{}, figuring.Pattern{Draws: []figuring.Draw{{At: 1500, Flow: 1, For: 1}}})
			return err
		}, "draws", "draw 1"},
		{"draw longer than a day", func() error {
			_, err := figuring.Pattern{Draws: []figuring.Draw{{For: 1500}}}.Peak()
			return err
		}, "draws", "draw 1"},
		{"no tolerance", func() error { _, err := figuring.SmallestTank(figuring.Supply{}, day, 0); return err }, "tolerance_l", "above 0"},
		{"tolerance no number", func() error {
			_, err := figuring.SmallestYield(figuring.Supply{}, day, records.Flow(nan))
			return err
		}, "tolerance_lps", "give one"},
		{"bedrock above ground", func() error { _, err := figuring.CasingToSet(-1, figuring.CasingRule{}); return err }, "bedrock_m", "minus"},
		{"sticks of nothing", func() error { _, err := figuring.Sticks(10, 0, 0); return err }, "piece_m", "above 0"},
		{"sticks in millimetres", func() error { _, err := figuring.Sticks(10, 0.006, 0); return err }, "piece_m", "unit"},
		{"fewer than no spares", func() error { _, err := figuring.Rods(10, 6, -1); return err }, "spare", "none being 0"},
		{"gain upside down", func() error {
			_, err := figuring.AfterFracture(1, figuring.GainRange{Low: 2, High: 1})
			return err
		}, "gain_high_lps", "exchange"},
		{"daily need below zero", func() error { _, err := figuring.Shapes()[0].Of(-1); return err }, "daily_l", "minus"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := c.call()
			if records.CodeOf(err) != records.Invalid {
				t.Fatalf("error %v", err)
			}
			if m := records.MessageOf(err); !strings.HasPrefix(m, c.field+": ") || !strings.Contains(m, c.mend) {
				t.Errorf("message %q, want field %q and %q", m, c.field, c.mend)
			}
		})
	}
}

// Every table names its sources, and every figure can show how it came about.
func TestNothingWithoutSource(t *testing.T) {
	var sources []figuring.Source
	for _, p := range figuring.SteelPipes() {
		sources = append(sources, p.Source)
	}
	for _, l := range figuring.MixLimits() {
		sources = append(sources, l.Source)
	}
	for _, a := range figuring.Allowances() {
		sources = append(sources, a.Source)
	}
	for _, r := range figuring.NeedRules() {
		sources = append(sources, r.Source)
		if r.Place == "" || r.Low <= 0 || r.High < r.Low {
			t.Errorf("rule %+v", r)
		}
	}
	for _, f := range figuring.Fixtures() {
		sources = append(sources, f.Source)
	}
	for _, c := range figuring.Criteria() {
		sources = append(sources, c.Source)
	}
	for _, e := range figuring.CasingRuleExamples() {
		sources = append(sources, e.Source)
	}
	for _, g := range figuring.FractureGains() {
		sources = append(sources, g.Source)
	}
	for _, r := range figuring.FractureRules() {
		sources = append(sources, r.Source)
	}
	workings := []figuring.Working{
		must[figuring.Figure[records.Volume]](t)(figuring.Holds(150, 1)).Working,
		must[figuring.Figure[records.Volume]](t)(figuring.Annulus(200, 150, 1)).Working,
		must[figuring.Figure[records.Volume]](t)(sixInch(100).Standing(1, 9)).Working,
		must[figuring.Figure[records.Flow]](t)(figuring.Recovery(150, 1, 1)).Working,
		must[figuring.Batch](t)(figuring.MixExamples()[0].For(100, 1.2)).Working,
		must[figuring.Need](t)(figuring.NeedRules()[0].For(2)).Working,
		must[figuring.Figure[records.Flow]](t)(figuring.Sustained(100, 60)).Working,
		must[figuring.Figure[records.Flow]](t)(figuring.Peak(figuring.Fixtures()...)).Working,
		must[figuring.Shortage](t)(figuring.StorageNeeded(100, 60, 1, 0, 0)).Working,
		must[figuring.Figure[records.Length]](t)(figuring.LengthHolding(100, 150)).Working,
		must[figuring.Day](t)(figuring.Carry(figuring.Supply{}, figuring.Pattern{})).Working,
		must[figuring.Least[records.Volume]](t)(figuring.SmallestTank(figuring.Supply{}, figuring.Pattern{}, 1)).Working,
		must[figuring.CasingPlan](t)(figuring.CasingToSet(1, figuring.CasingRule{})).Working,
		must[figuring.Pieces](t)(figuring.Sticks(10, 6, 0)).Working,
		must[figuring.Fractured](t)(figuring.AfterFracture(0.1, figuring.FractureGains()[0])).Working,
	}
	for _, m := range figuring.MixExamples() {
		workings = append(workings, m.Working)
	}
	for _, w := range workings {
		if w.Title == "" || w.Formula == "" || w.Limits == "" || len(w.Inputs) == 0 || len(w.Sources) == 0 {
			t.Errorf("working %+v", w)
		}
		sources = append(sources, w.Sources...)
		for _, in := range w.Inputs {
			if in.Name == "" || in.Unit != in.Unit.Dimension().Base() {
				t.Errorf("%s: input %+v is in no base unit", w.Title, in)
			}
		}
	}
	for _, s := range sources {
		if s.Text == "" || strings.HasPrefix(s.Mark.String(), "source not known") || !strings.Contains(s.String(), s.Mark.String()) {
			t.Errorf("source %+v", s)
		}
	}
}
