package records

import (
	"math"
	"slices"
)

// circleLitresPerMetre is the content of one metre of a round hole:
// pi/4 d^2, with d in millimetres.
func circleLitresPerMetre(diameterMM float64) float64 {
	return math.Pi / 4 * diameterMM * diameterMM / 1000
}

func covers(from, to Amount[Depth], depth float64) bool {
	a, okA := from.Number()
	b, okB := to.Number()
	return okA && okB && float64(a) <= depth && depth < float64(b)
}

// boreAt is the diameter of the hole at a depth, millimetres: the widest bore
// recorded there, since a hole is reamed and never filled.
func (w *Well) boreAt(depth float64) (float64, bool) {
	widest := 0.0
	for i := range w.Bores {
		b := &w.Bores[i]
		if d, ok := b.Diameter.Number(); ok && covers(b.From, b.To, depth) {
			widest = max(widest, float64(d))
		}
	}
	return widest, widest > 0
}

// along sums litres per metre from top to bottom, exactly, since diameters
// change only where a bore or a casing begins or ends. It is false where
// perMetre does not know some part of the way.
func (w *Well) along(top, bottom float64, perMetre func(depth float64) (float64, bool)) (Volume, bool) {
	if !(bottom > top) {
		return 0, false
	}
	cuts := []float64{top, bottom}
	cut := func(a Amount[Depth]) {
		if v, ok := a.Number(); ok && float64(v) > top && float64(v) < bottom {
			cuts = append(cuts, float64(v))
		}
	}
	for i := range w.Bores {
		cut(w.Bores[i].From)
		cut(w.Bores[i].To)
	}
	for i := range w.Casing {
		cut(w.Casing[i].From)
		cut(w.Casing[i].To)
	}
	slices.Sort(cuts)
	sum := 0.0
	for i := 1; i < len(cuts); i++ {
		if cuts[i] == cuts[i-1] {
			continue
		}
		l, ok := perMetre((cuts[i] + cuts[i-1]) / 2)
		if !ok {
			return 0, false
		}
		sum += l * (cuts[i] - cuts[i-1])
	}
	return Volume(sum), true
}

// AnnulusVolume is the space between the hole's wall and the outermost casing
// from one depth to another, in litres: pi/4 (D^2 - d^2) a metre with D the
// bore and d the casing's outside diameter. It is false where a bore or an
// outside diameter on the way was not written down, or the casing does not
// fit the hole. A nominal size is no outside diameter and is not taken for
// one.
func (w *Well) AnnulusVolume(from, to Depth) (Volume, bool) {
	return w.along(float64(from), float64(to), func(depth float64) (float64, bool) {
		bore, ok := w.boreAt(depth)
		if !ok {
			return 0, false
		}
		outside, cased := 0.0, false
		for i := range w.Casing {
			c := &w.Casing[i]
			if !covers(c.From, c.To, depth) {
				continue
			}
			d, ok := c.OutsideDia.Number()
			if !ok {
				return 0, false
			}
			outside, cased = max(outside, float64(d)), true
		}
		if !cased || outside >= bore {
			return 0, false
		}
		return circleLitresPerMetre(bore) - circleLitresPerMetre(outside), true
	})
}

// GroutOverrun is the volume placed of one grout interval (topping up
// included) over the volume of its annulus: 1 fits exactly, 1.3 is a third
// more than the hole as logged would hold. It is false where the placed
// volume or the annulus is not known.
func (w *Well) GroutOverrun(g *Grout) (ratio float64, annulus Volume, ok bool) {
	from, okFrom := g.From.Number()
	to, okTo := g.To.Number()
	placed, okPlaced := g.Placed.Number()
	if !okFrom || !okTo || !okPlaced {
		return 0, 0, false
	}
	if more, ok := g.ToppedUp.Number(); ok {
		placed += more
	}
	annulus, ok = w.AnnulusVolume(from, to)
	if !ok {
		return 0, 0, false
	}
	return float64(placed / annulus), annulus, true
}
