package spread_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallybook/geo/near"
	"tallybook/geo/predict"
	"tallybook/geo/spread"
)

func exact(vs ...float64) []predict.Sample {
	var out []predict.Sample
	for _, v := range vs {
		out = append(out, predict.Sample{Value: v, Weight: 1})
	}
	return out
}

// Worked by hand: of 1, 2, >2, 4, >5 the product-limit shares beyond are 4/5
// after 1, 4/5 * 3/4 after 2, times 1/2 after 4; three tenths stay unknown,
// more than 5.
func TestSharesWithBounds(t *testing.T) {
	s, err := spread.Of(append(exact(1, 2, 4), predict.Sample{Value: 2, Bound: predict.GreaterThan, Weight: 1}, predict.Sample{Value: 5, Bound: predict.GreaterThan, Weight: 1}))
	if err != nil {
		t.Fatal(err)
	}
	if s.N != 5 || s.Values != 3 || s.Greater != 2 || s.Zeros != 0 {
		t.Errorf("counts %+v", s)
	}
	want := []spread.Step{{1, 0.2}, {2, 0.4}, {4, 0.7}}
	got := s.Steps(100)
	if len(got) != len(want) {
		t.Fatalf("steps %v", got)
	}
	for i := range want {
		if got[i].Value != want[i].Value || math.Abs(got[i].AtMost-want[i].AtMost) > 1e-12 {
			t.Errorf("step %v, want %v", got[i], want[i])
		}
	}
	if share, from := s.Unknown(); math.Abs(share-0.3) > 1e-12 || from != 5 {
		t.Errorf("unknown %g above %g", share, from)
	}
	if q := s.Quantile(0.9); !q.More || q.Value != 5 {
		t.Errorf("the 90 %% quantile is %+v", q)
	}
	if q := s.Quantile(0.1); q.More || math.Abs(q.Value-1) > 1e-12 {
		t.Errorf("the 10 %% quantile is %+v", q)
	}
}

func TestOrderAndRepetitionChangeNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 40 {
		var list []predict.Sample
		for range 5 + r.IntN(60) {
			s := predict.Sample{Value: float64(r.IntN(20)), Weight: 1}
			switch r.IntN(6) {
			case 0:
				s.Bound = predict.GreaterThan
			case 1:
				s.Bound, s.Value = predict.LessThan, s.Value+1
			}
			list = append(list, s)
		}
		turned := slices.Clone(list)
		r.Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
		a, err := spread.Of(list)
		if err != nil {
			t.Fatal(err)
		}
		b, err := spread.Of(turned)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(a.Steps(1000), b.Steps(1000)) {
			t.Fatalf("order matters: %v %v", a.Steps(1000), b.Steps(1000))
		}
		last := 0.0
		for _, st := range a.Steps(1000) {
			if st.AtMost <= last || st.AtMost > 1+1e-12 {
				t.Fatalf("shares do not rise: %v", a.Steps(1000))
			}
			last = st.AtMost
		}
	}
}

func TestStepsThinned(t *testing.T) {
	vs := make([]float64, 5000)
	for i := range vs {
		vs[i] = float64(i + 1)
	}
	s, err := spread.Of(exact(vs...))
	if err != nil {
		t.Fatal(err)
	}
	st := s.Steps(50)
	if len(st) != 50 || st[0].Value != 1 || st[49].Value != 5000 || st[49].AtMost != 1 {
		t.Errorf("%d steps from %v to %v", len(st), st[0], st[len(st)-1])
	}
}

func TestColumns(t *testing.T) {
	list := append(exact(0, 1, 4.9, 5, 14, 30), predict.Sample{Value: 5, Bound: predict.GreaterThan, Weight: 1}, predict.Sample{Value: 10, Bound: predict.LessThan, Weight: 1}, predict.Sample{Value: 7, High: 9, Bound: predict.Between, Weight: 1})
	got := spread.Columns(list, []float64{0, 5, 10, 15})
	want := []spread.Column{{From: 0, To: 5, Values: 2}, {From: 5, To: 10, Values: 1, AtLeast: 1, AtMost: 1, Between: 1}, {From: 10, To: 15, Values: 1}, {From: 15, To: math.Inf(1), Values: 1}}
	if !slices.Equal(got, want) {
		t.Errorf("columns %+v", got)
	}
}

// Whatever the values, edges rise, begin at or below the least of what is drawn
// and are few.
func TestEdges(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 200 {
		vs := make([]float64, 1+r.IntN(400))
		for i := range vs {
			vs[i] = math.Exp(r.NormFloat64()*2) * 10
			if r.IntN(3) == 0 {
				vs[i] = math.Ceil(vs[i])
			}
		}
		slices.Sort(vs)
		for name, e := range map[string][]float64{"plain": spread.LinearEdges(vs), "log": spread.LogEdges(vs)} {
			if len(e) < 2 || len(e) > 120 || !slices.IsSorted(e) || e[0] > vs[len(vs)/2] {
				t.Fatalf("%s edges of %v: %v", name, vs, e)
			}
			for i := 1; i < len(e); i++ {
				if e[i] <= e[i-1] {
					t.Fatalf("%s edges do not rise: %v", name, e)
				}
			}
		}
	}
	if e := spread.LogEdges([]float64{1, 5, 20}); !slices.Equal(e, []float64{1, 2, 5, 10, 20, 50}) {
		t.Errorf("edges of 1, 5, 20: %v", e)
	}
}

func TestShape(t *testing.T) {
	var even, skew []float64
	for i := range 200 {
		even = append(even, 100+float64(i))
		skew = append(skew, math.Exp(float64(i)/30))
	}
	if spread.ShapeOf(exact(even...)).Log || !spread.ShapeOf(exact(skew...)).Log || spread.ShapeOf(exact(1, 1)).Log {
		t.Errorf("even %+v, skew %+v", spread.ShapeOf(exact(even...)), spread.ShapeOf(exact(skew...)))
	}
}

func TestRunning(t *testing.T) {
	var ps []spread.Point
	for i := range 600 {
		ps = append(ps, spread.Point{X: float64(i), Key: uint64(i), Sample: predict.Sample{Value: float64(i) / 10, Weight: 1}})
	}
	ws, err := spread.Running(ps, 20)
	if err != nil || len(ws) < 20 {
		t.Fatalf("%d windows, %v", len(ws), err)
	}
	for _, w := range ws {
		if m := w.Quantile(0.5).Value; math.Abs(m-w.Middle/10) > 0.06 || w.N != 50 {
			t.Errorf("middle %g at %g of %d", m, w.Middle, w.N)
		}
	}
	// A gap in X is not bridged.
	for i := range ps {
		if i >= 300 {
			ps[i].X += 3000
		}
	}
	if ws, err = spread.Running(ps, 20); err != nil {
		t.Fatal(err)
	}
	for _, w := range ws {
		if w.From < 300 && w.To > 3000 {
			t.Errorf("a window from %g to %g", w.From, w.To)
		}
	}
	if ws, _ := spread.Running(ps[:30], 20); ws != nil {
		t.Error("windows of too few")
	}
}

// Worked by hand.
func TestApart(t *testing.T) {
	s := func(b predict.Bound, v, high float64) predict.Sample {
		return predict.Sample{Value: v, High: high, Bound: b, Weight: 1}
	}
	for _, c := range []struct {
		a, b predict.Sample
		want predict.Sample
		ok   bool
	}{
		{s(predict.Exact, 40, 0), s(predict.Exact, 55, 0), s(predict.Exact, 15, 0), true},
		{s(predict.Exact, 40, 0), s(predict.GreaterThan, 55, 0), s(predict.GreaterThan, 15, 0), true},
		{s(predict.Exact, 60, 0), s(predict.GreaterThan, 55, 0), predict.Sample{Weight: 1}, false},
		{s(predict.Exact, 10, 0), s(predict.LessThan, 4, 0), s(predict.Between, 6, 10), true},
		{s(predict.Exact, 2, 0), s(predict.LessThan, 4, 0), s(predict.Between, 0, 2), true},
		{s(predict.LessThan, 1, 0), s(predict.GreaterThan, 50, 0), s(predict.GreaterThan, 49, 0), true},
		{s(predict.GreaterThan, 1, 0), s(predict.GreaterThan, 50, 0), predict.Sample{Weight: 1}, false},
		{s(predict.Between, 10, 12), s(predict.Between, 20, 30), s(predict.Between, 8, 20), true},
	} {
		got, ok := spread.Apart(c.a, c.b)
		back, ok2 := spread.Apart(c.b, c.a)
		if ok != c.ok || ok2 != ok || ok && got != c.want || got != back {
			t.Errorf("%+v and %+v: %+v %v, back %+v", c.a, c.b, got, ok, back)
		}
	}
}

func TestPairsWithinAgainstAll(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	n := 300
	x, y, key := make([]float64, n), make([]float64, n), make([]uint64, n)
	for i := range x {
		x[i], y[i], key[i] = r.Float64()*1000, r.Float64()*1000, r.Uint64()
	}
	ix, err := near.New(x, y, key)
	if err != nil {
		t.Fatal(err)
	}
	got := spread.PairsWithin(ix, x, y, 60)
	var want []spread.Pair
	for i := range x {
		for j := i + 1; j < n; j++ {
			if d := math.Hypot(x[i]-x[j], y[i]-y[j]); d <= 60 {
				want = append(want, spread.Pair{A: int32(i), B: int32(j), DistanceM: d})
			}
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d pairs, not %d", len(got), len(want))
	}
	for i := range want {
		if got[i].A != want[i].A || got[i].B != want[i].B || math.Abs(got[i].DistanceM-want[i].DistanceM) > 1e-9 {
			t.Fatalf("pair %+v, not %+v", got[i], want[i])
		}
	}
	// Many on one spot: no more pairs than sixteen partners each.
	for i := range x {
		x[i], y[i] = 5, 5
	}
	if ix, err = near.New(x, y, key); err != nil {
		t.Fatal(err)
	}
	if k := len(spread.PairsWithin(ix, x, y, 1)); k > 16*n || k < 8*n {
		t.Errorf("%d pairs of %d on one spot", k, n)
	}
	for _, p := range spread.Drawn(7, 1000, 1) {
		if p.A >= p.B || p.A < 0 || p.B >= 7 {
			t.Fatalf("drawn %+v", p)
		}
	}
	if spread.Drawn(1, 5, 1) != nil {
		t.Error("pairs of one")
	}
}

// From memory: tables give 0 to 3.689 for none, 0.0253 to 5.572 for 1, and 4.795
// to 18.390 for 10 (95 %).
func TestCountRange(t *testing.T) {
	for _, c := range []struct {
		n         int
		low, high float64
	}{{0, 0, 3.689}, {1, 0.0253, 5.572}, {10, 4.795, 18.390}} {
		if low, high := spread.CountRange(c.n); math.Abs(low-c.low) > 6e-4 || math.Abs(high-c.high) > 6e-4 {
			t.Errorf("%d: %g to %g", c.n, low, high)
		}
	}
}

// Depths are written in round feet, so many are equal: of an odd number of them
// the median is all the same the middle one (worked by hand).
func TestMedianOfRoundDepths(t *testing.T) {
	var list []predict.Sample
	for _, ft := range []float64{73, 88, 128, 160, 222, 253, 257, 263, 279, 279, 284, 308, 329, 329, 380, 380, 391} {
		list = append(list, predict.Sample{Value: ft, Weight: 1})
	}
	s, err := spread.Of(list)
	if err != nil {
		t.Fatal(err)
	}
	if q := s.Quantile(0.5); q.Value != 279 || q.More {
		t.Errorf("the ninth of seventeen is 279, not %+v", q)
	}
}

// A share that is only known to lie under a limit is told as such.
func TestBelow(t *testing.T) {
	s, err := spread.Of([]predict.Sample{{Value: 1, Bound: predict.LessThan, Weight: 1}, {Value: 2, Bound: predict.LessThan, Weight: 1}, {Value: 3, Weight: 1}, {Value: 4, Weight: 1}})
	if err != nil {
		t.Fatal(err)
	}
	if share, to := s.Below(); share != 0.5 || to != 1 {
		t.Errorf("%v below %v, and not 0.5 below 1", share, to)
	}
}
