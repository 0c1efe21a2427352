package records

// howLog says how the log led to its pick, so that the reason can be put in
// words when somebody asks.
type howLog uint8

const (
	howNoLog       howLog = iota // no strata
	howUnreadLog                 // strata, but none understood
	howRock                      // rock followed to the end
	howThinProof                 // rock followed for too little
	howSeatProof                 // the same, but the casing seat agrees
	howGapProof                  // rock above and below a stretch not logged or not understood
	howFootSeam                  // thick rock, then a thin seam where the log ends
	howBetween                   // the contact lies in a stretch not logged or not understood
	howNotReached                // the log ends above sound rock
	howNotFollowed               // the end of the log was not understood
)

// logPick is what the log alone says.
type logPick struct {
	how      howLog
	contact  Amount[Depth] // top of sound bedrock
	first    Amount[Depth] // top of the first interval of rock
	rockM    float64       // rock followed below the contact
	lastM    float64       // last logged depth
	unlogged bool          // why the contact is not a number: a stretch not logged
	unread   bool          // or one not understood
	seams    int           // seams of loose ground that did not count
	blocks   int           // ledges, boulders and blocks above that did not count
}

// walk goes down the log once and keeps the run of ground that would be sound
// bedrock if the log ended here.
//
//   - Loose ground ends the run, unless it is a thin seam under enough rock.
//     Neighbouring loose intervals count as one, with what lies between them.
//   - Ground between loose and rock (saprolite, rotten rock) and voids belong
//     to a run that has begun and never begin one. A thin block of rock over
//     a thicker weathered zone is a corestone, not the run's beginning.
//   - A stretch that was not logged or not understood is neither rock nor
//     loose: at the contact it makes the depth 'between', inside a run that
//     has proved rock above it makes it 'about', else it leaves open whether
//     the run began above or below it: 'between' again.
//   - Intervals without thickness are notes, not ground, but for rock on
//     which the log ends: rock met and not followed.
func (r *PickRules) walk(spans []span, grounds []Ground) logPick {
	if len(spans) == 0 {
		return logPick{}
	}
	d := descent{rules: r}
	deepest := 0.0
	for i := range spans {
		deepest = max(deepest, spans[i].bottom)
	}
	for i := range spans {
		s := &spans[i]
		class := ClassUnknown
		if s.index < len(grounds) {
			class = grounds[s.index].Class
		}
		if s.thick() <= 0 && (class != ClassRock || s.top < deepest) {
			continue
		}
		if s.top-d.bottom > r.GapM {
			d.notKnown(d.bottom, s.top)
			d.unlogged = d.unlogged || !d.inRun
		}
		switch class {
		case ClassSoil:
			d.soil(s)
		case ClassTransition, ClassVoid:
			d.soft(s, class)
		case ClassRock:
			d.rock(s)
		default:
			d.notKnown(s.top, s.bottom)
			d.unread = d.unread || !d.inRun
		}
		d.bottom = max(d.bottom, s.bottom)
	}
	return d.end()
}

// descent is the state of a walk down the log.
type descent struct {
	rules  *PickRules
	bottom float64 // logged down to here
	pick   logPick

	notRockTo        float64 // known not to be sound rock down to here
	unlogged, unread bool    // below notRockTo

	inRun   bool
	contact Amount[Depth] // top of the run
	why     howLog        // howRock, howBetween
	rockM   float64       // rock in the run
	doubt   bool          // something not known lies in the run
	seams   int

	inSeam           bool // loose ground since the run's last rock
	seamTop, seamEnd float64
	inSoft           bool // weathered ground since the run's last rock
	softTop          float64
	inLost           bool // nothing known since the last ground that was
	lostTop          float64
}

const rounding = 1e-9 // metres; for sums of decimal fractions

func (d *descent) soil(s *span) {
	if d.inRun {
		if !d.inSeam {
			d.inSeam, d.seamTop = true, s.top
			d.seams++
		}
		d.seamEnd = s.bottom
		if d.seam(s.bottom - d.seamTop) {
			// What was not known above it may have been loose too.
			d.doubt = d.doubt || d.inLost && !d.seam(s.bottom-d.lostTop)
			return
		}
		d.pick.blocks++
	}
	d.notRock(s.bottom)
}

// seam says whether loose ground so thick is a seam in the rock above it.
func (d *descent) seam(thick float64) bool {
	if thick < d.rules.DeepSeamM-rounding && d.rockM >= max(d.rules.ThickRockM, d.rules.DeepSeam*thick)-rounding {
		return true
	}
	return thick < d.rules.SeamM-rounding && d.rockM >= max(d.rules.SeamRockM, d.rules.SeamRock*thick)-rounding
}

// notRock ends the run: sound bedrock, if any, begins below depth.
func (d *descent) notRock(depth float64) {
	d.leaveRun()
	d.notRockTo = max(d.notRockTo, depth)
	d.unlogged, d.unread = false, false
}

func (d *descent) leaveRun() {
	d.inRun, d.inSeam, d.inSoft, d.inLost, d.doubt = false, false, false, false, false
	d.rockM, d.seams = 0, 0
}

func (d *descent) soft(s *span, class Class) {
	if !d.inRun {
		d.notRock(s.bottom)
		return
	}
	if d.inSeam {
		d.seamEnd = s.bottom
	} else {
		d.inLost = false
	}
	if class == ClassVoid {
		return
	}
	if !d.inSoft {
		d.inSoft, d.softTop = true, s.top
	}
	if d.rockM < d.rules.CorestoneM-rounding && s.bottom-d.softTop > d.rockM+rounding {
		d.pick.blocks++
		d.notRock(s.bottom)
	}
}

func (d *descent) rock(s *span) {
	if d.pick.first.Qualifier == Missing {
		d.pick.first = topOf(s)
	}
	if !d.inRun {
		d.inRun = true
		d.why = howRock
		d.contact = topOf(s)
		switch gap := s.top - d.notRockTo; {
		case gap > d.rules.GapM: // something not known lies above
			d.contact = Within(Depth(d.notRockTo), Depth(s.hi))
		case gap < -d.rules.GapM: // the log contradicts itself
			d.contact = Within(Depth(s.lo), Depth(max(d.notRockTo, s.hi)))
			d.unlogged, d.unread = false, false
		}
		if d.contact.Qualifier == Between {
			d.why = howBetween
		}
	}
	d.inSeam, d.inSoft, d.inLost = false, false, false
	d.rockM += s.bottom - max(s.top, min(d.bottom, s.bottom))
}

// topOf is the top of an interval as it was given.
func topOf(s *span) Amount[Depth] {
	switch {
	case s.lo < s.hi:
		return Within(Depth(s.lo), Depth(s.hi))
	case s.about:
		return Roughly(Depth(s.top))
	}
	return Of(Depth(s.top))
}

// notKnown passes a stretch that was not logged or not understood.
func (d *descent) notKnown(top, bottom float64) {
	if !d.inRun {
		return
	}
	if !d.inLost {
		d.inLost, d.lostTop = true, top
		if d.inSeam {
			d.lostTop = d.seamTop
		}
	}
	if d.rockM >= d.rules.ProvedM-rounding {
		d.doubt = d.doubt || !d.seam(bottom-d.lostTop)
		return
	}
	// Too little rock to say: it may have been a block, or the beginning.
	above, _ := limits(d.contact)
	d.leaveRun()
	d.notRockTo = above
}

func (d *descent) end() logPick {
	p := d.pick
	p.lastM, p.rockM, p.seams = d.bottom, d.rockM, d.seams
	p.unlogged, p.unread = d.unlogged, d.unread
	switch {
	case d.inRun && d.inSeam && d.rockM < d.rules.ThickRockM-rounding:
		p.how, p.contact = howNotReached, MoreThan(Depth(d.seamEnd))
		if d.bottom-d.seamEnd > d.rules.GapM {
			p.how = howNotFollowed
		}
	case d.inRun:
		p.how, p.contact = d.why, d.contact
		if p.contact.Qualifier == Between {
			return p
		}
		switch {
		case d.inSeam:
			p.how, p.contact.Qualifier = howFootSeam, About
		case d.doubt:
			p.how, p.contact.Qualifier = howGapProof, About
		case d.rockM < d.rules.ProvedM-rounding && p.contact.Qualifier == Exact:
			p.how, p.contact.Qualifier = howThinProof, About
		}
	case d.notRockTo > 0:
		p.how, p.contact = howNotReached, MoreThan(Depth(d.notRockTo))
		if d.bottom-d.notRockTo > d.rules.GapM {
			p.how = howNotFollowed
		}
	default:
		p.how = howUnreadLog
	}
	return p
}
