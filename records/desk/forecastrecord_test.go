package desk_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
)

// What the page says is kept: its fields, the casing, and the cost in whole
// units of the currency.
func TestKeepScouting(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	rates := records.SettingValue{Name: desk.SettingRates, Value: `{"name":"A","units":"us","currency":"USD","mobilisation_cents":120000,"drill":[{"each_cents":2200}]}`}
	ask := desk.ScoutAsk{At: site, Need: 0.3, Hole: 152, Casing: 168}
	for _, priced := range []bool{false, true} {
		if priced {
			if err := d.SaveSetting(t.Context(), me, &rates, ""); err != nil {
				t.Fatal(err)
			}
		}
		s, err := d.Scouting(t.Context(), me, ask)
		if err != nil {
			t.Fatal(err)
		}
		f, err := d.KeepScouting(t.Context(), me, ask, "a label", json.RawMessage(`{"a":1}`))
		if err != nil {
			t.Fatal(err)
		}
		got, err := d.Forecast(t.Context(), me, f.ID)
		if err != nil || got.Label != "a label" || string(got.Question) != `{"a":1}` {
			t.Fatalf("kept (%v): %+v", err, got)
		}
		var names []string
		for _, q := range got.Expected {
			names = append(names, q.Name+" "+q.Unit)
		}
		want := []string{"depth_to_bedrock m", "yield L/s", "total_depth m", "casing_depth m"}
		if priced {
			want = append(want, "cost USD")
		}
		if diff := cmp.Diff(want, names); diff != "" {
			t.Fatalf("priced %v (-want +kept):\n%s", priced, diff)
		}
		if !priced {
			continue
		}
		q, _ := got.Quantity(records.CostQuantity)
		cost, _, err := desk.ExpectedOf(q)
		if err != nil {
			t.Fatal(err)
		}
		if a, b := s.Hole.Cost.Median()/100, cost.Median(); !(a > 0) || math.Abs(a-b) > 1e-9*a {
			t.Errorf("the middle cost is kept as %g, was %g", b, a)
		}
	}
	if _, err := d.KeepScouting(t.Context(), stranger, ask, "", nil); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger keeps: %v", err)
	}
	empty, _ := newDesk(t)
	if _, err := empty.KeepScouting(t.Context(), me, ask, "", nil); records.CodeOf(err) != records.NotFound {
		t.Errorf("where no well is: %v", err)
	}
}

func TestKeptForecasts(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	first, second, third := keptAt(t, d, "first"), keptAt(t, d, "second"), keptAt(t, d, "third")
	near := drilled(t, d, 60, "2026-03-05")
	list := func(from, most int) []string {
		t.Helper()
		page, total, err := d.KeptForecasts(t.Context(), me, from, most)
		if err != nil || total != 3 {
			t.Fatalf("%d in all, %v", total, err)
		}
		var out []string
		for _, k := range page {
			t := k.Label
			switch {
			case k.Score != nil:
				t += " scored"
			case k.Lost:
				t += " lost"
			case len(k.Proposals) > 0:
				t += " asks"
			}
			out = append(out, t)
		}
		return out
	}
	is := func(what string, got []string, want ...string) {
		t.Helper()
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", what, diff)
		}
	}
	is("all", list(0, 10), "third asks", "second asks", "first asks")
	is("a stretch", list(1, 1), "second asks")
	is("beyond", list(5, 10))
	if err := d.RefuseOutcome(t.Context(), me, third.ID, 0, near.UID, "next door"); err != nil {
		t.Fatal(err)
	}
	if err := d.LinkForecast(t.Context(), me, second.ID, 0, near.UID, true, ""); err != nil {
		t.Fatal(err)
	}
	is("decided", list(0, 10), "first asks", "third", "second scored")
	if err := d.WithdrawForecast(t.Context(), me, second.ID, 1, true, ""); err != nil {
		t.Fatal(err)
	}
	is("withdrawn", list(0, 10), "first asks", "third", "second scored")
	if err := d.WithdrawForecast(t.Context(), me, first.ID, 0, true, ""); err != nil {
		t.Fatal(err)
	}
	is("what was withdrawn is not asked about", list(0, 10), "third", "second scored", "first")
	// Refusing a well that is linked takes the link away; linking one that was
	// refused takes it back among those that may be it.
	if err := d.RefuseOutcome(t.Context(), me, second.ID, 2, near.UID, ""); err != nil {
		t.Fatal(err)
	}
	if err := d.LinkForecast(t.Context(), me, third.ID, 1, near.UID, false, ""); err != nil {
		t.Fatal(err)
	}
	k, decisions, err := d.KeptForecast(t.Context(), me, second.ID)
	if err != nil || k.Decision.WellUID != "" || len(decisions) != 3 || len(k.Decision.Refused) != 1 {
		t.Errorf("refused (%v): %+v", err, k.Decision)
	}
	k, _, err = d.KeptForecast(t.Context(), me, third.ID)
	if err != nil || k.Score == nil || k.Decision.Refused != nil {
		t.Errorf("linked after all (%v): %+v", err, k.Decision)
	}
	if err := d.Remove(t.Context(), me, near.ID, near.Revision, ""); err != nil {
		t.Fatal(err)
	}
	is("the well is gone", list(0, 1), "third lost")
	if err := d.RefuseOutcome(t.Context(), me, third.ID, 2, "", ""); records.CodeOf(err) != records.Invalid {
		t.Errorf("refusing no well: %v", err)
	}
	if _, _, err := d.KeptForecast(t.Context(), me, 99); records.CodeOf(err) != records.NotFound {
		t.Errorf("one that is not there: %v", err)
	}
}

// Three forecasts, worked by hand: two held, one missed, and a bound that
// cannot tell. Skill: own errors 1, 2, 3, 2 of area errors 2, 4, 4, 6: 1 − 8/16
// = 0.5. Its standard error: residuals of own − 0.5 area are 0, 0, 1, −1, so
// √(2/3/4) / 4 = 0.102.
func TestOwnScores(t *testing.T) {
	dist, err := predict.NewDistribution([]predict.Sample{{Value: 10, Weight: 1}, {Value: 20, Weight: 1}})
	if err != nil {
		t.Fatal(err)
	}
	score := func(h desk.Held, own, area float64) *desk.ForecastScore {
		return &desk.ForecastScore{Scores: []desk.QuantityScore{{Name: "yield", Unit: "L/s", Expected: dist, Found: records.DigestValue{Value: 12, Qualifier: records.Exact}, Held: h, CRPS: own, AreaCRPS: area}}}
	}
	cost := &desk.ForecastScore{Scores: []desk.QuantityScore{{Name: records.CostQuantity, Unit: "USD", Expected: dist, Found: records.DigestValue{Value: 30, Qualifier: records.Exact}, Held: desk.Out, CRPS: 5, AreaCRPS: math.NaN()}}}
	own := desk.OwnScores([]*desk.ForecastScore{score(desk.In, 1, 2), cost, score(desk.In, 2, 4), score(desk.Out, 3, 4), score(desk.CannotTell, 2, 6)})
	if len(own) != 2 || own[0].Name != "yield" || own[1].Name != records.CostQuantity {
		t.Fatalf("%+v", own)
	}
	y := own[0]
	if y.Scored != 4 || y.In != 2 || y.Out != 1 || y.CannotTell != 1 || len(y.Judged) != 4 {
		t.Errorf("counted %+v", y)
	}
	for what, v := range map[string][2]float64{
		"share": {y.Share, 2.0 / 3}, "its error": {y.ShareSE, math.Sqrt(2.0 / 9 / 3)}, "CRPS": {y.CRPS, 2}, "area's": {y.AreaCRPS, 4},
		"skill": {y.Skill, 0.5}, "skill's error": {y.SkillSE, math.Sqrt(2.0/3/4) / 4},
	} {
		if math.Abs(v[0]-v[1]) > 1e-12 {
			t.Errorf("%s: %g, want %g", what, v[0], v[1])
		}
	}
	if c := own[1]; c.Out != 1 || !math.IsNaN(c.Skill) || !math.IsNaN(c.AreaCRPS) {
		t.Errorf("cost, of which the area says nothing: %+v", c)
	}
}

func TestWellsNumbered(t *testing.T) {
	d, _ := newDesk(t)
	w := plain(t, d, func(w *records.Well) { w.Number = "AB 12" })
	plain(t, d, func(w *records.Well) { w.Number = "AB 123" })
	for text, n := range map[string]int{"AB 12": 1, " ab 12 ": 1, "AB 1": 0, "": 0, "x": 0} {
		wells, err := d.WellsNumbered(t.Context(), me, text)
		if err != nil || len(wells) != n {
			t.Errorf("%q: %d wells, %v", text, len(wells), err)
		}
	}
	if name, err := d.WellName(t.Context(), me, w.UID); err != nil || name != "AB 12" {
		t.Errorf("named %q, %v", name, err)
	}
	numbers, err := d.KnownNumbers(t.Context(), me, []int64{999, w.ID})
	if diff := cmp.Diff([]string{"", "AB 12"}, numbers); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
}
