package predict

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// resampling draws groups of test wells anew.
type resampling struct {
	group  []int32 // of each test well
	groups int
	seed   uint64
}

func identity(v float64) float64 { return v }
func square(v float64) float64   { return v * v }

// difference is the mean of the errors a, each through in and the mean through
// out, less that of b, over the wells that have both; with its range when whole
// groups are drawn anew with return, the percentile one (B. Efron and R. J.
// Tibshirani, An Introduction to the Bootstrap, Chapman and Hall, 1993, from
// memory). With few groups the range is somewhat too narrow.
func (r *resampling) difference(a, b []float64, in, out func(float64) float64) (Drawn, int) {
	sums := make([]pairedSums, r.groups)
	tested := 0
	for j := range min(len(a), len(b)) {
		if !finite(a[j]) || !finite(b[j]) {
			continue
		}
		s := &sums[r.group[j]]
		s.a, s.b, s.n = s.a+in(a[j]), s.b+in(b[j]), s.n+1
		tested++
	}
	sums = slices.DeleteFunc(sums, func(s pairedSums) bool { return s.n == 0 })
	if tested == 0 {
		nan := math.NaN()
		return Drawn{nan, nan, nan}, 0
	}
	rng := rand.New(rand.NewPCG(r.seed, uint64(len(sums))))
	return percentiles(sums, bootstrapRuns, out, func(_ int, each func(g int)) {
		for range sums {
			each(rng.IntN(len(sums)))
		}
	}), tested
}

// pairedSums are the sums of two methods' errors over the wells of a group.
type pairedSums struct{ a, b, n float64 }

func (s *pairedSums) add(o pairedSums) { s.a, s.b, s.n = s.a+o.a, s.b+o.b, s.n+o.n }

// percentiles works a bootstrap out from draws: draw hands over each group of a
// run.
func percentiles(sums []pairedSums, runs int, out func(float64) float64, draw func(run int, each func(g int))) Drawn {
	differ := func(s pairedSums) float64 { return out(s.a/s.n) - out(s.b/s.n) }
	all := make([]float64, runs)
	for run := range all {
		var s pairedSums
		draw(run, func(g int) { s.add(sums[g]) })
		all[run] = differ(s)
	}
	var s pairedSums
	for _, g := range sums {
		s.add(g)
	}
	slices.SortFunc(all, cmp.Compare[float64])
	k := (runs + 1) / 20
	return Drawn{Mean: differ(s), Low: all[k-1], High: all[runs-k]}
}
