package predict

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"tallybook/geo/near"
	"tallybook/geo/position"
)

// Projection maps a position to the plane on which neighbours are found, in
// metres. It must be the one that gave the observations' XM and YM.
// position.TransverseMercator is one.
type Projection interface {
	Forward(at position.LonLat) (xM, yM float64)
}

// ErrTooFew is returned where there are not enough observations to say or to
// test anything.
var ErrTooFew = errors.New("predict: too few observations")

// Observation is what one hole says of one quantity.
type Observation struct {
	// At is the position, degrees, WGS 84.
	At position.LonLat
	// XM and YM are the same position on the set's projection, metres.
	XM, YM float64
	// Value, High and Bound are as in Sample: a value or a bound.
	Value, High float64
	Bound       Bound
	// Category tells alike from unlike (rock unit, use, setting, aquifer); 0 is
	// unknown and alike to all.
	Category uint16
	// Year is the decimal year of the work; NaN when unknown.
	Year float64
	// AccuracyM is how far off the position may be; 0 or NaN when unknown.
	AccuracyM float64
	// Key breaks ties and steers draws, so that the order of rows does not
	// matter; it should be unique and lasting.
	Key uint64
}

// well is the part of an observation that estimates read, kept together so
// that a neighbour costs one line of cache.
type well struct {
	at        position.LonLat
	value     float64
	z         float64 // log(1 + value / unit)
	accuracyM float32
	year      float32 // NaN when unknown
	category  uint16
	bound     Bound
}

// Observations is an immutable set of observations of one quantity with its
// neighbour index. It is safe for concurrent use.
type Observations struct {
	wells      []well
	high       []float64 // upper ends of 'between'; nil when there are none
	key        []uint64
	rank       []uint32  // place of each well in ascending order of value
	ordered    []float64 // values in that order
	byRank     []int32   // wells in that order
	index      *near.Index
	projection Projection
	unit       float64

	bounds     int     // how many are bounds
	categories bool    // whether two known categories differ
	dated      int     // how many bear a year
	lastYear   float64 // NaN when none does
	medianYear float64 // NaN when none does
}

// ObservationOptions are the settings of NewObservations that have a default.
type ObservationOptions struct {
	// Unit is the value that counts as one in z = log(1 + value / Unit), the
	// scale on which slope and blur work. 0 means 1. Depths in metres and yields
	// in US gallons a minute were measured with 1; give 0.063 for yields kept in
	// litres a second to work on the same scale as gallons a minute.
	Unit float64
}

// NewObservations builds the set from n rows; row(i) gives the i-th, and results
// name observations by that i, so that a selection of columns kept elsewhere is
// read in place and copied once. row is called once for each i, in order.
//
// It returns an error that names the first row whose value is no finite,
// non-negative value or bound, or whose position is not finite. Building takes
// O(n log n) and about 100 bytes a row.
func NewObservations(n int, row func(i int) Observation, p Projection, o ObservationOptions) (*Observations, error) {
	if n < 0 || n > math.MaxInt32 {
		return nil, fmt.Errorf("predict: %d observations are more than can be numbered", n)
	}
	if p == nil {
		return nil, errors.New("predict: observations need the projection of their plane")
	}
	unit := o.Unit
	if unit == 0 {
		unit = 1
	}
	if !(unit > 0) || math.IsInf(unit, 1) {
		return nil, fmt.Errorf("predict: unit of the logarithm is %g, must be above zero", unit)
	}
	obs := &Observations{
		wells: make([]well, n), key: make([]uint64, n), projection: p, unit: unit,
		lastYear: math.NaN(), medianYear: math.NaN(),
	}
	x, y := make([]float64, n), make([]float64, n)
	var years []float64
	var category uint16
	for i := range n {
		r := row(i)
		s := Sample{Value: r.Value, High: r.High, Bound: r.Bound}
		if !s.valid() {
			return nil, fmt.Errorf("predict: row %d (%v %g): %w", i, r.Bound, r.Value, ErrBadSample)
		}
		if !finite(r.At.Lon) || !finite(r.At.Lat) {
			return nil, fmt.Errorf("predict: row %d has no finite position", i)
		}
		w := well{ // minus zero becomes zero, whose bits are in the order of values
			at: r.At, value: r.Value + 0, z: math.Log1p(r.Value / unit),
			year: float32(r.Year), category: r.Category, bound: r.Bound,
		}
		if r.AccuracyM > 0 && finite(r.AccuracyM) {
			w.accuracyM = float32(r.AccuracyM)
		}
		if r.Bound != Exact {
			obs.bounds++
		}
		if r.Bound == Between {
			if obs.high == nil {
				obs.high = make([]float64, n)
			}
			obs.high[i] = r.High
		}
		if r.Category != 0 {
			obs.categories = obs.categories || (category != 0 && category != r.Category)
			category = r.Category
		}
		if finite(r.Year) {
			years = append(years, r.Year)
		} else {
			w.year = float32(math.NaN())
		}
		obs.wells[i], obs.key[i], x[i], y[i] = w, r.Key, r.XM, r.YM
	}
	if len(years) > 0 {
		slices.Sort(years)
		obs.dated, obs.lastYear, obs.medianYear = len(years), years[len(years)-1], years[len(years)/2]
	}
	ranked := make(chan struct{})
	go func() {
		defer close(ranked)
		obs.order()
	}()
	index, err := near.New(x, y, obs.key)
	<-ranked
	if err != nil {
		return nil, fmt.Errorf("predict: positions on the plane: %w", err)
	}
	obs.index = index
	return obs, nil
}

// order ranks the wells by value, so that an estimate sorts its neighbours by
// small integers.
func (o *Observations) order() {
	type item struct {
		bits uint64 // of a value that is not negative: they sort as the value does
		i    int32
		side int8
	}
	items := make([]item, len(o.wells))
	for i := range o.wells {
		w := &o.wells[i]
		items[i] = item{math.Float64bits(w.value + 0), int32(i), int8(w.bound.side())}
	}
	slices.SortFunc(items, func(a, b item) int {
		switch {
		case a.bits != b.bits:
			return cmp.Compare(a.bits, b.bits)
		case a.side != b.side:
			return cmp.Compare(a.side, b.side)
		}
		return cmp.Compare(o.key[a.i], o.key[b.i])
	})
	o.rank = make([]uint32, len(items))
	o.ordered = make([]float64, len(items))
	o.byRank = make([]int32, len(items))
	for r, it := range items {
		o.rank[it.i], o.byRank[r], o.ordered[r] = uint32(r), it.i, o.wells[it.i].value
	}
}

// Len is the number of observations.
func (o *Observations) Len() int { return len(o.wells) }

// Bounds is how many of them are bounds.
func (o *Observations) Bounds() int { return o.bounds }

// LastYear is the latest year among them; NaN when none is dated.
func (o *Observations) LastYear() float64 { return o.lastYear }

// sample is what observation i says, without a weight.
func (o *Observations) sample(i int32) Sample {
	w := &o.wells[i]
	s := Sample{Value: w.value, Bound: w.bound}
	if w.bound == Between {
		s.High = o.high[i]
	}
	return s
}

// all is the distribution of the whole set, each observation counting once.
func (o *Observations) all() Distribution {
	points := make([]point, len(o.byRank))
	for r, i := range o.byRank {
		s := o.sample(i)
		points[r] = point{value: s.Value, high: s.High, weight: 1, bound: s.Bound}
	}
	if o.bounds > 0 {
		slices.SortFunc(points, comparePoints)
	}
	var d Distribution
	if len(points) > 0 {
		var c censoring
		c.build(points, &d)
	}
	return d
}

func finite(x float64) bool { return x-x == 0 }

// Observation is observation i as it was given. AccuracyM and Year are kept to
// single precision, and a missing accuracy comes back as 0.
func (o *Observations) Observation(i int) Observation {
	w := &o.wells[i]
	out := Observation{
		At: w.at, Value: w.value, Bound: w.bound, Category: w.category,
		Year: float64(w.year), AccuracyM: float64(w.accuracyM), Key: o.key[i],
	}
	if w.bound == Between {
		out.High = o.high[i]
	}
	out.XM, out.YM = o.index.At(i)
	return out
}

// Unit is the value that counts as one on the logarithmic scale.
func (o *Observations) Unit() float64 { return o.unit }
