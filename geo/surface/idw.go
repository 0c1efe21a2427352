package surface

import (
	"fmt"
	"math"

	"tallybook/geo/near"
)

// IDW is inverse-distance weighting as Shepard gave it (D. Shepard, 'A
// two-dimensional interpolation function for irregularly-spaced data',
// Proceedings of the 23rd ACM National Conference, 1968): the mean of the
// neighbours' values weighted by 1/d^Power. It is here so that a consultant
// can reproduce it to the digit in other software; it is not this tool's best
// estimate.
//
// A place exactly on a sample takes the sample's value when Smoothing is zero.
// Where several samples stand at that one position it takes the mean of all
// of them, however many neighbours were asked for, since any one of them would
// be an arbitrary choice: GDAL and gstat return whichever of them their search
// finds first, so the three may differ at such a node and only there.
type IDW struct {
	Power      float64 // of the distance; 2 is customary; 0 gives the plain mean; not negative
	Neighbours int     // the most samples used, nearest first and ties by key; 0 means all
	RadiusM    float64 // no sample farther than this, in metres, is used; 0 means no limit
	Smoothing  float64 // metres; the weight is 1/(d^2 + Smoothing^2)^(Power/2), as in GDAL
}

// DefaultIDW is what consultants expect unless told otherwise: power 2 over
// the 12 nearest.
var DefaultIDW = IDW{Power: 2, Neighbours: 12}

// Validate reports the first parameter out of its range.
func (w IDW) Validate() error {
	switch {
	case !(w.Power >= 0) || math.IsInf(w.Power, 0):
		return fmt.Errorf("surface: power %g must be finite and not negative", w.Power)
	case w.Neighbours < 0:
		return fmt.Errorf("surface: %d neighbours", w.Neighbours)
	case !(w.RadiusM >= 0) || math.IsInf(w.RadiusM, 0):
		return fmt.Errorf("surface: radius %g m must be finite and not negative", w.RadiusM)
	case !(w.Smoothing >= 0) || math.IsInf(w.Smoothing, 0):
		return fmt.Errorf("surface: smoothing %g m must be finite and not negative", w.Smoothing)
	}
	return nil
}

// At returns the value at (x, y), in metres, from the samples of the index;
// values[i] belongs to the point at position i of the slices the index was
// built from. NaN when no sample lies within the radius, or there is none. The
// parameters are taken to be valid; it panics when values is too short.
func (w IDW) At(ix *near.Index, values []float64, x, y float64) float64 {
	v, _ := w.at(ix, values, x, y, nil)
	return v
}

// at is At with a buffer to search into, which it returns for the next call.
func (w IDW) at(ix *near.Index, values []float64, x, y float64, buf []near.Hit) (float64, []near.Hit) {
	return w.settled(ix, values, x, y, w.neighbours(ix, x, y, buf))
}

// settled weighs the nearest samples, sorted by distance.
func (w IDW) settled(ix *near.Index, values []float64, x, y float64, hits []near.Hit) (float64, []near.Hit) {
	hits = w.cut(hits)
	if len(hits) > 0 && hits[len(hits)-1].D2 == 0 && w.Smoothing*w.Smoothing == 0 {
		// Perhaps more samples stand here than were asked for.
		hits = ix.Within(x, y, 0, hits)
	}
	return w.mean(hits, values), hits
}

// neighbours returns the samples that count at a place, nearest first.
func (w IDW) neighbours(ix *near.Index, x, y float64, buf []near.Hit) []near.Hit {
	switch {
	case w.RadiusM == 0 && w.Neighbours == 0:
		return ix.Nearest(x, y, ix.Len(), buf)
	case w.RadiusM == 0:
		return ix.Nearest(x, y, w.Neighbours, buf)
	case w.Neighbours == 0:
		return ix.Within(x, y, w.RadiusM, buf)
	}
	return ix.NearestWithin(x, y, w.Neighbours, w.RadiusM*w.RadiusM, buf)
}

// cut drops what lies beyond the radius or the number of neighbours from hits
// sorted by distance.
func (w IDW) cut(hits []near.Hit) []near.Hit {
	if w.Neighbours > 0 && len(hits) > w.Neighbours {
		hits = hits[:w.Neighbours]
	}
	if w.RadiusM > 0 {
		r2 := w.RadiusM * w.RadiusM
		for len(hits) > 0 && hits[len(hits)-1].D2 > r2 {
			hits = hits[:len(hits)-1]
		}
	}
	return hits
}

// mean weighs hits sorted by distance. Distances are taken relative to the
// nearest, which cancels in the mean and keeps any power from overflowing.
func (w IDW) mean(hits []near.Hit, values []float64) float64 {
	if len(hits) == 0 {
		return math.NaN()
	}
	s2 := w.Smoothing * w.Smoothing
	least := hits[0].D2 + s2
	if least == 0 {
		n := 1
		for n < len(hits) && hits[n].D2 == 0 {
			n++
		}
		hits = hits[:n]
	}
	first := values[hits[0].I]
	var sum, weights float64
	root := rootOf(w.Power)
	for _, h := range hits {
		wt := 1.0
		if d2 := h.D2 + s2; d2 > least {
			wt = root.of(least / d2)
		}
		// Summing differences from the nearest value keeps the mean of equal
		// values exact, and so within their range.
		sum += wt * (values[h.I] - first)
		weights += wt
	}
	return first + sum/weights
}

// TiedAt tells whether the choice of neighbours at (x, y) was a matter of the
// tie-break: whether the last sample used and the first one left out are
// equally far, to one part in 10^12. There two packages may rightly differ.
func (w IDW) TiedAt(ix *near.Index, x, y float64) bool {
	k := w.Neighbours
	if k == 0 || k >= ix.Len() {
		return false
	}
	hits := ix.Nearest(x, y, k+1, nil)
	if len(hits) <= k {
		return false
	}
	last, next := hits[k-1].D2, hits[k].D2
	if w.RadiusM > 0 && last > w.RadiusM*w.RadiusM {
		return false
	}
	return next-last <= 1e-12*next
}

// root raises a ratio of squared distances to half a power, without the
// general power function where the power is a multiple of one half up to 16.
type root struct {
	whole int     // whole powers of the ratio
	rest  int     // quarters of a power left over, 0 to 3
	half  float64 // the exponent itself when whole is negative
}

func rootOf(power float64) root {
	if q := 2 * power; q == math.Trunc(q) && q <= 32 {
		return root{whole: int(q) / 4, rest: int(q) % 4}
	}
	return root{whole: -1, half: power / 2}
}

func (r root) of(t float64) float64 {
	if r.whole < 0 {
		return math.Pow(t, r.half)
	}
	w := 1.0
	switch r.rest {
	case 1:
		w = math.Sqrt(math.Sqrt(t))
	case 2:
		w = math.Sqrt(t)
	case 3:
		s := math.Sqrt(t)
		w = s * math.Sqrt(s)
	}
	for range r.whole {
		w *= t
	}
	return w
}
