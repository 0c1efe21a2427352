package spread

import (
	"slices"

	"tallybook/geo/predict"
)

// Point is a value or a bound at a place along another quantity.
type Point struct {
	X      float64
	Key    uint64 // breaks ties
	Sample predict.Sample
}

// Window is what the points of a stretch of X say.
type Window struct {
	From, Middle, To float64 // least, middle and greatest X
	*Summary
}

// Running sums up stretches of X that hold the same number of points, each half
// over the next: a twelfth of all, but least at least. Fewer than twice least
// points give none. A stretch wider than a quarter of the span between the 1 and
// 99 % quantiles of X is left out: too few stand there to follow X.
func Running(points []Point, least int) ([]Window, error) {
	n := len(points)
	if n < 2*least || least < 1 {
		return nil, nil
	}
	ps := slices.Clone(points)
	slices.SortFunc(ps, func(a, b Point) int {
		switch {
		case a.X != b.X:
			return sign(a.X < b.X)
		case a.Key != b.Key:
			return sign(a.Key < b.Key)
		}
		return 0
	})
	size := max(least, n/12)
	span := ps[(n-1)*99/100].X - ps[(n-1)/100].X
	var out []Window
	samples := make([]predict.Sample, 0, size)
	for from := 0; from+size <= n; from += max(size/2, 1) {
		part := ps[from : from+size]
		w := Window{From: part[0].X, Middle: part[size/2].X, To: part[size-1].X}
		if w.To-w.From > span/4 {
			continue
		}
		samples = samples[:0]
		for i := range part {
			samples = append(samples, part[i].Sample)
		}
		var err error
		if w.Summary, err = Of(samples); err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}
