package predict_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// TestBadRows: an error names the first row that cannot be used.
func TestBadRows(t *testing.T) {
	for name, spoil := range map[string]func(*predict.Observation){
		"NaN value":        func(o *predict.Observation) { o.Value = math.NaN() },
		"negative value":   func(o *predict.Observation) { o.Value = -0.1 },
		"infinite value":   func(o *predict.Observation) { o.Value = math.Inf(1) },
		"NaN longitude":    func(o *predict.Observation) { o.At.Lon = math.NaN() },
		"under zero":       func(o *predict.Observation) { o.Value, o.Bound = 0, predict.LessThan },
		"inverted between": func(o *predict.Observation) { o.Value, o.High, o.Bound = 5, 4, predict.Between },
		"unknown bound":    func(o *predict.Observation) { o.Bound = 200 },
	} {
		rows := generate(country{n: 10, seed: 1, signal: 1, noise: 0.4})
		spoil(&rows[6])
		_, err := predict.NewObservations(len(rows), func(i int) predict.Observation { return rows[i] }, countryProjection(), predict.ObservationOptions{})
		if err == nil || !strings.Contains(err.Error(), "row 6") {
			t.Errorf("%s: error %v, want one that names row 6", name, err)
		}
	}
	rows := generate(country{n: 10, seed: 1, signal: 1, noise: 0.4})
	rows[3].XM = math.Inf(1)
	if _, err := predict.NewObservations(len(rows), func(i int) predict.Observation { return rows[i] }, countryProjection(), predict.ObservationOptions{}); err == nil {
		t.Error("infinite x taken")
	}
	if _, err := predict.NewObservations(0, nil, nil, predict.ObservationOptions{}); err == nil {
		t.Error("no projection taken")
	}
	if _, err := predict.NewObservations(0, nil, countryProjection(), predict.ObservationOptions{Unit: -1}); err == nil {
		t.Error("negative unit taken")
	}
}

func TestBadParams(t *testing.T) {
	obs := observe(t, generate(country{n: 30, seed: 1, signal: 1, noise: 0.4}))
	for name, spoil := range map[string]func(*predict.Params){
		"no voters":      func(p *predict.Params) { p.Near = 0 },
		"NaN kappa":      func(p *predict.Params) { p.Kappa = math.NaN() },
		"gamma zero":     func(p *predict.Params) { p.Gamma = 0 },
		"share over one": func(p *predict.Params) { p.SlopeShare = 1.5 },
	} {
		p := predict.DefaultParams()
		spoil(&p)
		if _, err := predict.NewModel(obs, p); err == nil {
			t.Errorf("%s taken by NewModel", name)
		}
		if _, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{Params: p}); err == nil {
			t.Errorf("%s taken by Calibrate", name)
		}
	}
}

func TestSiteWithoutPlace(t *testing.T) {
	m, err := predict.NewModel(observe(t, generate(country{n: 30, seed: 1, signal: 1, noise: 0.4})), predict.DefaultParams())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.At(predict.At(math.NaN(), 50), predict.LeaveOut{}); err == nil {
		t.Error("estimate at NaN")
	}
	if _, err := m.At(predict.At(countryLon, countryLat), predict.LeaveOut{Skip: func(int32) bool { return true }}); !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("everything left out: error %v", err)
	}
}

// TestSiteIsLeftOut: twins on one spot tell each other's value. Leaving out the
// site must hide them both.
func TestSiteIsLeftOut(t *testing.T) {
	rows := generate(country{n: 400, seed: 2, signal: 0, noise: 0.3})
	for i := range 6 {
		rows[i].At, rows[i].XM, rows[i].YM, rows[i].Value = rows[0].At, rows[0].XM, rows[0].YM, 5000
	}
	m, err := predict.NewModel(observe(t, rows), predict.DefaultParams())
	if err != nil {
		t.Fatal(err)
	}
	site := predict.Site{At: rows[0].At}
	in, err := m.At(site, predict.LeaveOut{})
	if err != nil {
		t.Fatal(err)
	}
	out, err := m.At(site, predict.LeaveOut{WithinM: 1})
	if err != nil {
		t.Fatal(err)
	}
	if got := in.FromNeighbours.Median(); math.Abs(got-5000) > 1 {
		t.Errorf("median with the site %g, want 5000", got)
	}
	if p := out.FromNeighbours.AtLeast(1000); p != 0 {
		t.Errorf("P(>= 1000) with the site left out %g, want 0", p)
	}
	for _, n := range out.Neighbours {
		if n.Value == 5000 || n.DistanceM <= 1 {
			t.Errorf("neighbour %+v of a site that was left out", n)
		}
	}
	// And a well that is skipped by number.
	some, err := m.At(site, predict.LeaveOut{Skip: func(i int32) bool { return i < 5 }})
	if err != nil {
		t.Fatal(err)
	}
	if some.Neighbours[0].Row != 5 {
		t.Errorf("nearest is row %d, want 5", some.Neighbours[0].Row)
	}
}

// TestBasis holds what an estimate says it stands on against a count by hand.
func TestBasis(t *testing.T) {
	rows := generate(country{n: 1000, seed: 3, signal: 1, noise: 0.3, greater: 0.2, dated: true, categories: 1})
	m, err := predict.NewModel(observe(t, rows), predict.DefaultParams())
	if err != nil {
		t.Fatal(err)
	}
	site := predict.Site{At: position.LonLat{Lon: countryLon, Lat: countryLat}, Category: 1}
	e, err := m.At(site, predict.LeaveOut{})
	if err != nil {
		t.Fatal(err)
	}
	b := e.Basis
	if b.Voters != 32 || b.AreaWells != 200 || b.Wells != 1000 {
		t.Errorf("basis %+v", b)
	}
	shares := b.AreaShare
	for i, n := range e.Neighbours {
		shares += n.Share
		o := rows[n.Row]
		d, azimuth := position.Distance(site.At, o.At)
		if math.Abs(d-n.DistanceM) > 0.01*d/1000+0.01 {
			t.Errorf("neighbour %d at %.3f m, the geodesic says %.3f", i, n.DistanceM, d)
		}
		if turn := math.Abs(math.Mod(azimuth-n.BearingDeg+540, 360) - 180); turn > 0.1 {
			t.Errorf("neighbour %d bears %.2f, the geodesic says %.2f", i, n.BearingDeg, azimuth)
		}
		if n.Value != o.Value || n.Bound != o.Bound || n.Unlike != (o.Category != 1) {
			t.Errorf("neighbour %d says %+v, row %+v", i, n, o)
		}
		if o.Year < b.FirstYear-1e-3 || o.Year > b.LastYear+1e-3 { // years are kept to a day or so
			t.Errorf("year %g outside %g to %g", o.Year, b.FirstYear, b.LastYear)
		}
		if i > 0 && n.DistanceM < e.Neighbours[i-1].DistanceM {
			t.Error("neighbours are not nearest first")
		}
	}
	if math.Abs(shares-1) > 1e-12 {
		t.Errorf("shares sum to %g", shares)
	}
	if b.NearestM != e.Neighbours[0].DistanceM || b.Far() || b.Few() {
		t.Errorf("basis %+v, nearest %g", b, e.Neighbours[0].DistanceM)
	}
	var sum float64
	bounds := 0
	seen := map[int]bool{}
	for _, o := range e.Outcomes() {
		sum += o.Weight
		if seen[o.Row] {
			t.Errorf("row %d twice among the outcomes", o.Row)
		}
		seen[o.Row] = true
		if rows[o.Row].Bound != predict.Exact {
			bounds++
		}
	}
	if math.Abs(sum-1) > 1e-9 || len(seen) < 200 {
		t.Errorf("%d outcomes weigh %g", len(seen), sum)
	}
	if bounds != b.Bounds || bounds == 0 {
		t.Errorf("%d bounds among the outcomes, basis says %d", bounds, b.Bounds)
	}
}

// TestGridIsAtRepeated: the grid gives what each site gives alone.
func TestGridIsAtRepeated(t *testing.T) {
	m, _ := calibrate(t, generate(country{n: 3000, seed: 4, signal: 1, noise: 0.3, greater: 0.1}), predict.CalibrationOptions{})
	points := scatter(300, 1)
	for i := range 600 { // close together, where a walk is shared
		points = append(points, position.LonLat{Lon: countryLon + 0.003*float64(i%30), Lat: countryLat + 0.002*float64(i/30)})
	}
	points[7].Lon = math.NaN()
	g, err := m.EvaluateGrid(context.Background(), predict.GridRequest{
		Points: points, Quantiles: []float64{0.1, 0.5}, Thresholds: []float64{20}, Workers: 3,
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, at := range points {
		if i == 7 {
			if !math.IsNaN(g.Quantile[1][i]) || !math.IsNaN(g.Low[i]) {
				t.Error("numbers at a point that is none")
			}
			continue
		}
		e, err := m.At(predict.Site{At: at}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		d := e.Best()
		r := d.Range80()
		got := []float64{g.Quantile[0][i], g.Quantile[1][i], g.AtLeast[0][i], g.Low[i], g.High[i], g.Skill[i]}
		high := r.High
		if r.AtLeastHigh {
			high = math.Inf(1)
		}
		for k, want := range []float64{d.Quantile(0.1), d.Median(), d.AtLeast(20), r.Low, high, e.Skill.Skill} {
			if got[k] != want {
				t.Fatalf("point %d, number %d: grid %g, site %g", i, k, got[k], want)
			}
		}
		if g.Verdict[i] != e.Skill.Verdict || math.Abs(g.NearestM[i]-e.Basis.NearestM) > 1e-6 {
			t.Fatalf("point %d: %v %g, site %v %g", i, g.Verdict[i], g.NearestM[i], e.Skill.Verdict, e.Basis.NearestM)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := m.EvaluateGrid(ctx, predict.GridRequest{Points: points}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want the context's", err)
	}
}

// TestMeasuredZerosStay: dry holes around a site stay a share of their own, not
// smeared into small yields by slope or blur.
func TestMeasuredZerosStay(t *testing.T) {
	rows := generate(country{n: 2000, seed: 5, signal: 1, noise: 0.3})
	for i := range rows {
		if i%2 == 0 {
			rows[i].Value = 0
		} else {
			rows[i].Value += 5
		}
	}
	m, err := predict.NewModel(observe(t, rows), predict.DefaultParams())
	if err != nil {
		t.Fatal(err)
	}
	var mean float64
	for _, at := range scatter(50, 2) {
		e, err := m.At(predict.Site{At: at}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		zero := e.FromNeighbours.ZeroShare()
		mean += zero / 50
		var share float64
		for _, o := range e.Outcomes() {
			if rows[o.Row].Value == 0 {
				share += o.Weight
			}
		}
		if math.Abs(zero-share) > 1e-9 {
			t.Errorf("zeros hold %.6f, the dry wells weigh %.6f", zero, share)
		}
	}
	if math.Abs(mean-0.5) > 0.1 {
		t.Errorf("half the holes are dry, zeros hold %.2f", mean)
	}
}

func TestEstimateDoesNotAllocate(t *testing.T) {
	m, _ := calibrate(t, generate(country{n: 2000, seed: 6, signal: 1, noise: 0.3}), predict.CalibrationOptions{})
	p := m.Predictor()
	sites := scatter(20, 3)
	run := func() {
		for _, at := range sites {
			if _, _, err := p.Distribution(predict.Site{At: at}, predict.LeaveOut{}); err != nil {
				t.Fatal(err)
			}
		}
	}
	run()
	if n := testing.AllocsPerRun(5, run); n > 0 {
		t.Errorf("%g allocations for 20 estimates, want none", n)
	}
}
