package variogram

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
)

// Binning says which pairs are compared and how they are grouped.
type Binning struct {
	WidthM  float64 // of a lag, metres; a pair at the very end of a lag belongs to it
	CutoffM float64 // no pair farther apart than this counts

	// Only pairs within ToleranceDeg of the line along AzimuthDeg (degrees
	// clockwise from north; a line has no sense, so 0 and 180 are the same)
	// count. A tolerance of 0, or of 90 and more, takes all directions.
	AzimuthDeg, ToleranceDeg float64
}

// maxLags keeps a mistyped width from asking for memory without end.
const maxLags = 100_000

// Validate reports the first parameter out of its range.
func (b Binning) Validate() error {
	switch {
	case !(b.WidthM > 0) || math.IsInf(b.WidthM, 0):
		return fmt.Errorf("variogram: lag width %g m must be finite and above zero", b.WidthM)
	case !(b.CutoffM > 0) || math.IsInf(b.CutoffM, 0):
		return fmt.Errorf("variogram: cutoff %g m must be finite and above zero", b.CutoffM)
	case b.CutoffM/b.WidthM > maxLags:
		return fmt.Errorf("variogram: more than %d lags of %g m up to %g m", maxLags, b.WidthM, b.CutoffM)
	case !(b.ToleranceDeg >= 0):
		return fmt.Errorf("variogram: tolerance of %g degrees must not be negative", b.ToleranceDeg)
	case math.IsInf(b.AzimuthDeg, 0) || b.AzimuthDeg != b.AzimuthDeg:
		return fmt.Errorf("variogram: azimuth %g must be finite", b.AzimuthDeg)
	}
	return nil
}

// Lag is the pairs of one class of distance. With no pairs its means are NaN.
type Lag struct {
	FromM, ToM float64 // the class: above FromM, up to ToM
	Pairs      int
	MeanM      float64 // the mean distance of its pairs

	// Half the mean squared difference: G. Matheron, 'Principles of
	// geostatistics', Economic Geology 58, 1963.
	Matheron float64
	// The estimate that a few wild values cannot spoil: half of the fourth
	// power of the mean root difference over 0.457 + 0.494/N, N. Cressie and
	// D. M. Hawkins, 'Robust estimation of the variogram: I', Mathematical
	// Geology 12, 1980.
	CressieHawkins float64
}

// Empirical is what the samples themselves show.
type Empirical struct {
	Lags []Lag // all classes up to the cutoff, those without pairs too
	// CoLocated is the pairs at the very same place, whatever the direction.
	// They belong to no lag: what they differ by is all nugget.
	CoLocated Lag
}

// tally sums up the pairs of a lag.
type tally struct {
	pairs               int
	distM, square, root float64
}

func (t *tally) add(distM, diff float64) {
	t.pairs++
	t.distM += distM
	t.square += diff * diff
	t.root += math.Sqrt(math.Abs(diff))
}

func (t tally) lag(fromM, toM float64) Lag {
	n := float64(t.pairs)
	root := t.root / n
	return Lag{
		FromM: fromM, ToM: toM, Pairs: t.pairs, MeanM: t.distM / n,
		Matheron:       t.square / n / 2,
		CressieHawkins: root * root * root * root / (0.457 + 0.494/n) / 2,
	}
}

// Measure compares all pairs of samples up to the cutoff. Its time grows with
// their number, which for n samples may be n^2/2: callers with very many draw
// some of them, or shorten the cutoff. It stops when ctx does.
func Measure(ctx context.Context, x, y, values []float64, b Binning) (Empirical, error) {
	if err := b.Validate(); err != nil {
		return Empirical{}, err
	}
	if err := checkSamples(x, y, values); err != nil {
		return Empirical{}, err
	}
	order := eastward(x, y, values)
	// The little taken off keeps a cutoff of 15 widths from making 16 lags.
	tallies := make([]tally, max(1, int(math.Ceil(b.CutoffM/b.WidthM-1e-9))))
	var same tally
	sin, cos := math.Sincos(b.AzimuthDeg * math.Pi / 180)
	all := b.ToleranceDeg == 0 || b.ToleranceDeg >= 90
	least := math.Cos(b.ToleranceDeg * math.Pi / 180)
	for a, i := range order {
		if a%256 == 0 && ctx.Err() != nil {
			return Empirical{}, ctx.Err()
		}
		for _, j := range order[a+1:] {
			dx, dy := x[j]-x[i], y[j]-y[i]
			if dx > b.CutoffM {
				break
			}
			d := math.Sqrt(dx*dx + dy*dy)
			switch {
			case d > b.CutoffM:
			case d == 0:
				same.add(0, values[j]-values[i])
			case all || math.Abs(dx*sin+dy*cos)/d >= least:
				bin := int(math.Ceil(d/b.WidthM)) - 1
				tallies[min(max(bin, 0), len(tallies)-1)].add(d, values[j]-values[i])
			}
		}
	}
	e := Empirical{Lags: make([]Lag, len(tallies)), CoLocated: same.lag(0, 0)}
	for i, t := range tallies {
		e.Lags[i] = t.lag(float64(i)*b.WidthM, min(float64(i+1)*b.WidthM, b.CutoffM))
	}
	return e, nil
}

// eastward is the samples from west to east, so that pairs too far apart are
// not looked at and the caller's order changes nothing.
func eastward(x, y, values []float64) []int32 {
	order := make([]int32, len(x))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(x[a], x[b]), cmp.Compare(y[a], y[b]), cmp.Compare(values[a], values[b]))
	})
	return order
}

func checkSamples(x, y, values []float64) error {
	if len(x) != len(y) || len(x) != len(values) {
		return fmt.Errorf("variogram: %d x and %d y coordinates but %d values", len(x), len(y), len(values))
	}
	for i := range x {
		// The difference of a number with itself is not zero when it is
		// infinite or not a number.
		if x[i]-x[i] != 0 || y[i]-y[i] != 0 || values[i]-values[i] != 0 {
			return fmt.Errorf("variogram: sample %d (%g at %g, %g) is not finite", i, values[i], x[i], y[i])
		}
	}
	return nil
}
