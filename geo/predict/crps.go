package predict

import "math"

// CRPS is the continuous ranked probability score of the distribution against
// the outcome y, in y's unit; smaller is better, and for a single value it is
// the absolute error. It is exact for the weighted values (no interpolation):
// the integral over t of (F(t) - 1{y <= t})^2, by one pass over the values.
//
// A share known only to lie above a limit is scored as if it stood at the
// limit, which is the least that it can be. NaN when y is NaN or the
// distribution empty.
func (d *Distribution) CRPS(y float64) float64 {
	return d.CRPSOf(Sample{Value: y})
}

// CRPSOf is the CRPS against an outcome that may be a bound: the integral over
// those t alone for which it is known whether the outcome lies at or below t
// (up to the limit of 'greater than', from the limit of 'less than' on, outside
// 'between'). This threshold-weighted score stays proper. The sample's Weight is
// not read.
func (d *Distribution) CRPSOf(y Sample) float64 {
	if d.Empty() || math.IsNaN(y.Value) {
		return math.NaN()
	}
	low, high := known(y)
	var sum, f float64
	at := math.Inf(-1)
	step := func(to float64) {
		sum += scoreBetween(at, to, low, high, f, f)
		at = to
	}
	for i, v := range d.values {
		if v > at {
			step(v)
		}
		f = d.cum[i]
	}
	if d.upperShare > 0 {
		if d.upperFrom > at {
			step(d.upperFrom)
		}
		f = 1
	}
	step(math.Inf(1))
	return sum
}

// known gives the thresholds between which it is unknown whether the outcome
// has been passed: equal for a value.
func known(y Sample) (low, high float64) {
	switch y.Bound {
	case LessThan:
		return math.Inf(-1), y.Value
	case GreaterThan:
		return y.Value, math.Inf(1)
	case Between:
		return y.Value, y.High
	}
	return y.Value, y.Value
}

// scoreBetween is the integral over t in [a, b) of (f - 1{y <= t}) (g - 1{y <=
// t}) for constant f and g, leaving out low <= t < high where 1{y <= t} is
// unknown. Infinite stretches on which a factor vanishes count as nothing.
func scoreBetween(a, b, low, high, f, g float64) float64 {
	var s float64
	if hi := min(b, low); hi > a && f*g != 0 {
		s += float64(f * g * (hi - a))
	}
	if lo := max(a, high); lo < b && (1-f)*(1-g) != 0 {
		s += float64((1 - f) * (1 - g) * (b - lo))
	}
	return s
}

// scoreParts splits the score of the mixture at any kappa: with a the share of
// the votes and 1 - a that of the area, CRPS = a^2 near + 2 a (1 - a) cross +
// (1 - a)^2 area, because the score is a square of a difference that is linear
// in the shares. One pass so serves every kappa. Not for mixtures with bounds.
type scoreParts struct{ near, cross, area float64 }

func (s scoreParts) at(a float64) float64 {
	b := 1 - a
	return float64(a*a*s.near) + float64(2*a*b*s.cross) + float64(b*b*s.area)
}

// scoreMixture scores the votes alone, the area alone and the cross term against
// an outcome.
func scoreMixture(es []entry, y Sample) scoreParts {
	low, high := known(y)
	var s scoreParts
	var f, g float64
	at := math.Inf(-1)
	for i := range es {
		e := &es[i]
		if e.value > at {
			switch {
			case at > math.Inf(-1):
				s.add(at, e.value, low, high, f, g)
			case e.value > high:
				s.constant(e.value - high) // under the first value, the outcome passed
			}
			at = e.value
		}
		f += e.near
		g += e.area
	}
	if low > at {
		s.constant(low - at) // over the last value, the outcome not passed
	}
	return s
}

// constant adds a stretch on which every term is one.
func (s *scoreParts) constant(width float64) {
	s.near += width
	s.cross += width
	s.area += width
}

func (s *scoreParts) add(a, b, low, high, f, g float64) {
	if b <= low { // the common stretch: the outcome has not been passed
		w := b - a
		s.near += float64(f * f * w)
		s.cross += float64(f * g * w)
		s.area += float64(g * g * w)
		return
	}
	if a >= high {
		w := b - a
		s.near += float64((1 - f) * (1 - f) * w)
		s.cross += float64((1 - f) * (1 - g) * w)
		s.area += float64((1 - g) * (1 - g) * w)
		return
	}
	if low > a {
		s.add(a, low, low, high, f, g)
	}
	if high < b {
		s.add(high, b, low, high, f, g)
	}
}
