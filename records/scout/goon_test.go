package scout_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/scout"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

// tenHoles: by hand, at 100 ft with 1 gal/min of 3. Two gain what is lacking
// at 120 and 140 ft, one by two steps at 150 and 250 ft, one stops at 130 ft,
// six go to 200 ft without more.
func tenHoles() []scout.Neighbour {
	holes := []scout.Neighbour{
		hole(1, 40, 130, [2]float64{80, 1}, [2]float64{120, 2}),
		hole(2, 40, 150, [2]float64{80, 1}, [2]float64{140, 2}),
		hole(3, 40, 130, [2]float64{80, 1}),
		hole(4, 40, 400, [2]float64{80, 1}, [2]float64{150, 1}, [2]float64{250, 1}),
	}
	for i := range 6 {
		holes = append(holes, hole(int64(5+i), 40, 200, [2]float64{80, 1}))
	}
	return holes
}

func bit() scout.Bit {
	return scout.Bit{Depth: feet(100), Yield: gallons(1), Need: gallons(3), Bore: 6 * 25.4}
}

func TestGoOnByHand(t *testing.T) {
	r := scout.InventedRates()
	p := scout.GoOn(tenHoles(), bit(), []records.Length{20 * ft, 50 * ft, 100 * ft, 200 * ft}, gallons(2), &r)
	if p.AtRisk != 10 || p.Unread != 0 || p.Spread != 0 {
		t.Errorf("at risk %d, unread %d, spread %d", p.AtRisk, p.Unread, p.Spread)
	}
	near(t, "effective", p.Effective, 10, 1e-12)
	second := 1 - 9./10*7./8 // ten at risk at 120 ft, eight at 140 ft
	for i, want := range []float64{0.1, second, second, 1} {
		near(t, "chance", p.Ahead[i].Reach.Value, want, 1e-12)
		near(t, "low", p.Ahead[i].Reach.Low, want, 1e-12)
		near(t, "high", p.Ahead[i].Reach.High, want, 1e-12)
	}
	a := p.Ahead[2]
	near(t, "gain, gpm", float64(a.Gain)/gpm, 2./10+2./8+1./7, 1e-9)
	near(t, "known", a.KnownEffective, 9, 1e-12) // all but the one that stopped at 130 ft
	near(t, "strike of 2", a.Strike.Value, second, 1e-12)
	if !a.Tells {
		t.Errorf("cannot tell: %s", a.Why)
	}
	if last := p.Ahead[3]; last.Tells || last.Why == "" {
		t.Errorf("told of 200 ft by %g holes", last.KnownEffective)
	}
	if !a.CostSet || a.Cost != 100*1000 {
		t.Errorf("cost of 100 ft in rock %d cents, want 100 000", a.Cost)
	}
	if a := scout.GoOn(tenHoles(), scout.Bit{Depth: feet(250), Need: 1}, []records.Length{100 * ft}, 0, &r).Ahead[0]; a.Cost != 50*1000+50*1200 {
		t.Errorf("cost over a step %d cents", a.Cost)
	}
	// 1.4688 gal a foot of six-inch hole (trade handbooks; computed)
	near(t, "holds, gal", records.Gallon.FromBase(float64(a.Holds)), 146.88, 0.005)
}

// TestEnoughForItselfIsNotDry: a hole that had enough before it gave what is
// lacking here leaves as watched so far.
func TestEnoughForItselfIsNotDry(t *testing.T) {
	holes := tenHoles()
	holes[4] = hole(5, 40, 112, [2]float64{80, 2.5}, [2]float64{110, 1}) // 3.5 in all; gave 1 of the 2 lacking
	p := scout.GoOn(holes, bit(), []records.Length{100 * ft}, 0, nil)
	near(t, "chance", p.Ahead[0].Reach.Value, 1-8./9*6./7, 1e-12)
	if p.AtRisk != 10 {
		t.Errorf("at risk %d", p.AtRisk)
	}
	holes[4] = hole(5, 40, 112, [2]float64{80, 3}) // enough before this depth
	if p = scout.GoOn(holes, bit(), []records.Length{100 * ft}, 0, nil); p.AtRisk != 9 {
		t.Errorf("at risk %d, want 9: one had enough above", p.AtRisk)
	}
}

func TestGoOnCannotTell(t *testing.T) {
	ahead := []records.Length{50 * ft}
	for _, c := range []struct {
		name  string
		holes []scout.Neighbour
		tells bool
	}{
		{"ten holes", tenHoles(), true},
		{"seven holes", tenHoles()[3:], false},
		{"none", nil, false},
		{"one that weighs as much as all", func() []scout.Neighbour {
			h := tenHoles()
			h[9].Weight = 9
			return h
		}(), false},
		{"all shallower", []scout.Neighbour{hole(1, 40, 90), hole(2, 40, 95)}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := scout.GoOn(c.holes, bit(), ahead, 0, nil)
			if a := p.Ahead[0]; a.Tells != c.tells || !c.tells && a.Why == "" {
				t.Errorf("tells %v (%g, %g effective): %s", a.Tells, p.Effective, a.KnownEffective, a.Why)
			}
		})
	}
	b := bit()
	b.Yield = b.Need
	if p := scout.GoOn(tenHoles(), b, ahead, 0, nil); !p.Met || p.Ahead[0].Reach.Value != 1 {
		t.Error("the need is met, and it is not said")
	}
}

// TestWaterInAStretch: forty equal holes whose 4 gal/min came somewhere in
// 60 to 260 ft, at a bit at 100 ft that gives nothing yet. By hand: points are
// 85, 135, 185 and 235 ft, flows of a first strike 0.5, 1.5, 2.5 and 3.5.
func TestWaterInAStretch(t *testing.T) {
	for _, c := range []struct {
		stopped string
		want    [3]float64 // within 50, 100 and 160 ft
	}{
		// one strike: at 85 ft there was enough above, and three ways are left
		{"depth", [3]float64{1. / 3, 2. / 3, 1}},
		// two strikes, sixteen ways: one had enough at 85 ft. Of fifteen one
		// has it at 135, one at 185 and one at 235 ft; of twelve left at 260 ft
		// two gave less than 3 below 100 ft.
		{"enough_water", [3]float64{1. / 15, 2. / 15, 1 - 12./15*2/12}},
	} {
		var holes []scout.Neighbour
		for i := range 40 {
			n := hole(int64(i+1), 50, 260)
			n.Yield, n.StopReason = records.Of(gallons(4)), c.stopped
			holes = append(holes, n)
		}
		b := bit()
		b.Yield = 0
		p := scout.GoOn(holes, b, []records.Length{50 * ft, 100 * ft, 160 * ft}, 0, nil)
		if p.Spread != 40 || p.AtRisk != 40 {
			t.Errorf("spread %d, at risk %d", p.Spread, p.AtRisk)
		}
		near(t, "effective", p.Effective, 40, 1e-9)
		for i, want := range c.want {
			near(t, "chance, stopped for "+c.stopped, p.Ahead[i].Reach.Value, want, 1e-9)
		}
		near(t, "low: all at the bottom", p.Ahead[1].Reach.Low, 0, 1e-9)
		near(t, "high: all at the bottom", p.Ahead[2].Reach.High, 1, 1e-9)
	}
}

func TestUnknownWaterIsNoEvidence(t *testing.T) {
	n := hole(50, 50, 260)
	n.Yield = records.Amount[records.Flow]{}
	if p := scout.GoOn([]scout.Neighbour{n}, bit(), nil, 0, nil); p.Unread != 1 || p.AtRisk != 0 {
		t.Error("a hole whose water nobody wrote is evidence")
	}
}

// TestGoOnProperties: a longer stretch never has a smaller chance, limits hold
// the chance between them, doubling all weights changes nothing, and a hole of
// weight zero is as good as absent.
func TestGoOnProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		holes := drawHoles(rt)
		b := bit()
		b.Depth = feet(rapid.Float64Range(0, 400).Draw(rt, "depth"))
		ahead := []records.Length{50 * ft, 100 * ft, 200 * ft}
		p := scout.GoOn(holes, b, ahead, 0, nil)
		double := append([]scout.Neighbour(nil), holes...)
		for i := range double {
			double[i].Weight *= 2
		}
		double = append(double, hole(99, 10, 900, [2]float64{850, 9}))
		double[len(double)-1].Weight = 0
		q := scout.GoOn(double, b, ahead, 0, nil)
		last := 0.0
		for i, a := range p.Ahead {
			c := a.Reach
			if c.Value < last-1e-12 || c.Low > c.Value || c.High < c.Value || c.Low < 0 || c.High > 1+1e-12 || a.Gain < 0 || math.IsNaN(float64(a.Gain)) {
				rt.Fatalf("stretch %d: %+v, gain %g", i, c, a.Gain)
			}
			last = c.Value
			if math.Abs(c.Value-q.Ahead[i].Reach.Value) > 1e-9 || math.Abs(p.Effective-q.Effective) > 1e-9 {
				rt.Fatalf("weights doubled: %v, before %v", q.Ahead[i].Reach, c)
			}
		}
	})
}
