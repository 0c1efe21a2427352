package variogram

import (
	"math"
	"runtime"
)

func workers() int { return runtime.GOMAXPROCS(0) }

// Len is how many pairs there are.
func (p *Pairs) Len() int { return len(p.list) }

// Empirical is what the pairs show; only those for which take is true count,
// nil meaning all. take is given two positions in the caller's slices, in no
// certain order.
func (p *Pairs) Empirical(take func(i, j int32) bool) Empirical {
	tallies := make([]tally, len(p.edges)-1)
	for _, q := range p.list {
		if take == nil || take(q.i, q.j) {
			tallies[q.class].add(p.distance(q.i, q.j), p.values[q.j]-p.values[q.i])
		}
	}
	e := Empirical{Lags: make([]Lag, len(tallies)), CoLocated: tally{}.lag(0, 0)}
	for i, t := range tallies {
		e.Lags[i] = t.lag(p.edges[i], p.edges[i+1])
	}
	return e
}

// Along is what the pairs show that lie within toleranceDeg of the line along
// azimuthDeg, degrees clockwise from north, as Binning has it.
func (p *Pairs) Along(azimuthDeg, toleranceDeg float64) Empirical {
	sin, cos := math.Sincos(azimuthDeg * math.Pi / 180)
	least := math.Cos(toleranceDeg * math.Pi / 180)
	return p.Empirical(func(i, j int32) bool {
		d := p.distance(i, j)
		return math.Abs((p.x[j]-p.x[i])*sin+(p.y[j]-p.y[i])*cos)/d >= least
	})
}
