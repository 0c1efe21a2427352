package variogram

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"golang.org/x/sync/errgroup"
)

// NoStructure is what the pairs would show if where a sample stands said
// nothing of its value.
type NoStructure struct {
	Runs int
	// Low and High are, for each class, the values between which the classical
	// semivariance lay in all dealings but one in forty at either end; NaN where
	// a class has no pairs.
	Low, High []float64
	// AsAlike is in how many of the dealings near samples were at least as alike
	// as they are. Near counts more: the sum of the classes' semivariances
	// weighted with pairs / distance^2.
	AsAlike int
}

// P is the chance of finding near samples as alike as this, or more, where
// there is no structure: (AsAlike + 1) / (Runs + 1), the Monte Carlo test of
// G. A. Barnard (in the discussion of M. S. Bartlett, Journal of the Royal
// Statistical Society B 25, 1963).
func (n *NoStructure) P() float64 { return float64(n.AsAlike+1) / float64(n.Runs+1) }

// Shuffled deals the values of the samples that take part in the pairs out to
// them anew, at random, so many times, and looks at what the pairs then show.
// Samples at one place should be joined to one before, or else what they share
// counts as structure lost. Seeded: the same pairs give the same answer on any
// number of processors. Memory: 8 bytes a sample and processor.
func (p *Pairs) Shuffled(ctx context.Context, runs int, seed uint64) (NoStructure, error) {
	if runs < 1 || runs > 10_000 {
		return NoStructure{}, fmt.Errorf("variogram: %d dealings make no envelope", runs)
	}
	list, values := p.takingPart()
	counts, dist := make([]float64, len(p.edges)-1), make([]float64, len(p.edges)-1)
	for _, q := range p.list {
		counts[q.class]++
		dist[q.class] += p.distance(q.i, q.j)
	}
	dealt := make([][]float64, runs)
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(workers())
	for r := range runs {
		g.Go(func() error {
			if err := inner.Err(); err != nil {
				return err
			}
			v := slices.Clone(values)
			rng := rand.New(rand.NewPCG(seed, uint64(r)))
			rng.Shuffle(len(v), func(a, b int) { v[a], v[b] = v[b], v[a] })
			dealt[r] = gammas(list, v, counts)
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return NoStructure{}, err
	}
	n := NoStructure{Runs: runs}
	seen := alikeness(gammas(list, values, counts), counts, dist)
	for _, d := range dealt {
		if alikeness(d, counts, dist) <= seen {
			n.AsAlike++
		}
	}
	at := make([]float64, runs)
	for c := range counts {
		for r := range dealt {
			at[r] = dealt[r][c]
		}
		slices.Sort(at)
		out := (runs+1)/40 - 1 // how many lie beyond either end
		if out < 0 {
			out = 0
		}
		n.Low, n.High = append(n.Low, at[out]), append(n.High, at[runs-1-out])
	}
	return n, nil
}

// takingPart numbers the samples of the pairs anew, in the order of their
// numbers, so that their values lie close together.
func (p *Pairs) takingPart() (list []pair, values []float64) {
	number := make([]int32, len(p.x))
	for _, q := range p.list {
		number[q.i], number[q.j] = 1, 1
	}
	for i, n := range number {
		if n == 1 {
			number[i] = int32(len(values))
			values = append(values, p.values[i])
		}
	}
	list = make([]pair, len(p.list))
	for i, q := range p.list {
		list[i] = pair{number[q.i], number[q.j], q.class}
	}
	return list, values
}

// gammas are the classical semivariances of the classes.
func gammas(list []pair, v, counts []float64) []float64 {
	sums := make([]float64, len(counts))
	for _, q := range list {
		d := v[q.i] - v[q.j]
		sums[q.class] += d * d
	}
	for c := range sums {
		sums[c] /= 2 * counts[c]
	}
	return sums
}

// alikeness is less the more alike near samples are.
func alikeness(gamma, counts, dist []float64) float64 {
	sum := 0.0
	for c, n := range counts {
		if n > 0 {
			mean := dist[c] / n
			sum += gamma[c] * n / (mean * mean)
		}
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}
