package desk_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// site is in the middle of the wells of features(200).
var site = position.LonLat{Lon: -40 + 10*0.012, Lat: 44 + 4.5*0.009}

// keptAt keeps a forecast for the site.
func keptAt(t testing.TB, d *desk.Desk, label string) *records.Forecast {
	t.Helper()
	o, err := d.Scout(t.Context(), me, site, nil)
	if err != nil {
		t.Fatal(err)
	}
	f, err := desk.ForecastOf(o)
	if err != nil {
		t.Fatal(err)
	}
	f.Label, f.Question = label, json.RawMessage(`{"need_gpm":5}`)
	if err := d.KeepForecast(t.Context(), me, f); err != nil {
		t.Fatal(err)
	}
	return f
}

// drilled saves a well at a distance north of the site.
func drilled(t testing.TB, d *desk.Desk, northM float64, completed string) *records.Well {
	t.Helper()
	return plain(t, d, func(w *records.Well) {
		w.Number = "after " + completed
		w.Place.Lon, w.Place.Lat = site.Lon, site.Lat+northM/111_100
		var err error
		if w.Completed, err = records.ParseDate(completed); err != nil {
			t.Fatal(err)
		}
		w.Strata, w.Strikes = nil, nil
		w.Bedrock = records.Of(records.Depth(12.5))
		w.Casing[0].To = records.Of(records.Depth(18))
	})
}

// The whole distribution comes back to the last digit, with the range that the
// estimate gave, and the state of the records that it was made from.
func TestForecastsAreKeptWhole(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	made := estimateAt(t, d, site, snapshot.Bedrock)
	f := keptAt(t, d, "upper pasture")
	if f.KeptBy != me.Name || !f.KeptAt.Equal(noon) || f.DataCommit != made.Model.Commit || len(f.Expected) != 3 {
		t.Errorf("kept as %+v", f)
	}
	drilled(t, d, 50, "2026-03-05") // the picture moves on, the forecast does not
	got, err := d.Forecast(t.Context(), me, f.ID)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(f, got); diff != "" {
		t.Errorf("as kept and read:\n%s", diff)
	}
	q, ok := got.Quantity("depth_to_bedrock")
	if !ok || q.Unit != "m" || q.Verdict != made.Skill.Verdict.String() || q.Basis.Wells != 200 || q.Basis.Voters != made.Basis.Voters {
		t.Fatalf("depth to bedrock: %+v", q)
	}
	var back predict.Distribution
	if err := json.Unmarshal(q.Distribution, &back); err != nil {
		t.Fatal(err)
	}
	for p := 0.01; p < 1; p += 0.01 {
		if a, b := back.Quantile(p), made.Best().Quantile(p); a != b {
			t.Fatalf("quantile %.2f is %v, was %v", p, a, b)
		}
	}
	if back.Range80() != made.Best().Range80() {
		t.Errorf("the range is %v, was %v", back.Range80(), made.Best().Range80())
	}
	for what, change := range map[string]func(f *records.Forecast){
		"kept twice": func(*records.Forecast) {},
		"no distribution": func(f *records.Forecast) {
			f.ID, f.UID, f.Expected[0].Distribution = 0, "", json.RawMessage(`{"values":[2,1]}`)
		},
		"an empty one":            func(f *records.Forecast) { f.ID, f.UID, f.Expected[0].Distribution = 0, "", json.RawMessage(`{}`) },
		"an area that is none":    func(f *records.Forecast) { f.ID, f.UID, f.Expected[0].Area = 0, "", json.RawMessage(`[]`) },
		"nothing expected at all": func(f *records.Forecast) { f.ID, f.UID, f.Expected = 0, "", nil },
	} {
		g := *f
		g.Expected = append([]records.ForecastQuantity(nil), f.Expected...)
		change(&g)
		if err := d.KeepForecast(t.Context(), me, &g); err == nil {
			t.Errorf("%s: is kept", what)
		}
	}
}

func TestOutcomesAreProposedLinkedAndScored(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(200))
	f, other := keptAt(t, d, "first"), keptAt(t, d, "second")
	drilled(t, d, 20, "2026-03-03") // the day before
	drilled(t, d, 20, "2025")       // the year before
	far := drilled(t, d, 150, "2026-03-05")
	near := drilled(t, d, 90, "2026-03-05")
	sameDay := drilled(t, d, 60, "2026-03-04")
	thisYear := drilled(t, d, 30, "2026")

	proposals := func() []desk.Proposal {
		t.Helper()
		all, err := d.ProposeOutcomes(t.Context(), me)
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	check := func(got []desk.Proposal, forecast int64, want ...*records.Well) {
		t.Helper()
		var ids []int64
		for _, p := range got {
			if p.Forecast.ID == forecast {
				ids = append(ids, p.WellID)
				if p.Certain != (p.WellID == near.ID || p.WellID == far.ID) {
					t.Errorf("well %s: certain is %v", p.Number, p.Certain)
				}
			}
		}
		var wanted []int64
		for _, w := range want {
			wanted = append(wanted, w.ID)
		}
		if diff := cmp.Diff(wanted, ids); diff != "" {
			t.Errorf("proposed for forecast %d:\n%s", forecast, diff)
		}
	}
	all := proposals()
	check(all, f.ID, thisYear, sameDay, near)
	check(all, other.ID, thisYear, sameDay, near)
	if p := all[2]; math.Abs(p.DistanceM-90) > 0.5 || p.WellUID != near.UID {
		t.Errorf("the third: %+v", p)
	}

	if err := d.LinkForecast(t.Context(), me, f.ID, 0, near.UID, true, "the only one"); err != nil {
		t.Fatal(err)
	}
	if err := d.WithdrawForecast(t.Context(), me, other.ID, 0, true, "kept twice"); err != nil {
		t.Fatal(err)
	}
	if all := proposals(); len(all) != 0 {
		t.Errorf("still proposed: %+v", all)
	}
	s, err := d.ScoreForecast(t.Context(), me, f.ID)
	if err != nil {
		t.Fatal(err)
	}
	if s.Well.ID != near.ID || math.Abs(s.DistanceM-90) > 0.5 || len(s.Scores) != 3 {
		t.Fatalf("scored against well %d, %.1f m away, %d quantities", s.Well.ID, s.DistanceM, len(s.Scores))
	}
	bedrock := s.Scores[0]
	q, _ := f.Quantity("depth_to_bedrock")
	var expected, area predict.Distribution
	if err := json.Unmarshal(q.Distribution, &expected); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(q.Area, &area); err != nil {
		t.Fatal(err)
	}
	if bedrock.Found.Value != 12.5 || bedrock.CRPS != expected.CRPS(12.5) || bedrock.AreaCRPS != area.CRPS(12.5) || bedrock.RankLow != expected.CDF(12.5) || bedrock.RankHigh != bedrock.RankLow ||
		bedrock.Range != expected.Range80() || (bedrock.Held == desk.In) != bedrock.Range.Contains(12.5) {
		t.Errorf("bedrock: %+v", bedrock)
	}
	if !(bedrock.CRPS < bedrock.AreaCRPS) { // the neighbours all say about 13 m, the area 3 to 22
		t.Errorf("CRPS %v against the area's %v", bedrock.CRPS, bedrock.AreaCRPS)
	}
	card, err := d.Scorecard(t.Context(), me)
	if err != nil || len(card) != 1 || card[0].Forecast.ID != f.ID {
		t.Errorf("the scorecard (%v) has %d forecasts", err, len(card))
	}

	// By hand to another one, undone, and undone to the beginning.
	if err := d.LinkForecast(t.Context(), me, f.ID, 0, far.UID, false, ""); records.CodeOf(err) != records.Conflict {
		t.Errorf("a stale decision: %v", err)
	}
	if err := d.LinkForecast(t.Context(), me, f.ID, 1, far.UID, false, "the owner says so"); err != nil {
		t.Fatal(err)
	}
	if err := d.UndoForecastDecision(t.Context(), me, f.ID, 1, 2); err != nil {
		t.Fatal(err)
	}
	now, err := d.Forecast(t.Context(), me, f.ID)
	if err != nil || now.Decision.WellUID != near.UID || now.Decision.How != records.LinkProposed || now.Decision.Revision != 3 || now.Decision.By != me.Name {
		t.Errorf("undone (%v): %+v", err, now.Decision)
	}
	if err := d.UndoForecastDecision(t.Context(), me, f.ID, 9, 3); records.CodeOf(err) != records.NotFound {
		t.Errorf("back to a decision that never was: %v", err)
	}
	if err := d.UndoForecastDecision(t.Context(), me, f.ID, 0, 3); err != nil {
		t.Fatal(err)
	}
	if _, err := d.ScoreForecast(t.Context(), me, f.ID); records.CodeOf(err) != records.NotFound {
		t.Errorf("scored without an outcome: %v", err)
	}
	check(proposals(), f.ID, thisYear, sameDay, near)
	decisions, err := d.ForecastDecisions(t.Context(), me, f.ID)
	if err != nil || len(decisions) != 4 || decisions[3].Why != "the only one" || decisions[2].How != records.LinkedByHand {
		t.Errorf("decisions (%v): %+v", err, decisions)
	}

	// The office may look farther.
	if err := d.SaveSetting(t.Context(), me, &records.SettingValue{Name: desk.SettingOutcomeM, Value: "200"}, ""); err != nil {
		t.Fatal(err)
	}
	check(proposals(), f.ID, thisYear, sameDay, near, far)

	// An outcome that is taken out is in no score, and back in it with its name.
	if err := d.LinkForecast(t.Context(), me, f.ID, 4, near.UID, false, ""); err != nil {
		t.Fatal(err)
	}
	if err := d.Remove(t.Context(), me, near.ID, near.Revision, ""); err != nil {
		t.Fatal(err)
	}
	if card, err := d.Scorecard(t.Context(), me); err != nil || len(card) != 0 {
		t.Errorf("without its well (%v): %d scored", err, len(card))
	}
	if err := d.Restore(t.Context(), me, near.ID, near.Revision, 0); err != nil {
		t.Fatal(err)
	}
	if card, err := d.Scorecard(t.Context(), me); err != nil || len(card) != 1 {
		t.Errorf("with its well again (%v): %d scored", err, len(card))
	}
}

// quantity is a kept quantity of equally likely values.
func quantity(t testing.TB, values ...float64) *records.ForecastQuantity {
	t.Helper()
	var samples []predict.Sample
	for _, v := range values {
		samples = append(samples, predict.Sample{Value: v, Weight: 1})
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		t.Fatal(err)
	}
	q, err := desk.Expect("yield", "L/s", &d, nil)
	if err != nil {
		t.Fatal(err)
	}
	return &q
}

// Worked by hand from the definition of the score, E|X - y| - E|X - X'| / 2
// (Gneiting and Raftery, JASA 102, 2007, from memory): for {10, 20} and 12,
// (2 + 8) / 2 - (10 / 2) / 2 = 2.5. For a bound, the integral of (F - 1{y <=
// t})^2 over what is known: 'more than 15' is known up to 15, where F is 0.5
// from 10 on, so 5 x 0.25 = 1.25; 'less than 12' from 12 on, where F is 0.5
// up to 20, so 8 x 0.25 = 2.
func TestScoreQuantityByHand(t *testing.T) {
	q := quantity(t, 10, 20)
	for name, c := range map[string]struct {
		found     records.DigestValue
		crps      float64
		low, high float64
	}{
		"a number":  {records.DigestValue{Value: 12, Qualifier: records.Exact}, 2.5, 0.35, 0.35},
		"about":     {records.DigestValue{Value: 12, Qualifier: records.About}, 2.5, 0.35, 0.35},
		"more than": {records.DigestValue{Value: 15, Qualifier: records.GreaterThan}, 1.25, 0.5, 1},
		"less than": {records.DigestValue{Value: 12, Qualifier: records.LessThan}, 2, 0, 0.35},
		"between":   {records.DigestValue{Value: 12, High: 15, Qualifier: records.Between}, 2*0.25 + 5*0.25, 0.35, 0.5},
	} {
		s, err := desk.ScoreQuantity(q, c.found)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(s.CRPS-c.crps) > 1e-12 || math.Abs(s.RankLow-c.low) > 1e-12 || math.Abs(s.RankHigh-c.high) > 1e-12 || !math.IsNaN(s.AreaCRPS) {
			t.Errorf("%s: CRPS %v and rank %v to %v, want %v and %v to %v; of the area, which was not kept, %v", name, s.CRPS, s.RankLow, s.RankHigh, c.crps, c.low, c.high, s.AreaCRPS)
		}
	}
}

// A range of 10 to 20: in where all that the outcome allows lies within, out
// where none of it does.
func TestWhetherTheRangeHeldTheOutcome(t *testing.T) {
	plain := quantity(t, 10, 10, 10, 20, 20, 20)
	var open predict.Distribution
	if d, err := predict.NewDistribution([]predict.Sample{{Value: 10, Weight: 2}, {Value: 15, Bound: predict.GreaterThan, Weight: 3}}); err != nil {
		t.Fatal(err)
	} else {
		open = d
	}
	moreThan, err := desk.Expect("yield", "L/s", &open, nil)
	if err != nil {
		t.Fatal(err)
	}
	dry := quantity(t, 0, 0, 0, 5, 5)
	for name, c := range map[string]struct {
		q     *records.ForecastQuantity
		found records.DigestValue
		want  desk.Held
	}{
		"within":              {plain, records.DigestValue{Value: 12, Qualifier: records.Exact}, desk.In},
		"at its end":          {plain, records.DigestValue{Value: 20, Qualifier: records.Exact}, desk.In},
		"above":               {plain, records.DigestValue{Value: 20.1, Qualifier: records.About}, desk.Out},
		"below":               {plain, records.DigestValue{Value: 0, Qualifier: records.Exact}, desk.Out},
		"more than its end":   {plain, records.DigestValue{Value: 20, Qualifier: records.GreaterThan}, desk.Out},
		"more than its low":   {plain, records.DigestValue{Value: 5, Qualifier: records.GreaterThan}, desk.CannotTell},
		"less than its low":   {plain, records.DigestValue{Value: 10, Qualifier: records.LessThan}, desk.Out},
		"less than its high":  {plain, records.DigestValue{Value: 15, Qualifier: records.LessThan}, desk.CannotTell},
		"between, within":     {plain, records.DigestValue{Value: 12, High: 14, Qualifier: records.Between}, desk.In},
		"between, across":     {plain, records.DigestValue{Value: 12, High: 24, Qualifier: records.Between}, desk.CannotTell},
		"between, above":      {plain, records.DigestValue{Value: 22, High: 24, Qualifier: records.Between}, desk.Out},
		"between, below":      {plain, records.DigestValue{Value: 1, High: 2, Qualifier: records.Between}, desk.Out},
		"above 'more than'":   {&moreThan, records.DigestValue{Value: 99, Qualifier: records.Exact}, desk.In},
		"more than, and open": {&moreThan, records.DigestValue{Value: 16, Qualifier: records.GreaterThan}, desk.In},
		"dry, as may be":      {dry, records.DigestValue{Value: 0, Qualifier: records.Exact}, desk.In},
		"next to nothing":     {dry, records.DigestValue{Value: 0.03, Qualifier: records.LessThan}, desk.In},
	} {
		s, err := desk.ScoreQuantity(c.q, c.found)
		if err != nil {
			t.Fatal(err)
		}
		if s.Held != c.want {
			t.Errorf("%s: %v, want %v (range %+v)", name, s.Held, c.want, s.Range)
		}
	}
	for _, h := range []desk.Held{desk.CannotTell, desk.In, desk.Out, 99} {
		if h.String() == "" {
			t.Errorf("%d has no words", h)
		}
	}
}
