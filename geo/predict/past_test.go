package predict_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/geo/predict"
)

// datedRows are dated but for a few, with bounds and shared positions.
func datedRows(n int) []predict.Observation {
	rows := generate(country{n: n, seed: 91, signal: 1, noise: 0.3, clumps: true, greater: 0.1, less: 0.05, dated: true})
	for i := range rows {
		switch {
		case i%11 == 0:
			rows[i].Year = math.NaN()
		case i%6 == 0:
			rows[i].At, rows[i].XM, rows[i].YM = rows[i/2].At, rows[i/2].XM, rows[i/2].YM
		}
	}
	return rows
}

func past(t testing.TB, m *predict.Model, o predict.PastOptions) *predict.Past {
	t.Helper()
	p, err := m.Past(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestPastSeesThePastAlone rebuilds, for each forecast, the set of wells of
// earlier years as if no other had ever been, and forecasts from that.
func TestPastSeesThePastAlone(t *testing.T) {
	rows := datedRows(700)
	m, _ := calibrate(t, rows, predict.CalibrationOptions{})
	p := past(t, m, predict.PastOptions{Thresholds: []float64{15}, Workers: 3})
	if p.Candidates != len(p.Forecasts) || len(p.Forecasts)+p.Undated+p.TooEarly != len(rows) || p.TooEarly < 20 || p.Undated != 64 {
		t.Errorf("%d forecast of %d, %d undated, %d too early", len(p.Forecasts), p.Candidates, p.Undated, p.TooEarly)
	}
	last := 0
	for _, f := range p.Forecasts {
		var earlier []predict.Observation
		for _, o := range rows {
			if math.Floor(o.Year) < math.Floor(rows[f.Row].Year) {
				earlier = append(earlier, o)
			}
		}
		then, err := predict.NewModel(observe(t, earlier), m.Params())
		if err != nil {
			t.Fatal(err)
		}
		o := rows[f.Row]
		e, err := then.At(predict.Site{At: o.At, Category: o.Category, Year: o.Year}, predict.LeaveOut{WithinM: 1})
		if err != nil {
			t.Fatal(err)
		}
		d := e.FromNeighbours.WithRanks(f.FromRank, f.ToRank)
		found := predict.Sample{Value: o.Value, High: o.High, Bound: o.Bound}
		if diff := cmp.Diff(d.Judge(found), f.Judgement, cmpopts.EquateApprox(1e-12, 1e-12)); diff != "" {
			t.Fatalf("row %d of %d: (-rebuilt +forecast)\n%s", f.Row, f.Year, diff)
		}
		if f.Earlier != len(earlier) || f.Year != int(o.Year) || f.Year < last || math.Abs(f.NearestM-e.Basis.NearestM) > 1e-9 {
			t.Fatalf("row %d: %+v, rebuilt from %d, nearest %g", f.Row, f, len(earlier), e.Basis.NearestM)
		}
		low, high := d.AtLeastBounds(15)
		if !(low == high && math.Abs(low-f.AtLeast[0]) < 1e-12) && !(low != high && math.IsNaN(f.AtLeast[0])) {
			t.Fatalf("row %d: P(>= 15) %g, rebuilt %g to %g", f.Row, f.AtLeast[0], low, high)
		}
		if math.Abs(e.Area.CRPSOf(found)-f.AreaCRPS) > 1e-12 {
			t.Fatalf("row %d: area's CRPS %g, rebuilt %g", f.Row, f.AreaCRPS, e.Area.CRPSOf(found))
		}
		last = f.Year
	}
}

// TestPastIsSettledByItsSeed: not by the order of rows nor the workers.
func TestPastIsSettledByItsSeed(t *testing.T) {
	rows := datedRows(1200)
	turned := append([]predict.Observation(nil), rows...)
	rand.New(rand.NewPCG(3, 2)).Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
	var got [3]*predict.Past
	for k, c := range []struct {
		rows    []predict.Observation
		workers int
		seed    uint64
	}{{rows, 1, 5}, {turned, 4, 5}, {rows, 1, 6}} {
		m, _ := calibrate(t, c.rows, predict.CalibrationOptions{Holdout: predict.Holdout{TestWells: 300}})
		got[k] = past(t, m, predict.PastOptions{Seed: c.seed, Workers: c.workers, Most: 200})
		if len(got[k].Forecasts) != 200 || got[k].Candidates < 900 {
			t.Fatalf("%d forecasts of %d", len(got[k].Forecasts), got[k].Candidates)
		}
		for j := range got[k].Forecasts {
			got[k].Forecasts[j].Row = int(c.rows[got[k].Forecasts[j].Row].Key % 1000003)
		}
	}
	if diff := cmp.Diff(got[0].Forecasts, got[1].Forecasts, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("order or workers matter:\n%s", diff)
	}
	if cmp.Equal(got[0].Forecasts, got[2].Forecasts, cmpopts.EquateNaNs()) {
		t.Error("another seed drew the same wells")
	}
}

func TestPastRefusesAndStops(t *testing.T) {
	undated, _ := calibrate(t, generate(country{n: 300, seed: 1, signal: 1, noise: 0.3}), predict.CalibrationOptions{})
	if _, err := undated.Past(t.Context(), predict.PastOptions{}); !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("undated wells: %v", err)
	}
	if _, err := undated.PastChoices(t.Context(), predict.PastOptions{}); !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("choices of undated wells: %v", err)
	}
	few, _ := calibrate(t, datedRows(230), predict.CalibrationOptions{})
	if _, err := few.PastChoices(t.Context(), predict.PastOptions{}); !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("choices with under 200 forecasts: %v", err)
	}
	m, _ := calibrate(t, datedRows(600), predict.CalibrationOptions{})
	for _, f := range []func(context.Context, predict.PastOptions) error{
		func(ctx context.Context, o predict.PastOptions) error { _, err := m.Past(ctx, o); return err },
		func(ctx context.Context, o predict.PastOptions) error { _, err := m.PastChoices(ctx, o); return err },
	} {
		ctx, stop := context.WithCancel(t.Context())
		err := f(ctx, predict.PastOptions{Workers: 1, Progress: func(done, total int) { stop() }})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("stopped: %v", err)
		}
		stop()
	}
	none := past(t, m, predict.PastOptions{Without: func(i int32) bool { return i%2 == 0 }})
	for _, f := range none.Forecasts {
		if f.Row%2 == 0 {
			t.Fatalf("row %d was forecast and was not to be", f.Row)
		}
	}
}

// TestPastSums holds the sums against loops over the forecasts.
func TestPastSums(t *testing.T) {
	m, _ := calibrate(t, datedRows(6000), predict.CalibrationOptions{})
	p := past(t, m, predict.PastOptions{Most: 3000})
	all, err := p.Overall()
	if err != nil {
		t.Fatal(err)
	}
	years, err := p.Years()
	if err != nil {
		t.Fatal(err)
	}
	var tested, inside, outside, cannot int
	var crps, area float64
	for k, y := range years {
		if k > 0 && y.Year <= years[k-1].Year {
			t.Errorf("year %d after %d", y.Year, years[k-1].Year)
		}
		tested, inside, outside, cannot = tested+y.Tested, inside+y.Inside, outside+y.Outside, cannot+y.CannotTell
		crps, area = crps+y.CRPS*float64(y.Tested), area+y.AreaCRPS*float64(y.Tested)
		if y.Inside+y.Outside+y.CannotTell != y.Tested {
			t.Errorf("%d: %+v", y.Year, y)
		}
	}
	if tested != all.Tested || inside != all.Inside || outside != all.Outside || cannot != all.CannotTell || all.Tested != len(p.Forecasts) {
		t.Errorf("years hold %d, %d, %d, %d; all %+v", tested, inside, outside, cannot, all)
	}
	if math.Abs(all.Skill-(1-crps/area)) > 1e-9 || all.CannotTell == 0 || all.SkillSE <= 0 {
		t.Errorf("skill %g, from the years %g", all.Skill, 1-crps/area)
	}
	if low, high := float64(inside)/float64(tested), float64(inside+cannot)/float64(tested); all.Coverage.Share < low || all.Coverage.Share > high {
		t.Errorf("coverage %g outside what bounds allow, %g to %g", all.Coverage.Share, low, high)
	}
	t.Logf("the past is held %.1f %%", 100*all.Coverage.Share)
	if math.Abs(all.Coverage.Share-0.8) > 0.03 {
		t.Errorf("in a country that stays as it is the past is held %.1f %%", 100*all.Coverage.Share)
	}
	var sum float64
	bins := p.RankHistogram(10)
	for b, n := range bins {
		sum += n
		if want := float64(len(p.Forecasts)) / 10; math.Abs(n-want) > 0.35*want {
			t.Errorf("ranks from %d/10: %.0f of %.0f: %v", b, n, want, bins)
		}
	}
	if math.Abs(sum-float64(len(p.Forecasts))) > 1e-6 {
		t.Errorf("bins hold %g of %d", sum, len(p.Forecasts))
	}
}

// TestPastChoosesByTheScore: where each year's wells run deeper, ranges set by all
// years lag behind; where nothing changes there is no reason to leave the default.
func TestPastChoosesByTheScore(t *testing.T) {
	for _, c := range []struct {
		name  string
		drift float64
	}{{"a country that stays as it is", 0}, {"wells run 4 % deeper each year", 0.04}} {
		t.Run(c.name, func(t *testing.T) {
			m, _ := calibrate(t, generate(country{n: 6000, seed: 92, signal: 0.6, noise: 0.25, dated: true, drift: c.drift}), predict.CalibrationOptions{})
			var told int
			choices, err := m.PastChoices(t.Context(), predict.PastOptions{Most: 3000, Progress: func(done, total int) {
				if done < told || done > total {
					t.Errorf("progress %d of %d after %d", done, total, told)
				}
				told = done
			}})
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("years %d to %d, %d scored", choices.FirstYear, choices.LastYear, choices.Scored)
			for k, p := range choices.Choices {
				t.Logf("%v %-36v recency %2.0f: held %.1f%%, width %.1f, range score %.2f (%+.2f ± %.2f), CRPS %+.3f ± %.3f", k == choices.Best, p.Ranks, p.RecencyYears, 100*p.Coverage.Share, p.Width, p.RangeScore, p.Change, p.SE, p.CRPSChange, p.CRPSSE)
			}
			got := choices.Choices
			if len(got) != 8 || got[0].Ranks != predict.RanksRecent || got[0].RecencyYears != 0 || got[0].Change != 0 {
				t.Fatalf("choices %+v", got)
			}
			if math.Abs(got[0].Coverage.Share-0.8) > 0.03 {
				t.Errorf("ranges by the last five years held %.3f", got[0].Coverage.Share)
			}
			if c.drift == 0 {
				if choices.Best != 0 && (got[choices.Best].RecencyYears > 0 || got[choices.Best].Change < -0.02*got[0].RangeScore) {
					t.Errorf("without drift, choice %d is chosen: %+v", choices.Best, got[choices.Best])
				}
				return
			}
			if b := got[choices.Best]; b.RecencyYears == 0 || (b.Ranks != predict.RanksRecent && b.Ranks != predict.RanksEarlier) {
				t.Errorf("with drift, %+v is chosen", b)
			}
			if got[predict.RanksHidden].Coverage.Share > got[0].Coverage.Share-0.02 || got[predict.RanksHidden].Change < 0 {
				t.Errorf("with drift, ranges without regard to time are no worse: %+v", got[predict.RanksHidden])
			}
			o := got[choices.Best].Options(predict.CalibrationOptions{})
			if o.Params.RecencyYears != 30 || o.Params.Near != 32 || (o.RecentYears != 0 && !math.IsInf(o.RecentYears, 1)) {
				t.Errorf("options %+v", o)
			}
		})
	}
}

// TestChoiceOptions: Calibrate acts on what a choice says.
func TestChoiceOptions(t *testing.T) {
	rows := generate(country{n: 3000, seed: 93, signal: 0.6, noise: 0.3, dated: true, drift: 0.02})
	for ranks, want := range map[predict.RanksFrom]func(n int) bool{
		predict.RanksRecent:  func(n int) bool { return n > 300 && n < 700 },
		predict.RanksEarlier: func(n int) bool { return n > 2900 },
		predict.RanksHidden:  func(n int) bool { return n == 0 },
	} {
		_, r := calibrate(t, rows, predict.PastChoice{Ranks: ranks}.Options(predict.CalibrationOptions{}))
		if !want(r.Forward.Tested) {
			t.Errorf("%v: %d tested forward", ranks, r.Forward.Tested)
		}
	}
}

// TestRecentYearsReachBack: where five years hold too few wells for the range, as
// many more years are taken as it needs, and no more than fifteen.
func TestRecentYearsReachBack(t *testing.T) {
	for _, c := range []struct {
		n    int // over thirty years
		want func(tested int) bool
	}{
		{3000, func(n int) bool { return n > 400 && n < 600 }}, // five years
		{900, func(n int) bool { return n == 200 }},            // six or seven
		{500, func(n int) bool { return n == 200 }},            // twelve
		{330, func(n int) bool { return n == 0 }},              // eighteen would be needed
	} {
		_, r := calibrate(t, generate(country{n: c.n, seed: 95, signal: 0.6, noise: 0.3, dated: true}), predict.CalibrationOptions{})
		if !c.want(r.Forward.Tested) {
			t.Errorf("%d wells: %d set the range", c.n, r.Forward.Tested)
		}
	}
}
