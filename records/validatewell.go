package records

// well judges what the values of a record say of one another.
func (v *validator) well(w *Well) {
	v.dates(w)
	v.depths(w)
	if len(w.Strata) <= v.limits.Rows {
		v.strata(w)
	}
	if len(w.Casing) <= v.limits.Rows && len(w.Bores) <= v.limits.Rows {
		v.casing(w)
	}
	v.intervals(w)
	v.water(w)
	v.bedrock(w)
	v.judgement(w)
}

func (v *validator) dates(w *Well) {
	const mend = "correct the one that is wrong"
	if w.Completed.Before(w.Started) {
		v.refuse("completed", w.Completed.String()+" is before the start on "+w.Started.String(), mend)
	}
	for i := range w.Works {
		if k := &w.Works[i]; k.Completed.Before(k.Started) {
			v.row("works", i)
			v.refuse("completed", k.Completed.String()+" is before the start on "+k.Started.String(), mend)
		}
	}
	v.top()
}

func metres(d Depth) string { return inWords(Of(d)) }

// within warns of what lies deeper than the hole.
func (v *validator) within(name string, a *Amount[Depth], total Depth, known bool) {
	if d, ok := a.Number(); ok && known && float64(d-total) > v.limits.GapM {
		v.warn(name, metres(d)+" is deeper than the total depth, "+metres(total), "check both")
	}
}

func (v *validator) depths(w *Well) {
	total, known := w.TotalDepth.Number()
	if known && float64(total) > v.limits.DoubtDepthM && float64(total) <= v.limits.DepthM {
		v.warn("total_depth_m", metres(total)+" is deep for a water well", "check the unit and the decimal point")
	}
	v.within("completed_depth_m", &w.CompletedDepth, total, known)
	v.within("depth_to_bedrock_m", &w.Bedrock, total, known)
	v.within("static_level_m", &w.StaticLevel, total, known)
	v.path = append(v.path[:0], step{"pump", -1})
	v.within("set_depth_m", &w.Pump.SetDepth, total, known)
	for i := range w.Strikes {
		s := &w.Strikes[i]
		v.row("strikes", i)
		if s.Depth.Qualifier != Missing && s.Depth.Value < 0 {
			v.refuse("depth_m", metres(s.Depth.Value)+" is above ground", "give the depth down from ground")
		}
		v.within("depth_m", &s.Depth, total, known)
	}
	v.top()
}

// strata judges the log: it must go down, and no ground be there twice.
func (v *validator) strata(w *Well) {
	for i := range w.Strata {
		v.stratum(w, i)
	}
	v.top()
	if len(w.Strata) == 0 {
		return
	}
	var room [32]span
	spans := appendSpans(room[:0], w)
	total, known := w.TotalDepth.Number()
	bottom, above := 0.0, -1
	for i := range spans {
		s := &spans[i]
		v.row("strata", s.index)
		switch gap := s.top - bottom; {
		case gap > v.limits.GapM:
			v.warn("top_m", metres(Depth(bottom))+" to "+metres(Depth(s.top))+" was not logged", "kept and shown as not logged; fill it in if it is known")
		case gap < -v.limits.GapM && s.thick() > 0:
			v.refuse("top_m", metres(Depth(s.top))+" lies within "+(trail{{"strata", spans[max(above, 0)].index}}).to("")+", which ends at "+metres(Depth(bottom)),
				"let each stratum begin where the one above it ends")
		}
		if s.bottom >= bottom {
			bottom, above = s.bottom, i
		}
	}
	if len(spans) > 0 && known && bottom-float64(total) > v.limits.GapM {
		v.row("strata", spans[max(above, 0)].index)
		v.warn("bottom_m", metres(Depth(bottom))+" is deeper than the total depth, "+metres(total), "check both")
	}
	v.top()
}

// stratum judges the two depths of one stratum.
func (v *validator) stratum(w *Well, i int) {
	s := &w.Strata[i]
	v.row("strata", i)
	if s.Top.Qualifier.IsBound() {
		v.refuse("top_m", inWords(s.Top)+" is a bound where a depth is needed", "give the depth, or 'about' it")
	}
	last := i == len(w.Strata)-1
	if s.Bottom.Qualifier.IsBound() && !(last && s.Bottom.Qualifier == GreaterThan) {
		v.refuse("bottom_m", inWords(s.Bottom)+" is a bound where a depth is needed", "give the depth, or 'about' it")
	}
	if s.Top.Qualifier == Missing && i > 0 {
		v.warn("top_m", "has no depth", "read as the bottom of the stratum above it")
	}
	if s.Bottom.Qualifier == Missing {
		v.warn("bottom_m", "has no depth", "read as the top of the next stratum, or as the total depth for the last")
	}
	if s.Top.Known() && s.Top.Value < 0 {
		v.refuse("top_m", metres(s.Top.Value)+" is above ground", "give depths down from ground")
	}
	v.backwards("top_m", &s.Top, "bottom_m", &s.Bottom)
}

// backwards refuses an interval that runs up.
func (v *validator) backwards(fromName string, from *Amount[Depth], toName string, to *Amount[Depth]) {
	a, okA := from.Number()
	b, okB := to.Number()
	if okA && okB && b < a {
		v.refuse(toName, metres(b)+" is above "+fromName+", "+metres(a), "give the upper depth first")
	}
}

// intervals judges the lists of intervals that may overlap.
func (v *validator) intervals(w *Well) {
	total, known := w.TotalDepth.Number()
	for i := range w.Bores {
		b := &w.Bores[i]
		v.row("bores", i)
		v.interval(&b.From, &b.To, total, known)
	}
	for i := range w.Screens {
		s := &w.Screens[i]
		v.row("screens", i)
		v.interval(&s.From, &s.To, total, known)
	}
	seat, cased := w.CasingSeat()
	for i := range w.Grout {
		g := &w.Grout[i]
		v.row("grout", i)
		v.interval(&g.From, &g.To, total, known)
		if to, ok := g.To.Number(); ok && cased && float64(to-seat) > v.limits.GapM {
			v.warn("to_m", metres(to)+" is deeper than the casing, which ends at "+metres(seat), "check both")
		}
	}
	for i := range w.Shifts {
		v.row("shifts", i)
		v.backwards("from_m", &w.Shifts[i].From, "to_m", &w.Shifts[i].To)
	}
	for i := range w.Treatments {
		v.row("treatments", i)
		v.backwards("from_m", &w.Treatments[i].From, "to_m", &w.Treatments[i].To)
	}
	for i := range w.Rods {
		v.row("rods", i)
		v.interval(&w.Rods[i].From, &w.Rods[i].To, total, known)
	}
	v.top()
}

// interval judges an interval in the ground.
func (v *validator) interval(from, to *Amount[Depth], total Depth, known bool) {
	for _, a := range [...]struct {
		name string
		a    *Amount[Depth]
	}{{"from_m", from}, {"to_m", to}} {
		if a.a.Qualifier.IsBound() {
			v.warn(a.name, inWords(*a.a)+" is a bound where a depth is needed", "kept, but not drawn or computed with")
		}
	}
	if from.Known() && float64(from.Value) < -v.limits.StickUpM {
		v.warn("from_m", metres(from.Value)+" is high above ground", "give depths down from ground")
	}
	v.backwards("from_m", from, "to_m", to)
	v.within("to_m", to, total, known)
}

// water judges levels and yields.
func (v *validator) water(w *Well) {
	total, known := w.TotalDepth.Number()
	for i := range w.StaticLevels {
		v.row("static_levels", i)
		v.within("depth_m", &w.StaticLevels[i].Depth, total, known)
	}
	for i := range w.YieldTests {
		t := &w.YieldTests[i]
		v.row("yield_tests", i)
		v.within("pump_depth_m", &t.PumpDepth, total, known)
		measured, okM := t.Measured.Number()
		net, okN := t.Net.Number()
		if okM && okN && float64(net) > float64(measured)*(1+1e-9) {
			v.warn("net_flow_lps", decimals(float64(net), 3)+" L/s is more than was measured, "+decimals(float64(measured), 3)+" L/s", "check both")
		}
	}
	v.top()
	if len(w.Strikes) > 1 && w.StrikesAs == "running_total" {
		v.runningTotal(w)
	}
}

// runningTotal warns of a running total that falls on the way down.
func (v *validator) runningTotal(w *Well) {
	for i := 1; i < len(w.Strikes); i++ {
		a, b := &w.Strikes[i-1], &w.Strikes[i]
		upper, okU := a.Depth.Number()
		lower, okL := b.Depth.Number()
		before, okB := a.Flow.Number()
		after, okA := b.Flow.Number()
		if okU && okL && okB && okA && lower >= upper && after < before {
			v.row("strikes", i)
			v.warn("flow_lps", "a running total falls from "+decimals(float64(before), 3)+" to "+decimals(float64(after), 3)+" L/s on the way down",
				"check whether the strikes were given as gains")
		}
	}
	v.top()
}

// bedrock warns where strata, stated depth and casing seat disagree.
func (v *validator) bedrock(w *Well) {
	var spanRoom [32]span
	var groundRoom [32]Ground
	var spans []span
	var grounds []Ground
	if v.reader != nil && len(w.Strata) <= v.limits.Rows {
		spans = appendSpans(spanRoom[:0], w)
		grounds = appendGrounds(groundRoom[:0], w, v.reader)
	}
	p := v.rules.judge(w, spans, grounds)
	if !p.clash.any() {
		return
	}
	if p.clash.strataStated {
		v.warn("depth_to_bedrock_m", p.why(), "check the strata and the stated depth")
		return
	}
	v.warn("casing", p.why(), "check the depth of the casing: it is seated above where rock begins")
}
