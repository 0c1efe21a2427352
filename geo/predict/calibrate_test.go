package predict_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

func calibrate(t testing.TB, rows []predict.Observation, o predict.CalibrationOptions) (*predict.Model, predict.Report) {
	t.Helper()
	m, r, err := predict.Calibrate(context.Background(), observe(t, rows), o)
	if err != nil {
		t.Fatal(err)
	}
	return m, r
}

// against is how a model does on wells that it has never seen in any way: the
// coverage of its range, and mean scores of its estimate and of its area.
func against(t testing.TB, m *predict.Model, rows []predict.Observation) (covered, crps, area float64) {
	t.Helper()
	for _, o := range rows {
		e, err := m.At(predict.Site{At: o.At, Category: o.Category, Year: o.Year}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		if e.FromNeighbours.Range80().Contains(o.Value) {
			covered += 1 / float64(len(rows))
		}
		crps += e.FromNeighbours.CRPS(o.Value) / float64(len(rows))
		area += e.Area.CRPS(o.Value) / float64(len(rows))
	}
	return covered, crps, area
}

// TestPromisesAreKept calibrates on one draw of wells from a known country and
// holds the promise against another draw from it: the range holds 80 +- 2 % of
// outcomes, and where there is structure the neighbours beat the area. 4,000 new
// wells give a standard error of 0.6 %, and their neighbours are the same ones.
func TestPromisesAreKept(t *testing.T) {
	if testing.Short() {
		t.Skip("takes minutes under the race detector; the judges' run does it")
	}
	for _, c := range []struct {
		name    string
		country country
		gain    float64 // least share by which the neighbours beat the area
	}{
		{"structure", country{n: 6000, seed: 21, signal: 1, noise: 0.3}, 0.10},
		{"structure, clumped wells", country{n: 6000, seed: 22, signal: 1, noise: 0.3, clumps: true}, 0.05},
		{"weak structure", country{n: 6000, seed: 23, signal: 0.5, noise: 0.6}, 0},
		{"noise", country{n: 6000, seed: 24, signal: 0, noise: 0.8}, -0.02},
		{"two rocks", country{n: 6000, seed: 25, signal: 0.4, noise: 0.3, categories: 1.5}, 0.05},
		{"holes that stopped early", country{n: 6000, seed: 26, signal: 1, noise: 0.3, greater: 0.3}, 0.05},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, r := calibrate(t, generate(c.country), predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 3}})
			next := c.country
			next.n, next.draw, next.greater = 4000, 1, 0
			covered, crps, area := against(t, m, generate(next))
			p := r.Params
			t.Logf("kappa %g gamma %g, ranks %.3f %.3f, promised %.1f%% (raw %.1f%%), kept %.1f%%; CRPS %.3f, area %.3f, skill %.3f foretold %.3f",
				p.Kappa, p.Gamma, r.RankLow, r.RankHigh, 100*r.Adjusted.Share, 100*r.Raw.Share, 100*covered, crps, area, 1-crps/area, r.Skill)
			if math.Abs(covered-0.8) > 0.02 {
				t.Errorf("range held %.1f %% of new outcomes, want 80 +- 2", 100*covered)
			}
			if math.Abs(r.Adjusted.Share-0.8) > 0.03 {
				t.Errorf("reported coverage %.1f %%, want 80 +- 3", 100*r.Adjusted.Share)
			}
			if crps > area*(1-c.gain) {
				t.Errorf("CRPS %.4f, area %.4f: want at least %g %% better", crps, area, 100*c.gain)
			}
			if c.country.greater == 0 && math.Abs(1-crps/area-r.Skill) > 0.03 {
				t.Errorf("foretold skill %.3f, new wells gave %.3f", r.Skill, 1-crps/area)
			}
		})
	}
}

// TestVerdicts: on pure noise the answer is 'no more than the area' nearly
// everywhere and 'they tell' nearly nowhere (1.3 standard errors are a tenth);
// on clear structure the reverse.
func TestVerdicts(t *testing.T) {
	count := func(c country) (share [3]float64) {
		m, _ := calibrate(t, generate(c), predict.CalibrationOptions{})
		sites := scatter(400, 5)
		for _, s := range sites {
			e, err := m.At(predict.Site{At: s}, predict.LeaveOut{})
			if err != nil {
				t.Fatal(err)
			}
			share[e.Skill.Verdict] += 1 / float64(len(sites))
			want := &e.FromNeighbours
			if e.Skill.Verdict == predict.NoMoreThanArea {
				want = &e.Area
			}
			if e.Best() != want {
				t.Fatal("Best does not follow the verdict")
			}
		}
		return share
	}
	noise := count(country{n: 4000, seed: 31, signal: 0, noise: 0.8})
	clear := count(country{n: 4000, seed: 32, signal: 1, noise: 0.2})
	t.Logf("noise %.2f, clear structure %.2f (cannot say, they tell, no more than the area)", noise, clear)
	if noise[predict.TheyTell] > 0.02 || noise[predict.NoMoreThanArea] < 0.9 {
		t.Errorf("on noise: %.2f say 'they tell', %.2f 'no more than the area'", noise[predict.TheyTell], noise[predict.NoMoreThanArea])
	}
	if clear[predict.NoMoreThanArea] > 0.02 || clear[predict.TheyTell] < 0.6 {
		t.Errorf("on structure: %.2f say 'they tell', %.2f 'no more than the area'", clear[predict.TheyTell], clear[predict.NoMoreThanArea])
	}
}

// TestNothingDependsOnOrder: rows in another order give the same numbers to the
// last bit, whatever the number of workers.
func TestNothingDependsOnOrder(t *testing.T) {
	rows := generate(country{n: 1500, seed: 41, signal: 1, noise: 0.3, clumps: true, greater: 0.1, less: 0.05, categories: 0.5, dated: true})
	for i := 0; i < len(rows); i += 7 { // some share a position
		rows[i].At, rows[i].XM, rows[i].YM = rows[i/2].At, rows[i/2].XM, rows[i/2].YM
	}
	turned := append([]predict.Observation(nil), rows...)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
	o := predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 9, TestWells: 500, Workers: 1}}
	m1, r1 := calibrate(t, rows, o)
	o.Workers = 5
	m2, r2 := calibrate(t, turned, o)
	if d := cmp.Diff(r1, r2, cmpopts.EquateNaNs()); d != "" {
		t.Errorf("report depends on order (-first +turned):\n%s", d)
	}
	for _, s := range scatter(50, 6) {
		site := predict.Site{At: s, Category: 1}
		e1, err1 := m1.At(site, predict.LeaveOut{})
		e2, err2 := m2.At(site, predict.LeaveOut{})
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if d := cmp.Diff(e1.FromNeighbours.Dots(20), e2.FromNeighbours.Dots(20)); d != "" {
			t.Fatalf("estimate depends on order:\n%s", d)
		}
		if e1.Skill != e2.Skill || !cmp.Equal(e1.Basis, e2.Basis, cmpopts.EquateNaNs()) {
			t.Fatalf("basis depends on order: %+v %+v", e1, e2)
		}
		for j := range e1.Neighbours {
			if rows[e1.Neighbours[j].Row].Key != turned[e2.Neighbours[j].Row].Key {
				t.Fatal("neighbours depend on order")
			}
		}
	}
}

// TestNothingDependsOnWhere: the same wells thirty degrees of longitude on give
// the same numbers, but for rounding.
func TestNothingDependsOnWhere(t *testing.T) {
	const by = 30
	rows := generate(country{n: 2000, seed: 42, signal: 1, noise: 0.3, clumps: true})
	away := append([]predict.Observation(nil), rows...)
	projection := position.NewTransverseMercator(countryLon+by, 0.9996, 500000, 0, position.WGS84())
	for i := range away {
		away[i].At.Lon += by
		away[i].XM, away[i].YM = projection.Forward(away[i].At)
	}
	there, err := predict.NewObservations(len(away), func(i int) predict.Observation { return away[i] }, projection, predict.ObservationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	m1, r1 := calibrate(t, rows, predict.CalibrationOptions{})
	m2, r2, err := predict.Calibrate(context.Background(), there, predict.CalibrationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(r1, r2, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-6, 1e-9)); d != "" {
		t.Errorf("report depends on longitude:\n%s", d)
	}
	for _, s := range scatter(50, 6) {
		e1, err1 := m1.At(predict.Site{At: s}, predict.LeaveOut{})
		s.Lon += by
		e2, err2 := m2.At(predict.Site{At: s}, predict.LeaveOut{})
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if d := cmp.Diff(e1.FromNeighbours.Dots(20), e2.FromNeighbours.Dots(20), cmpopts.EquateApprox(1e-6, 1e-9)); d != "" {
			t.Fatalf("estimate depends on longitude:\n%s", d)
		}
	}
}

// TestLikenessIsFound: where two rocks differ by a factor of four and lie mixed,
// calibration must turn to likeness; where they do not differ it must not pay
// for it.
func TestLikenessIsFound(t *testing.T) {
	_, differ := calibrate(t, generate(country{n: 3000, seed: 51, signal: 0.3, noise: 0.3, categories: 1.4}), predict.CalibrationOptions{})
	if differ.Params.Gamma == 1 {
		t.Errorf("gamma stayed 1 where rock matters")
	}
	_, alike := calibrate(t, generate(country{n: 3000, seed: 51, signal: 0.3, noise: 0.3, categories: 1e-9}), predict.CalibrationOptions{})
	if alike.Params.Gamma != 1 {
		t.Errorf("gamma %g where rock does not matter", alike.Params.Gamma)
	}
}

// TestForwardInTime: in ground whose wells run 2 % deeper each year, the range set
// by recent wells holds the next years' outcomes; set without regard to time it
// does not.
func TestForwardInTime(t *testing.T) {
	rows := generate(country{n: 6000, seed: 61, signal: 0.6, noise: 0.25, drift: 0.03})
	var next []predict.Observation
	for _, o := range generate(country{n: 20000, seed: 61, draw: 1, signal: 0.6, noise: 0.25, drift: 0.03}) {
		if o.Year > 2017 && len(next) < 1500 {
			next = append(next, o)
		}
	}
	var old []predict.Observation
	for _, o := range rows {
		if o.Year <= 2017 {
			old = append(old, o)
		}
	}
	undated := append([]predict.Observation(nil), old...)
	for i := range undated {
		undated[i].Year = math.NaN()
	}
	blind, _ := calibrate(t, undated, predict.CalibrationOptions{})
	seeing, r := calibrate(t, old, predict.CalibrationOptions{})
	corrected, rc := calibrate(t, old, predict.CalibrationOptions{CorrectForward: true})
	cb, sb, _ := against(t, blind, next)
	cs, ss, _ := against(t, seeing, next)
	cc, sc, _ := against(t, corrected, next)
	t.Logf("coverage of the next three years: %.1f%% without dates, %.1f%% with (report %+v), %.1f%% corrected (%+v); CRPS %.3f %.3f %.3f",
		100*cb, 100*cs, r.Forward, 100*cc, rc.Params, sb, ss, sc)
	if r.Forward.Tested < 200 {
		t.Errorf("only %d recent wells tested", r.Forward.Tested)
	}
	if math.Abs(cs-0.8) > 0.04 || math.Abs(cs-0.8) > math.Abs(cb-0.8) {
		t.Errorf("coverage %.3f with dates, %.3f without: want nearer to 0.8", cs, cb)
	}
	if sc > ss {
		t.Errorf("correction made it worse: CRPS %.4f after %.4f", sc, ss)
	}
}

// TestFewWells: from none to a few hundred, nothing breaks and nothing is
// promised that was not tested.
func TestFewWells(t *testing.T) {
	for _, n := range []int{1, 2, 7, 8, 19, 20, 33, 60, 120, 500} {
		rows := generate(country{n: n, seed: 71, signal: 0.5, noise: 0.5})
		m, r := calibrate(t, rows, predict.CalibrationOptions{})
		if (n < 20) != (r.Tested == 0) {
			t.Errorf("%d wells: %d tested", n, r.Tested)
		}
		e, err := m.At(predict.At(countryLon, countryLat), predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		if n < 20 && e.Skill.Verdict != predict.CannotSay {
			t.Errorf("%d wells: verdict %v", n, e.Skill.Verdict)
		}
		if e.Basis.Few() != (n < 100) || e.Basis.Wells != n {
			t.Errorf("%d wells: basis %+v", n, e.Basis)
		}
		r80 := e.Best().Range80()
		if !(r80.Low <= e.Best().Median() && e.Best().Median() <= r80.High) {
			t.Errorf("%d wells: median %g outside %+v", n, e.Best().Median(), r80)
		}
	}
	_, _, err := predict.Calibrate(context.Background(), observe(t, nil), predict.CalibrationOptions{})
	if !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("no wells: error %v", err)
	}
}

// TestAllAlike: one value everywhere is foretold exactly, and the area already
// says it.
func TestAllAlike(t *testing.T) {
	rows := generate(country{n: 300, seed: 72, signal: 0.5, noise: 0.5})
	for i := range rows {
		rows[i].Value = 12
	}
	m, r := calibrate(t, rows, predict.CalibrationOptions{})
	e, err := m.At(predict.At(countryLon, countryLat), predict.LeaveOut{})
	if err != nil {
		t.Fatal(err)
	}
	if got := e.Best().Median(); math.Abs(got-12) > 1e-9 || r.CRPS > 1e-9 {
		t.Errorf("median %g, CRPS %g", got, r.CRPS)
	}
	if e.Skill.Verdict != predict.NoMoreThanArea {
		t.Errorf("verdict %v", e.Skill.Verdict)
	}
}

func TestCalibrationStops(t *testing.T) {
	obs := observe(t, generate(country{n: 3000, seed: 73, signal: 1, noise: 0.4}))
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	o := predict.CalibrationOptions{}
	o.Progress = func(done, total int) { cancel() }
	if _, _, err := predict.Calibrate(ctx, obs, o); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want the context's", err)
	}
}
