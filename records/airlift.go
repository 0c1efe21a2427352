package records

import "math"

// AirliftRules are what readings of an airlift test are trusted to. All are
// ours, no source; an office may use others.
type AirliftRules struct {
	FlowShare   float64 // one standard deviation of a measured flow, as a share of it
	AboutFactor float64 // how much wider where a reading is 'about'
	LevelM      float64 // one standard deviation of a level while blowing, metres
}

// DefaultAirliftRules gives the values used unless an office sets its own.
func DefaultAirliftRules() AirliftRules {
	return AirliftRules{FlowShare: 0.10, AboutFactor: 2, LevelM: 1}
}

// NetYield is what an airlift test says of the hole itself.
type NetYield struct {
	Net         Amount[Flow] // never below zero; Missing where nothing was measured
	Uncertainty Flow         // one standard deviation of Net
	Measured    Flow
	Injected    Flow
	FromHole    Flow // water the hole itself gave up while its level fell
	// Unsteady: the reading was taken before the level had steadied, or
	// nobody wrote whether it had. Net may then be too high.
	Unsteady bool
	// HoleUnknown: the level fell by an amount, over a time or in a hole
	// that was not written down, so that FromHole could not be taken off.
	HoleUnknown bool
	// InjectedUnknown: nobody wrote how much water the rig put in; none is
	// taken off.
	InjectedUnknown bool
}

// NetAirlift is measured flow, less the water that the rig put in, less the
// water that the hole gave up while its level fell: the volume of the hole
// between the two levels over the duration of the test, unless the level had
// steadied. It is never below zero. The drill pipe in the hole is neglected,
// so that FromHole is an upper limit of its share.
func (w *Well) NetAirlift(t *YieldTest, r AirliftRules) NetYield {
	measured, ok := valueOf(t.Measured)
	if !ok || measured < 0 {
		return NetYield{}
	}
	n := NetYield{Measured: measured}
	variance := r.flowVariance(t.Measured)
	if injected, ok := t.Injected.Number(); ok {
		n.Injected = injected
		variance += r.flowVariance(t.Injected)
	} else {
		n.InjectedUnknown = true
	}
	n.Unsteady = t.Steadied == nil || !*t.Steadied
	if n.Unsteady {
		rate, litresPerMetre, minutes, ok := w.givenUp(t)
		n.FromHole, n.HoleUnknown = rate, !ok
		if ok {
			oneLevel := r.LevelM * litresPerMetre / (minutes * 60)
			variance += 2 * oneLevel * oneLevel // two levels were read
		}
	}
	n.Net = Amount[Flow]{Qualifier: t.Measured.Qualifier, Value: max(0, measured-n.Injected-n.FromHole)}
	if n.Net.Qualifier == Between {
		n.Net.High = max(0, t.Measured.High-n.Injected-n.FromHole)
	}
	if n.Net.Qualifier == Exact && (n.HoleUnknown || n.InjectedUnknown) {
		n.Net.Qualifier = About
	}
	n.Uncertainty = Flow(math.Sqrt(variance))
	return n
}

func valueOf[T ~float64](a Amount[T]) (T, bool) {
	return a.Value, a.Known() && finite(float64(a.Value))
}

func (r AirliftRules) flowVariance(a Amount[Flow]) float64 {
	sd := float64(a.Value) * r.FlowShare
	if a.Qualifier == About {
		sd *= r.AboutFactor
	}
	return sd * sd
}

// givenUp is the mean flow out of the hole's own store during a test, with
// the litres in a metre of it and the minutes it took.
func (w *Well) givenUp(t *YieldTest) (rate Flow, litresPerMetre, minutes float64, ok bool) {
	fall, okFall := t.Drawdown.Number()
	duration, okTime := t.Duration.Number()
	if !okFall || !okTime || fall < 0 || duration <= 0 {
		return 0, 0, 0, false
	}
	if fall == 0 {
		return 0, 0, float64(duration), true
	}
	top, okTop := t.Before.Number()
	if !okTop {
		top, okTop = w.staticLevel().Number()
	}
	if !okTop {
		return 0, 0, 0, false
	}
	volume, ok := w.storedBetween(float64(top), float64(top)+float64(fall))
	if !ok {
		return 0, 0, 0, false
	}
	minutes = float64(duration)
	return Flow(float64(volume) / (minutes * 60)), float64(volume) / float64(fall), minutes, true
}

// storedBetween is the water that stands in the hole between two depths: in
// the casing where it is cased (its inside diameter), in the bore below.
func (w *Well) storedBetween(top, bottom float64) (Volume, bool) {
	return w.along(top, bottom, func(depth float64) (float64, bool) {
		inside := math.Inf(1)
		for i := range w.Casing {
			c := &w.Casing[i]
			if d, ok := c.insideDiameter(); ok && covers(c.From, c.To, depth) {
				inside = min(inside, float64(d))
			}
		}
		if !math.IsInf(inside, 1) {
			return circleLitresPerMetre(inside), true
		}
		bore, ok := w.boreAt(depth)
		return circleLitresPerMetre(bore), ok
	})
}

// insideDiameter is outside diameter less twice the wall where both are
// written down, else the diameter as given.
func (c *Casing) insideDiameter() (Diameter, bool) {
	outside, okOutside := c.OutsideDia.Number()
	wall, okWall := c.Wall.Number()
	if okOutside && okWall && outside > 2*wall {
		return outside - 2*wall, true
	}
	d, ok := c.Diameter.Number()
	return d, ok && d > 0
}

// SpecificCapacity is a test's flow over its drawdown, in L/s per metre: the
// stated net flow, else what was measured less what was injected. It is
// false where no drawdown was measured or a value is a bound.
func (t *YieldTest) SpecificCapacity() (lpsPerMetre float64, ok bool) {
	fall, ok := t.Drawdown.Number()
	if !ok || fall <= 0 {
		return 0, false
	}
	flow, ok := t.Net.Number()
	if !ok {
		if flow, ok = t.Measured.Number(); !ok {
			return 0, false
		}
		if injected, ok := t.Injected.Number(); ok {
			flow = max(0, flow-injected)
		}
	}
	return float64(flow) / float64(fall), finite(float64(flow))
}

// Penetration is how fast one rod went down.
type Penetration struct {
	From, To      Depth
	MetresPerHour float64
	Remark        string
}

// PenetrationRates gives the rate of every rod whose depths and time are
// numbers, in the order of the record. A rod without an upper depth begins
// where the one before it ended.
func (w *Well) PenetrationRates() []Penetration {
	var out []Penetration
	var last Depth
	var haveLast bool
	for i := range w.Rods {
		rod := &w.Rods[i]
		from, okFrom := rod.From.Number()
		if rod.From.Qualifier == Missing && haveLast {
			from, okFrom = last, true
		}
		to, okTo := rod.To.Number()
		last, haveLast = to, okTo
		minutes, okTime := rod.Time.Number()
		if okFrom && okTo && okTime && minutes > 0 && to > from {
			out = append(out, Penetration{from, to, float64(to-from) / float64(minutes) * 60, rod.Remark})
		}
	}
	return out
}
