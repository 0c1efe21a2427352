package records

// casing judges casing and bores, each by itself and one with another.
func (v *validator) casing(w *Well) {
	total, known := w.TotalDepth.Number()
	for i := range w.Casing {
		c := &w.Casing[i]
		v.row("casing", i)
		v.interval(&c.From, &c.To, total, known)
		wall, okWall := c.Wall.Number()
		outside, okOutside := c.OutsideDia.Number()
		if okWall && okOutside && 2*wall >= outside && outside > 0 {
			v.warn("wall_mm", decimals(float64(wall), 2)+" mm leaves no room within an outside diameter of "+decimals(float64(outside), 1)+" mm", "check the unit")
		}
	}
	v.top()
	if len(w.Casing) > v.limits.PairwiseRows || len(w.Bores) > v.limits.PairwiseRows {
		return
	}
	for i := range w.Casing {
		v.twice(w, i)
		v.roomFor(w, i)
	}
	v.top()
}

// twice refuses a casing where another of the same diameter already stands.
func (v *validator) twice(w *Well, i int) {
	c := &w.Casing[i]
	size, ok := c.size()
	if !ok {
		return
	}
	for k := range i {
		other := &w.Casing[k]
		otherSize, ok := other.size()
		if !ok || otherSize != size || other.Material != c.Material {
			continue
		}
		if top, bottom, ok := overlap(c.From, c.To, other.From, other.To); ok && float64(bottom-top) > v.limits.GapM {
			v.row("casing", i)
			v.refuse("from_m", "casing of "+decimals(float64(size), 1)+" mm stands twice from "+metres(top)+" to "+metres(bottom)+
				", here and in "+(trail{{"casing", k}}).to(""), "take one out, or correct its depths or diameter")
			return
		}
	}
}

// size is what the casing takes up: its outside diameter, or where that was
// not written down its nominal one, which is smaller.
func (c *Casing) size() (Diameter, bool) {
	if d, ok := c.OutsideDia.Number(); ok {
		return d, true
	}
	return c.Diameter.Number()
}

// overlap is the interval that two intervals share.
func overlap(aFrom, aTo, bFrom, bTo Amount[Depth]) (top, bottom Depth, ok bool) {
	a, ok1 := aFrom.Number()
	b, ok2 := aTo.Number()
	c, ok3 := bFrom.Number()
	d, ok4 := bTo.Number()
	top, bottom = max(a, c), min(b, d)
	return top, bottom, ok1 && ok2 && ok3 && ok4 && bottom > top
}

// roomFor warns of a casing wider than the hole it stands in.
func (v *validator) roomFor(w *Well, i int) {
	c := &w.Casing[i]
	size, ok := c.size()
	if !ok {
		return
	}
	for k := range w.Bores {
		b := &w.Bores[k]
		bore, ok := b.Diameter.Number()
		if !ok || bore >= size || b.Method == "driven" {
			continue
		}
		top, bottom, ok := overlap(c.From, c.To, b.From, b.To)
		if !ok || float64(bottom-top) <= v.limits.GapM {
			continue
		}
		if widest, _ := w.boreAt(float64(top+bottom) / 2); widest >= float64(size) {
			continue // reamed: a wider bore is recorded there too
		}
		v.row("casing", i)
		v.warn(c.sizeName(), decimals(float64(size), 1)+" mm is wider than the hole, "+decimals(float64(bore), 1)+" mm from "+metres(top)+" to "+metres(bottom), "check both diameters")
		return
	}
}

func (c *Casing) sizeName() string {
	if _, ok := c.OutsideDia.Number(); ok {
		return "outside_diameter_mm"
	}
	return "diameter_mm"
}
