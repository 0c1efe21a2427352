package predict

import (
	"math"

	"tallybook/geo/position"
)

// Model is a set of observations with settings fit for it and the record of how
// the estimate did on wells that were hidden from it. It is immutable and safe
// for concurrent use. Calibrate makes one.
type Model struct {
	obs               *Observations
	params            Params
	rankLow, rankHigh float64 // of all settings alike; both zero before calibration
	areaLow, areaHigh float64
	ranks             rankLine // of the range from neighbours, by how far off they stand
	record            record
}

// NewModel makes a model without calibration: its ranges are plain quantiles and
// its verdict is always CannotSay.
func NewModel(o *Observations, p Params) (*Model, error) {
	if o.Len() == 0 {
		return nil, ErrTooFew
	}
	if err := p.Validate(); err != nil {
		return nil, err
	}
	return &Model{obs: o, params: p}, nil
}

// Params are the model's settings.
func (m *Model) Params() Params { return m.params }

// Observations are what the model stands on.
func (m *Model) Observations() *Observations { return m.obs }

// Predictor makes a predictor for one goroutine.
func (m *Model) Predictor() *Predictor {
	p := newPredictor(m.obs, m.params)
	p.model = m
	return p
}

// Neighbour is a well that voted.
type Neighbour struct {
	// Row is the observation's number, as given to NewObservations.
	Row int
	// Share is its part of the whole weight, votes and area together. The area's
	// part is Basis.AreaShare (and the well itself belongs to the area as well).
	Share float64
	// DistanceM is how far it is, without the accuracy of positions; BearingDeg
	// the direction from the site to it, clockwise from north in [0, 360).
	DistanceM, BearingDeg float64
	// Value, High and Bound are what it says.
	Value, High float64
	Bound       Bound
	// Unlike says that its category differs from the site's.
	Unlike bool
}

// Basis is what an estimate stands on.
type Basis struct {
	// Wells is how many observations the whole set holds.
	Wells int
	// Voters is how many nearest wells voted, AreaWells how many made the area,
	// AreaRadiusM how far the farthest of them is, AreaShare their part of the
	// whole weight.
	Voters, AreaWells int
	AreaRadiusM       float64
	AreaShare         float64
	// Bounds is how many of the wells used say a bound and not a value.
	Bounds int
	// NearestM is the distance to the nearest well used.
	NearestM float64
	// FirstYear and LastYear are the span of the voters' years; NaN when none is
	// dated.
	FirstYear, LastYear float64
}

// farM is the distance to the nearest well beyond which ranges held fewer
// outcomes than they should (70 to 76 % where 80 were promised).
const farM = 4000

// fewWells is the number of wells under which estimates are to be taken with
// care; under half of it a quarter of windows had negative skill.
const fewWells = 100

// Far reports whether the nearest well is so far (over 4 km) that ranges have
// held less than they promised.
func (b Basis) Far() bool { return b.NearestM > farM }

// Few reports whether so few wells stand behind the estimate (under 100) that it
// is to be taken with care.
func (b Basis) Few() bool { return b.Wells < fewWells }

// Estimate is the answer for one site.
type Estimate struct {
	// FromNeighbours is the estimate from neighbours, Area the area's own
	// distribution. Best picks between them.
	FromNeighbours, Area Distribution
	Skill                LocalSkill
	Basis                Basis
	// Neighbours are the voters, nearest first.
	Neighbours []Neighbour
	outcomes   []Outcome
}

// Best is the distribution to go by: the area's own where the neighbours say no
// more than the area, else the one from neighbours.
func (e *Estimate) Best() *Distribution {
	if e.Skill.Verdict == NoMoreThanArea {
		return &e.Area
	}
	return &e.FromNeighbours
}

// At estimates one site. It returns ErrTooFew when LeaveOut leaves nothing, and
// an error for a position that is not finite.
func (m *Model) At(site Site, out LeaveOut) (Estimate, error) {
	p := m.Predictor()
	q := p.place(site, out)
	if err := p.gather(&q); err != nil {
		return Estimate{}, err
	}
	p.prepare(&q, m.params.Gamma)
	var e Estimate
	p.distribution(m.params.Kappa, &e.FromNeighbours)
	p.areaAlone(&e.Area)
	e.FromNeighbours.rankLow, e.FromNeighbours.rankHigh = m.ranksAt(p.d8)
	e.Area.rankLow, e.Area.rankHigh = m.areaLow, m.areaHigh
	e.Skill, _ = m.localSkill(q.x, q.y, nil)
	p.describe(&q, &e)
	e.outcomes = p.outcomes(e.Skill.Verdict == NoMoreThanArea)
	return e, nil
}

// describe fills in what the estimate stands on.
func (p *Predictor) describe(q *query, e *Estimate) {
	whole := p.total + p.params.Kappa
	b := &e.Basis
	*b = Basis{
		Wells: p.obs.Len(), Voters: p.near, AreaWells: p.areaN, AreaShare: p.params.Kappa / whole,
		AreaRadiusM: math.Sqrt(p.hits[p.areaN-1].D2),
		FirstYear:   math.NaN(), LastYear: math.NaN(), NearestM: p.nearestM(),
	}
	e.Neighbours = make([]Neighbour, p.near)
	seen := make(map[int32]bool, p.near)
	for j := range e.Neighbours {
		v := &p.voters[j]
		w := &p.obs.wells[v.i]
		s := p.obs.sample(v.i)
		bearing := math.Atan2(v.east, v.north) * 180 / math.Pi
		if bearing < 0 {
			bearing += 360
		}
		e.Neighbours[j] = Neighbour{
			Row: int(v.i), Share: v.liked / whole,
			DistanceM: math.Hypot(v.east, v.north), BearingDeg: bearing,
			Value: s.Value, High: s.High, Bound: s.Bound,
			Unlike: q.Category != 0 && w.category != 0 && q.Category != w.category,
		}
		if w.bound != Exact {
			b.Bounds++
		}
		seen[v.i] = true
		if y := float64(w.year); !math.IsNaN(y) {
			if !(b.FirstYear <= y) {
				b.FirstYear = y
			}
			if !(b.LastYear >= y) {
				b.LastYear = y
			}
		}
	}
	for _, h := range p.hits[:p.areaN] {
		if p.obs.wells[h.I].bound != Exact && !seen[h.I] {
			b.Bounds++
		}
	}
}

// Distribution estimates one site without allocating and without the record of
// what it stands on. The result is the predictor's own and lasts until its next
// call. The verdict is applied as in Estimate.Best.
func (p *Predictor) Distribution(site Site, out LeaveOut) (*Distribution, LocalSkill, error) {
	q := p.place(site, out)
	return p.answer(&q)
}

func (p *Predictor) answer(q *query) (*Distribution, LocalSkill, error) {
	if err := p.gather(q); err != nil {
		return nil, LocalSkill{}, err
	}
	p.prepare(q, p.params.Gamma)
	var s LocalSkill
	if len(p.tests.points) > 0 && q.out.Skip == nil && q.out.WithinM <= 0 {
		s = p.skillAmong(q)
	} else {
		s, p.around = p.model.localSkill(q.x, q.y, p.around)
	}
	d := &p.mixed
	if s.Verdict == NoMoreThanArea {
		p.areaAlone(d)
		d.rankLow, d.rankHigh = p.model.areaLow, p.model.areaHigh
	} else {
		p.distribution(p.params.Kappa, d)
		d.rankLow, d.rankHigh = p.model.ranksAt(p.d8)
	}
	return d, s, nil
}

// nearestM is the distance to the nearest voter, without the accuracy of
// positions.
func (p *Predictor) nearestM() float64 {
	least := math.Inf(1)
	for j := range p.voters[:p.near] {
		v := &p.voters[j]
		least = min(least, math.Hypot(v.east, v.north))
	}
	return least
}

// At is the site at a position, of unknown category.
func At(lonDeg, latDeg float64) Site {
	return Site{At: position.LonLat{Lon: lonDeg, Lat: latDeg}}
}
