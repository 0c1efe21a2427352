package variogram_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallybook/geo/variogram"
)

// TestDrawAllIsMeasure: up to 2,500 samples all pairs are there, so that the two
// ways agree to the last digit but for the order of adding up.
func TestDrawAllIsMeasure(t *testing.T) {
	x, y, v := scattered(3, 400)
	x[7], y[7] = x[8], y[8] // a pair at one place belongs to no lag
	b := variogram.Binning{WidthM: 30, CutoffM: 475}
	p, err := variogram.Draw(context.Background(), x, y, v, b.Edges(), variogram.Sampling{})
	if err != nil || p.Centres != 0 {
		t.Fatal(p, err)
	}
	for name, got := range map[string]variogram.Empirical{"all": p.Empirical(nil), "along": p.Along(30, 22.5)} {
		bin := b
		if name == "along" {
			bin.AzimuthDeg, bin.ToleranceDeg = 30, 22.5
		}
		want, err := variogram.Measure(context.Background(), x, y, v, bin)
		if err != nil || len(got.Lags) != len(want.Lags) || len(got.Lags) != 16 {
			t.Fatalf("%s: %d lags, want %d: %v", name, len(got.Lags), len(want.Lags), err)
		}
		for i, w := range want.Lags {
			g := got.Lags[i]
			if g.Pairs != w.Pairs || g.FromM != w.FromM || g.ToM != w.ToM {
				t.Errorf("%s lag %d: %+v, want %+v", name, i, g, w)
			}
			near(t, name, g.Matheron, w.Matheron, 1e-9*w.Matheron)
			near(t, name, g.CressieHawkins, w.CressieHawkins, 1e-9*w.CressieHawkins)
			near(t, name, g.MeanM, w.MeanM, 1e-9*w.MeanM)
		}
	}
	// Without one sample is as if it had never been there.
	got := p.Empirical(func(i, j int32) bool { return i != 11 && j != 11 })
	without := func(s []float64) []float64 { return slices.Delete(slices.Clone(s), 11, 12) }
	want, err := variogram.Measure(context.Background(), without(x), without(y), without(v), b)
	if err != nil || got.Lags[4].Pairs != want.Lags[4].Pairs {
		t.Errorf("without one: %d pairs, want %d: %v", got.Lags[4].Pairs, want.Lags[4].Pairs, err)
	}
	near(t, "without one", got.Lags[4].Matheron, want.Lags[4].Matheron, 1e-9*want.Lags[4].Matheron)
}

// TestDrawSomeIsFair: what a share of the pairs shows must lie about what all
// show. Samples stand in two clumps of other values, so that a draw that
// favoured the crowd would be seen.
func TestDrawSomeIsFair(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	const n = 12_000
	x, y, v, key := make([]float64, n), make([]float64, n), make([]float64, n), make([]uint64, n)
	for i := range x {
		x[i], y[i], v[i] = r.Float64()*10_000, r.Float64()*10_000, 3*r.NormFloat64()
		if i < n/3 {
			x[i], y[i], v[i] = 3000+r.NormFloat64()*400, 7000+r.NormFloat64()*400, 10*r.NormFloat64()
		}
		v[i] += math.Sin(x[i]/900) * 8
		key[i] = r.Uint64()
	}
	b := variogram.Binning{WidthM: 200, CutoffM: 3000}
	all, err := variogram.Measure(context.Background(), x, y, v, b)
	if err != nil {
		t.Fatal(err)
	}
	s := variogram.Sampling{Key: key, Seed: 1, Most: 300_000}
	p, err := variogram.Draw(context.Background(), x, y, v, b.Edges(), s)
	if err != nil || p.Centres != 2000 || p.Len() < 150_000 || p.Len() > 450_000 {
		t.Fatalf("%d pairs around %d: %v", p.Len(), p.Centres, err)
	}
	worst := 0.0
	for i, l := range p.Empirical(nil).Lags {
		worst = max(worst, math.Abs(l.Matheron/all.Lags[i].Matheron-1))
		if l.Pairs < 5000 || l.MeanM <= l.FromM || l.MeanM > l.ToM {
			t.Errorf("lag %d: %+v", i, l)
		}
	}
	if worst > 0.08 {
		t.Errorf("a lag is wrong by %.1f %%", 100*worst)
	}
	t.Logf("worst %.2f %% over %d of %d pairs", 100*worst, p.Len(), n*n/2)
	// The order of rows changes nothing: the same pairs, the same sums.
	turn := func(f []float64) []float64 { f = slices.Clone(f); slices.Reverse(f); return f }
	back := slices.Clone(key)
	slices.Reverse(back)
	s.Key = back
	q, err := variogram.Draw(context.Background(), turn(x), turn(y), turn(v), b.Edges(), s)
	if err != nil || q.Len() != p.Len() {
		t.Fatalf("turned round: %d pairs, not %d: %v", q.Len(), p.Len(), err)
	}
	near(t, "turned round", q.Empirical(nil).Lags[3].Matheron, p.Empirical(nil).Lags[3].Matheron, 1e-9*all.Lags[3].Matheron)
}

// TestDrawnPairsAreOnce: no pair comes twice, and none of a sample with itself,
// where every sample is a possible other.
func TestDrawnPairsAreOnce(t *testing.T) {
	x, y, v := scattered(5, 2600)
	p, err := variogram.Draw(context.Background(), x, y, v, []float64{0, 40, 80}, variogram.Sampling{Most: 100_000_000})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[[2]int32]bool{}
	p.Empirical(func(i, j int32) bool {
		k := [2]int32{min(i, j), max(i, j)}
		if seen[k] || i == j {
			t.Fatalf("pair %v twice", k)
		}
		seen[k] = true
		return true
	})
	if len(seen) != p.Len() || p.Len() < 10_000 {
		t.Errorf("%d of %d pairs", len(seen), p.Len())
	}
}

// TestShuffled: with structure near samples are more alike than in any dealing;
// without, the test says so about as often as it should and the envelope holds
// 19 in 20 of the lags.
func TestShuffled(t *testing.T) {
	x, y, v := scattered(6, 300)
	b := variogram.Binning{WidthM: 60, CutoffM: 480}
	p, err := variogram.Draw(context.Background(), x, y, v, b.Edges(), variogram.Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	n, err := p.Shuffled(context.Background(), 199, 1)
	if err != nil || n.AsAlike != 0 || n.P() != 1./200 || p.Empirical(nil).Lags[0].Matheron > n.Low[0] {
		t.Errorf("structure is not seen: %+v %v", n, err)
	}
	if again, _ := p.Shuffled(context.Background(), 199, 1); !slices.Equal(again.Low, n.Low) {
		t.Error("the same seed gives another envelope")
	}
	rare, outside, lags := 0, 0, 0
	const trials = 150
	for trial := range trials {
		r := rand.New(rand.NewPCG(7, uint64(trial)))
		x, y, v := make([]float64, 80), make([]float64, 80), make([]float64, 80)
		for i := range x {
			x[i], y[i], v[i] = r.Float64()*1000, r.Float64()*1000, r.ExpFloat64()
		}
		p, err := variogram.Draw(context.Background(), x, y, v, b.Edges(), variogram.Sampling{})
		if err != nil {
			t.Fatal(err)
		}
		n, err := p.Shuffled(context.Background(), 79, uint64(trial))
		if err != nil {
			t.Fatal(err)
		}
		if n.P() <= 0.1 {
			rare++
		}
		for i, l := range p.Empirical(nil).Lags {
			lags++
			if l.Matheron < n.Low[i] || l.Matheron > n.High[i] {
				outside++
			}
		}
	}
	// A tenth of 150 is 15, standard error 3.7; a twentieth of the lags.
	if rare < 4 || rare > 27 {
		t.Errorf("of %d sets without structure %d look as if they had some at one in ten", trials, rare)
	}
	if share := float64(outside) / float64(lags); share < 0.02 || share > 0.09 {
		t.Errorf("%.1f %% of the lags lie outside of the envelope of one in twenty", 100*share)
	}
	t.Logf("%d of %d at one in ten; %d of %d lags outside", rare, trials, outside, lags)
}

func TestChooseLags(t *testing.T) {
	ctx := context.Background()
	x, y, v := scattered(8, 1500)
	l, err := variogram.ChooseLags(ctx, x, y, v, variogram.Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(l.Edges()) - 1; n < 8 || n > 20 || l.CutoffM > l.AcrossM/2 || l.CutoffM < 6*l.SpacingM*0.99 {
		t.Errorf("%+v", l)
	}
	same := []float64{5, 5, 5, 5}
	if _, err := variogram.ChooseLags(ctx, same, same, []float64{1, 2, 3, 4}, variogram.Sampling{}); !errors.Is(err, variogram.ErrOneSpot) {
		t.Errorf("one spot: %v", err)
	}
	if _, err := variogram.ChooseLags(ctx, []float64{1, 2, 3, 4}, same, same, variogram.Sampling{}); !errors.Is(err, variogram.ErrNoVariation) {
		t.Errorf("equal values: %v", err)
	}
	if _, err := variogram.ChooseLags(ctx, nil, nil, nil, variogram.Sampling{}); !errors.Is(err, variogram.ErrNoSamples) {
		t.Errorf("nothing: %v", err)
	}
}

// TestSites, worked by hand: three samples on one spot (1, 2, 6: mean 3, sum of
// squares 14, two free), two on another (0, 4: 8, one free), one alone.
func TestSites(t *testing.T) {
	x, y := []float64{0, 0, 0.5, 100, 100, 300}, make([]float64, 6)
	o, err := variogram.SameSite(x, y, []float64{1, 2, 6, 0, 4, 9}, 1)
	if err != nil || o.Sites != 2 || o.Samples != 5 || math.Abs(o.Gamma-22./3) > 1e-12 {
		t.Errorf("%+v %v, want 22/3 over two sites", o, err)
	}
	kept, err := variogram.OnePerSite(x, y, 1, variogram.Sampling{Seed: 2})
	if err != nil || len(kept) != 3 || kept[0] > 2 || kept[1] < 3 || kept[1] > 4 || kept[2] != 5 {
		t.Errorf("kept %v %v", kept, err)
	}
}

func TestDrawRefuses(t *testing.T) {
	ctx := context.Background()
	one := []float64{1}
	for name, edges := range map[string][]float64{"one edge": {0}, "falling": {0, 2, 1}, "below zero": {-1, 2}, "no number": {0, math.NaN()}} {
		if _, err := variogram.Draw(ctx, one, one, one, edges, variogram.Sampling{}); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	if _, err := variogram.Draw(ctx, one, one, one, []float64{0, 1}, variogram.Sampling{Key: []uint64{1, 2}}); err == nil {
		t.Error("two keys for one sample")
	}
	gone, stop := context.WithCancel(ctx)
	stop()
	for _, n := range []int{600, 3000} {
		x, y, v := scattered(9, n)
		if _, err := variogram.Draw(gone, x, y, v, []float64{0, 100}, variogram.Sampling{}); !errors.Is(err, context.Canceled) {
			t.Errorf("%d samples: %v", n, err)
		}
	}
}
