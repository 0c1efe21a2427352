package predict

import (
	"math"
)

// vote gives each of the nearest wells its weight: by distance, and shared among
// those that stand together.
func (p *Predictor) vote() {
	vs := p.voters[:p.near]
	scale := 1 / (p.params.WeightScale * p.d8)
	for j := range vs {
		r := vs[j].d * scale
		vs[j].weight = 1 / (1 + float64(r*r))
	}
	if p.params.CrowdExponent == 0 {
		return
	}
	p.crowd = resize(p.crowd, len(vs))
	for j := range vs {
		p.crowd[j] = crowder{vs[j].east, vs[j].north, 1} // itself
	}
	p.crowding(1 / (p.params.CrowdScale * p.d8))
	for j := range vs {
		if p.params.CrowdExponent == 1 {
			vs[j].weight /= p.crowd[j].sum
			continue
		}
		vs[j].weight /= math.Pow(p.crowd[j].sum, p.params.CrowdExponent)
	}
}

// crowder is a voter as its neighbours see it: where it stands and how many
// stand about it, the nearer the more.
type crowder struct{ east, north, sum float64 }

// crowding adds exp(-h perM) to the sums of each two wells h metres apart.
func (p *Predictor) crowding(perM float64) {
	for j := range p.crowd {
		a := &p.crowd[j]
		sum := a.sum
		for k := range p.crowd[:j] {
			b := &p.crowd[k]
			e, n := a.east-b.east, a.north-b.north
			x := perM * math.Sqrt(float64(e*e)+float64(n*n))
			if x > 36 {
				continue // e^-36 is below the last digit of a sum that is at least 1
			}
			s := p.decay.of(x)
			sum += s
			b.sum += s
		}
		a.sum = sum
	}
}

// fitSlope fits z to position by weighted, ridged least squares over the nearest
// wells that have a value: b = (Cov(u) + ridge I)^-1 Cov(u, z), u in units of D8.
func (p *Predictor) fitSlope() {
	p.slopeE, p.slopeN = 0, 0
	if p.params.SlopeShare == 0 {
		return
	}
	vs := p.voters[:min(len(p.voters), p.params.SlopeWells)]
	perScale := 1 / (p.params.SlopeScale * p.d8)
	perD8 := 1 / p.d8
	var sv, se, sn, sz float64
	exact := 0
	for j := range vs {
		w := &p.obs.wells[vs[j].i]
		if w.bound != Exact {
			continue
		}
		r := vs[j].d * perScale
		v := 1 / (1 + float64(r*r))
		exact++
		sv += v
		se += float64(v * vs[j].east)
		sn += float64(v * vs[j].north)
		sz += float64(v * w.z)
	}
	if exact < 3 {
		return // two wells make no plane
	}
	me, mn, mz := se/sv, sn/sv, sz/sv
	var ee, nn, en, ez, nz float64
	for j := range vs {
		w := &p.obs.wells[vs[j].i]
		if w.bound != Exact {
			continue
		}
		r := vs[j].d * perScale
		v := 1 / (1 + float64(r*r)) / sv
		e, n, z := (vs[j].east-me)*perD8, (vs[j].north-mn)*perD8, w.z-mz
		ee += float64(v * e * e)
		nn += float64(v * n * n)
		en += float64(v * e * n)
		ez += float64(v * e * z)
		nz += float64(v * n * z)
	}
	ee += p.params.SlopeRidge
	nn += p.params.SlopeRidge
	det := float64(ee*nn) - float64(en*en) // at least ridge^2
	p.slopeE = (float64(nn*ez) - float64(en*nz)) / det
	p.slopeN = (float64(ee*nz) - float64(en*ez)) / det
}

// slide moves the voters' z along the slope to the site. Measured zeros stay.
func (p *Predictor) slide() {
	share := p.params.SlopeShare / p.d8
	for j := range p.voters[:p.near] {
		v := &p.voters[j]
		w := &p.obs.wells[v.i]
		move := p.params.LevelShift - share*(float64(p.slopeE*v.east)+float64(p.slopeN*v.north))
		v.z = w.z + move
		if w.bound == Between {
			v.zHigh = math.Log1p(p.obs.high[v.i]/p.obs.unit) + move
		}
	}
}

// like multiplies the votes by likeness and recency.
func (p *Predictor) like(q *query, gamma float64) {
	p.total = 0
	for j := range p.voters[:p.near] {
		v := &p.voters[j]
		v.liked = v.weight * p.factor(q, &p.obs.wells[v.i], gamma)
		p.total += v.liked
	}
}

// factor is what likeness and recency make of a well's weight.
func (p *Predictor) factor(q *query, w *well, gamma float64) float64 {
	f := 1.0
	if gamma != 1 && q.Category != 0 && w.category != 0 && q.Category != w.category {
		f = gamma
	}
	if p.params.RecencyYears > 0 && p.obs.dated > 0 {
		at, year := q.Year, float64(w.year)
		if at == 0 || math.IsNaN(at) {
			at = p.obs.lastYear
		}
		if math.IsNaN(year) {
			year = p.obs.medianYear
		}
		f *= math.Exp(-max(at-year, 0) / p.params.RecencyYears)
	}
	return f
}

// weighArea weighs the area's wells (equal but for likeness and recency) and
// takes the blur from their spread. Bounds have no part in the spread. Sums go in
// order of value, so that they do not depend on how the wells were found.
func (p *Predictor) weighArea(q *query, gamma float64) {
	p.areaW = resize(p.areaW, p.areaN)
	plain := (gamma == 1 || q.Category == 0 || !p.obs.categories) && p.params.RecencyYears == 0
	var sum float64
	for _, r := range p.ranks {
		j := uint32(r)
		p.areaW[j] = 1
		if !plain {
			p.areaW[j] = p.factor(q, &p.obs.wells[p.hits[j].I], gamma)
		}
		sum += p.areaW[j]
	}
	var sw, sz, szz float64
	for _, r := range p.ranks {
		j := uint32(r)
		p.areaW[j] /= sum
		w := &p.obs.wells[p.hits[j].I]
		if w.bound != Exact {
			continue
		}
		sw += p.areaW[j]
		sz += float64(p.areaW[j] * w.z)
	}
	p.blur = 0
	if p.params.BlurShare == 0 || sw == 0 {
		return
	}
	mean := sz / sw
	for _, r := range p.ranks {
		j := uint32(r)
		if w := &p.obs.wells[p.hits[j].I]; w.bound == Exact {
			d := w.z - mean
			szz += float64(p.areaW[j] * d * d)
		}
	}
	p.blur = p.params.BlurShare * math.Sqrt(szz/sw)
}
