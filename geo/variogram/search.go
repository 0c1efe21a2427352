package variogram

import (
	"cmp"
	"math"
	"slices"
)

// netPoints is how many ranges the net holds along one axis: neighbours differ
// by a tenth or so where the longest lag is twenty times the shortest.
const netPoints = 48

// starts is how many of the net's best points are followed down, since the
// very best may lie in a valley beside the deepest one.
const starts = 4

type netPoint struct {
	logs     []float64
	residual float64
}

// search returns the logarithms of the ranges with the least residual.
func (f *fitting) search() []float64 {
	net := f.net()
	best := net[0]
	for _, start := range net[:min(starts, len(net))] {
		if found := f.descend(start); found.residual < best.residual {
			best = found
		}
	}
	for i := range best.logs {
		best.logs[i] = min(max(best.logs[i], f.low), f.high)
	}
	return best.logs
}

// net is the residuals over all ranges of the net, the least first.
func (f *fitting) net() []netPoint {
	step := (f.high - f.low) / (netPoints - 1)
	var net []netPoint
	for i := range netPoints {
		first := f.low + float64(i)*step
		if len(f.shapes) == 1 {
			net = append(net, f.point([]float64{first}))
			continue
		}
		for j := range netPoints {
			// Two structures of one shape may be exchanged: the shorter is first.
			if f.shapes[0] != f.shapes[1] || i < j {
				net = append(net, f.point([]float64{first, f.low + float64(j)*step}))
			}
		}
	}
	slices.SortStableFunc(net, func(a, b netPoint) int { return cmp.Compare(a.residual, b.residual) })
	return net
}

func (f *fitting) point(logs []float64) netPoint {
	residual, _ := f.at(logs)
	return netPoint{logs, residual}
}

// descend is the simplex method of J. A. Nelder and R. Mead (The Computer
// Journal 7, 1965), which asks for no slopes: the spherical shape and parts
// held at zero have none everywhere. It begins anew three times from where it
// stopped, with a smaller simplex, since it may fold up too early.
func (f *fitting) descend(best netPoint) netPoint {
	for _, size := range []float64{0.1, 0.01, 0.001} {
		simplex := []netPoint{best}
		for i := range best.logs {
			logs := slices.Clone(best.logs)
			logs[i] += size
			if logs[i] > f.high {
				logs[i] -= 2 * size
			}
			simplex = append(simplex, f.point(logs))
		}
		best = f.fold(simplex)
	}
	return best
}

// fold moves the simplex until it is smaller than a billionth of the ranges.
func (f *fitting) fold(simplex []netPoint) netPoint {
	last := len(simplex) - 1
	for range 400 {
		slices.SortStableFunc(simplex, func(a, b netPoint) int { return cmp.Compare(a.residual, b.residual) })
		if spread(simplex) < 1e-9 {
			break
		}
		middle := make([]float64, last)
		for _, p := range simplex[:last] {
			axpy(1/float64(last), p.logs, middle)
		}
		// beyond is the worst corner carried through the middle, t times as far.
		beyond := func(t float64) netPoint {
			logs := make([]float64, last)
			for i := range logs {
				logs[i] = middle[i] + t*(middle[i]-simplex[last].logs[i])
			}
			return f.point(logs)
		}
		next := beyond(1)
		switch {
		case next.residual < simplex[0].residual:
			if far := beyond(2); far.residual < next.residual {
				next = far
			}
		case next.residual >= simplex[last-1].residual && next.residual < simplex[last].residual:
			if out := beyond(0.5); out.residual <= next.residual {
				next = out
			}
		case next.residual >= simplex[last].residual:
			next = beyond(-0.5)
		}
		if next.residual < simplex[last].residual {
			simplex[last] = next
			continue
		}
		for i := range simplex[1:] {
			logs := make([]float64, last)
			for j := range logs {
				logs[j] = (simplex[0].logs[j] + simplex[i+1].logs[j]) / 2
			}
			simplex[i+1] = f.point(logs)
		}
	}
	return simplex[0]
}

func spread(simplex []netPoint) float64 {
	most := 0.0
	for _, p := range simplex[1:] {
		for i, v := range p.logs {
			most = max(most, math.Abs(v-simplex[0].logs[i]))
		}
	}
	return most
}
