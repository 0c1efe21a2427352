package spread

import (
	"math"
	"slices"
	"sort"

	"tallybook/geo/predict"
)

// Column counts what lies from From to under To. The last column of a set has
// no upper end (To is +Inf) where something lies beyond the others.
type Column struct {
	From, To float64
	Values   int // exact values
	AtLeast  int // lower limits that lie here: the value is here or beyond
	AtMost   int // upper limits just above what lies here: the value is here or below
	Between  int // lower ends of 'between'
}

// Columns counts samples into the columns between edges, ascending. Noughts are
// not counted, nor what lies under the first edge: the caller begins below all.
func Columns(samples []predict.Sample, edges []float64) []Column {
	n := len(edges)
	if n < 2 {
		return nil
	}
	cols := make([]Column, n)
	for i := range cols {
		cols[i] = Column{From: edges[i], To: math.Inf(1)}
		if i+1 < n {
			cols[i].To = edges[i+1]
		}
	}
	for i := range samples {
		s := &samples[i]
		v := s.Value
		if s.Bound == predict.LessThan {
			v *= 1 - 1e-9 // it lies under its limit
		}
		if v < edges[0] || v == 0 && s.Bound == predict.Exact {
			continue
		}
		c := &cols[sort.Search(n, func(k int) bool { return edges[k] > v })-1]
		switch s.Bound {
		case predict.GreaterThan:
			c.AtLeast++
		case predict.LessThan:
			c.AtMost++
		case predict.Between:
			c.Between++
		default:
			c.Values++
		}
	}
	if last := &cols[n-1]; last.Values+last.AtLeast+last.AtMost+last.Between == 0 {
		cols = cols[:n-1]
	}
	return cols
}

// Shape is the scale on which a set of values is best looked at.
type Shape struct {
	Log bool
	// Linear and Logged are how unlike the two sides of the middle are, from 0
	// (alike) to 1, on a plain and on a logarithmic scale (Bowley's measure on
	// the 10, 50 and 90 % quantiles of what is above nought; from memory).
	Linear, Logged float64
}

// ShapeOf chooses a scale: the logarithmic one where the two sides of the middle
// are more alike on it and values span a factor of five or more.
func ShapeOf(samples []predict.Sample) Shape {
	var vs []float64
	for i := range samples {
		if samples[i].Value > 0 {
			vs = append(vs, samples[i].Value)
		}
	}
	if len(vs) < 3 {
		return Shape{}
	}
	slices.Sort(vs)
	at := func(p float64) float64 { return vs[int(p*float64(len(vs)-1)+0.5)] }
	low, mid, high := at(0.1), at(0.5), at(0.9)
	if low == high {
		return Shape{}
	}
	bowley := func(a, b, c float64) float64 { return math.Abs((c-b)-(b-a)) / (c - a) }
	s := Shape{Linear: bowley(low, mid, high), Logged: bowley(math.Log(low), math.Log(mid), math.Log(high))}
	s.Log = s.Logged < s.Linear && high >= 5*low
	return s
}

// LinearEdges gives round edges from nought to past nearly all values (99.5 %),
// in the caller's unit: steps of 1, 2 or 5 times a power of ten near the width
// of Freedman and Diaconis (2 IQR n^(-1/3); Z. Wahrscheinlichkeitstheorie 57,
// 1981, from memory), 40 columns at most. values are ascending and above nought.
func LinearEdges(values []float64) []float64 {
	n := len(values)
	if n == 0 {
		return nil
	}
	at := func(p float64) float64 { return values[int(p*float64(n-1)+0.5)] }
	end := at(0.995)
	width := 2 * (at(0.75) - at(0.25)) / math.Cbrt(float64(n))
	step := roundStep(max(width, end/40))
	edges := []float64{0}
	for k := 1; ; k++ {
		edges = append(edges, float64(k)*step)
		if float64(k)*step > end {
			return edges
		}
	}
}

// roundStep is the least of 1, 2, 5 times a power of ten that is v or more.
func roundStep(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{1, 2, 5} {
		if f*p >= v*(1-1e-9) {
			return f * p
		}
	}
	return 10 * p
}

// LogEdges gives edges from below all values to past nearly all, in the
// caller's unit: 1, 2 and 5 of each power of ten for fewer than a hundred
// values, else 1, 1.5, 2, 3, 5 and 7. values are ascending and above nought.
func LogEdges(values []float64) []float64 {
	n := len(values)
	if n == 0 {
		return nil
	}
	steps := []float64{1, 2, 5}
	if n >= 100 {
		steps = []float64{1, 1.5, 2, 3, 5, 7}
	}
	first, end := values[0], values[int(0.995*float64(n-1)+0.5)]
	// A few stray small values do not stretch the whole.
	if low := values[int(0.002*float64(n))]; low > first*100 {
		first = low
	}
	var edges []float64
	for p := math.Floor(math.Log10(first)); ; p++ {
		for _, f := range steps {
			e := tenTo(int(p)) * f
			if e > first*(1+1e-12) && len(edges) == 0 {
				edges = append(edges, below(steps, int(p), f))
			}
			if len(edges) > 0 {
				edges = append(edges, e)
			}
			if e > end {
				if len(edges) == 0 {
					edges = append(edges, below(steps, int(p), f), e)
				}
				return edges
			}
		}
	}
}

// tenTo is a power of ten without rounding beyond the last digit.
func tenTo(p int) float64 {
	if p < 0 {
		return 1 / math.Pow10(-p)
	}
	return math.Pow10(p)
}

// below is the edge before f of ten to the p.
func below(steps []float64, p int, f float64) float64 {
	for i := len(steps) - 1; i >= 0; i-- {
		if steps[i] < f {
			return tenTo(p) * steps[i]
		}
	}
	return tenTo(p-1) * steps[len(steps)-1]
}
