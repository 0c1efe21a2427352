package predict

import (
	"fmt"
	"math"

	"tallybook/geo/near"
	"tallybook/geo/position"
)

// Site is a place to be predicted.
type Site struct {
	// At is the position, degrees, WGS 84.
	At position.LonLat
	// Category is the site's own (see Observation); 0 when unknown.
	Category uint16
	// Year is the decimal year for which the estimate is asked; it matters only
	// where recency does. 0 or NaN means the latest year among the observations.
	Year float64
	// AccuracyM is how far off the site's own position may be; 0 when known.
	AccuracyM float64
}

// LeaveOut names observations that an estimate must not see. The zero LeaveOut
// leaves out none.
type LeaveOut struct {
	// WithinM, when above zero, leaves out every well no farther than this from
	// the site, on the set's projection.
	WithinM float64
	// Skip, when not nil, leaves out the observations for which it is true. It
	// may be called from several goroutines.
	Skip func(i int32) bool
}

// query is a site on both planes.
type query struct {
	Site
	x, y float64
	out  LeaveOut
}

// voter is one of the wells around a site, nearest first.
type voter struct {
	i      int32
	east   float64 // metres from the site, on its own plane
	north  float64
	d      float64 // metres, with the accuracies of both positions in it
	weight float64 // the vote, crowding shared out, without likeness and recency
	liked  float64 // the vote with likeness and recency
	z      float64 // slid along the slope
	zHigh  float64 // the same for the upper end of 'between'
}

// entry is one value or bound of the mixture of votes and area, in ascending
// order. Both columns of weights sum to one.
type entry struct {
	value, high float64
	near, area  float64
	bound       Bound
}

// Predictor estimates one site after another without allocating. It is for one
// goroutine; make one for each with Model.Predictor.
type Predictor struct {
	obs    *Observations
	params Params
	model  *Model // nil while testing

	hits    []near.Hit
	voters  []voter // nearest max(Near, SlopeWells); the first near of them vote
	crowd   []crowder
	decay   decay
	near    int
	areaN   int
	d8      float64
	slopeE  float64 // fitted slope of z, per D8 to the east
	slopeN  float64
	blur    float64
	total   float64 // sum of the votes
	ranks   []uint64
	areaW   []float64 // weights of hits[:areaN], summing to one, when they differ
	entries []entry
	ballots []ballot
	runs    [4][]entry // votes blurred down, as they are, blurred up; the area
	merged  [2][]entry
	swap    []uint64
	pool    []rival
	dealt   []rival // the pool in steps of distance
	ends    [rungs]int32
	bounded bool

	points []point
	filled int // how many points the last distribution of this mixture was built from
	censor censoring
	mixed  Distribution
	around []near.Hit // test wells around the site

	among, tests vicinity // of a tile: wells, test wells
}

func newPredictor(o *Observations, p Params) *Predictor {
	return &Predictor{obs: o, params: p, decay: newDecay()}
}

// place projects a site.
func (p *Predictor) place(s Site, out LeaveOut) query {
	x, y := p.obs.projection.Forward(s.At)
	return query{Site: s, x: x, y: y, out: out}
}

// own is the query at the position of observation i itself.
func (p *Predictor) own(i int32, out LeaveOut) query {
	w := &p.obs.wells[i]
	x, y := p.obs.index.At(int(i))
	return query{
		Site: Site{At: w.at, Category: w.category, Year: float64(w.year), AccuracyM: float64(w.accuracyM)},
		x:    x, y: y, out: out,
	}
}

// find fills p.hits with the wells around the site, enough for the area and the
// slope, or all there are: nearest first, or where a tile's candidates are at
// hand the voters nearest first and the rest of the area behind them.
func (p *Predictor) find(q *query) error {
	if !finite(q.x) || !finite(q.y) {
		return fmt.Errorf("predict: site %v has no place on the plane", q.At)
	}
	n := p.obs.Len()
	p.areaN = p.params.areaWells(n)
	want := min(n, max(p.areaN, p.params.Near, p.params.SlopeWells))
	if len(p.among.points) > 0 && q.out.Skip == nil && q.out.WithinM <= 0 && want == p.areaN {
		p.findAmong(q, want)
	} else if q.out.WithinM <= 0 {
		p.search(q, want)
	} else {
		// The wells left out by distance are the first to be found.
		for extra := 4; ; extra *= 4 {
			p.search(q, want+extra)
			found := len(p.hits)
			drop := 0
			for drop < found && p.hits[drop].D2 <= q.out.WithinM*q.out.WithinM {
				drop++
			}
			if found-drop >= want || found < want+extra {
				p.hits = p.hits[:copy(p.hits, p.hits[drop:])]
				break
			}
		}
	}
	p.hits = p.hits[:min(len(p.hits), want)]
	p.areaN = min(p.areaN, len(p.hits))
	if len(p.hits) == 0 {
		return ErrTooFew
	}
	return nil
}

func (p *Predictor) search(q *query, k int) {
	if q.out.Skip == nil {
		p.hits = p.obs.index.Nearest(q.x, q.y, k, p.hits)
		return
	}
	p.hits = p.obs.index.NearestFunc(q.x, q.y, k, q.out.Skip, p.hits)
}

// gather does all that depends on the site's place alone: the voters measured on
// a plane centred at the site, their votes with crowding, and the slope.
func (p *Predictor) gather(q *query) error {
	if err := p.find(q); err != nil {
		return err
	}
	k := min(len(p.hits), max(p.params.Near, p.params.SlopeWells))
	p.voters = resize(p.voters, k)
	plane := position.NewPlane(q.At)
	own2 := 0.0
	if q.AccuracyM > 0 {
		own2 = q.AccuracyM * q.AccuracyM
	}
	for j := range p.voters {
		i := p.hits[j].I
		w := &p.obs.wells[i]
		e, n := plane.ToXY(w.at)
		acc := float64(w.accuracyM)
		d := math.Sqrt(float64(e*e) + float64(n*n) + float64(acc*acc) + own2)
		// Kept in order of distance as they come: on a fair projection they
		// hardly ever move, and equal ones keep the order of their keys.
		at := j
		for at > 0 && p.voters[at-1].d > d {
			p.voters[at] = p.voters[at-1]
			at--
		}
		p.voters[at] = voter{i: i, east: e, north: n, d: d}
	}
	p.rankArea()
	p.near = min(k, p.params.Near)
	nearest := min(p.near, 8)
	p.d8 = 0
	for j := range nearest {
		p.d8 += p.voters[j].d
	}
	p.d8 = max(p.d8/float64(nearest), 0.5)
	p.vote()
	p.fitSlope()
	p.slide()
	return nil
}

// prepare completes the mixture for a given gamma: likeness, recency, blur, and
// all values in order. It may be called again with another gamma.
func (p *Predictor) prepare(q *query, gamma float64) {
	p.like(q, gamma)
	p.weighArea(q, gamma)
	p.mix()
}

// distribution fills d with the mixture at a given kappa.
func (p *Predictor) distribution(kappa float64, d *Distribution) {
	whole := p.total + kappa
	p.fill(p.total/whole, kappa/whole, d)
}

// areaAlone fills d with the area's own distribution.
func (p *Predictor) areaAlone(d *Distribution) { p.fill(0, 1, d) }

func (p *Predictor) fill(nearShare, areaShare float64, d *Distribution) {
	if p.bounded {
		p.points = p.points[:0]
		for i := range p.entries {
			e := &p.entries[i]
			if w := float64(nearShare*e.near) + float64(areaShare*e.area); w > 0 {
				p.points = append(p.points, point{value: e.value, high: e.high, weight: w, bound: e.bound})
			}
		}
		p.censor.warm = p.censor.rough && p.filled == len(p.points)
		p.filled = len(p.points)
		p.censor.build(p.points, d)
		return
	}
	d.reset()
	d.hold(len(p.entries))
	n := 0
	var sum float64
	at := -1.0
	for i := range p.entries {
		e := &p.entries[i]
		w := float64(nearShare*e.near) + float64(areaShare*e.area)
		if w <= 0 {
			continue
		}
		sum += w
		if e.value == at {
			d.cum[n-1] = sum
			d.half[n-1] = max(d.half[n-1], w/2)
			continue
		}
		at = e.value
		d.values[n], d.cum[n], d.half[n] = at, sum, w/2
		n++
	}
	d.hold(n)
	per := 1 / sum
	for i := range d.cum {
		d.cum[i] *= per
		d.half[i] *= per
	}
	d.cum[len(d.cum)-1] = 1
}
