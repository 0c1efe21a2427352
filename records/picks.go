package records

import (
	"strconv"
	"strings"
)

// grounds reads the ground of every stratum into dst. A nil Reader
// understands nothing.
func appendGrounds(dst []Ground, w *Well, r Reader) []Ground {
	for i := range w.Strata {
		var g Ground
		if r != nil {
			g = r.Ground(&w.Strata[i])
		}
		dst = append(dst, g)
	}
	return dst
}

// DerivePicks derives the depths of a record with the default rules. r reads
// the ground of the strata; nil understands none of them.
func DerivePicks(w *Well, r Reader) Picks { return DefaultPickRules().Derive(w, r) }

// Derive derives the first rock and the depth to sound bedrock of a record,
// keeps what the strata, the stated depth and the casing seat say each on its
// own, and tells which is used and why.
//
// Sound bedrock is the top of the deepest run of the log, reaching the last
// logged depth, in which nothing is loose. A weathered zone or a void within
// rock, and a thin seam of loose ground under enough rock, do not end it; a
// ledge or boulder with loose ground under it is not part of it. Under 3 m of
// rock at the foot of the log the depth is 'about', unless the casing seat
// agrees. A log that ends above sound rock gives 'deeper than'; a stretch not
// logged or not understood at the contact gives 'between'. Without strata the
// stated depth stands with its qualifier; with neither the depth is missing,
// for a total depth alone says nothing of rock.
func (r PickRules) Derive(w *Well, read Reader) Picks {
	var spanRoom [32]span
	var groundRoom [32]Ground
	spans := appendSpans(spanRoom[:0], w)
	p := r.judge(w, spans, appendGrounds(groundRoom[:0], w, read))
	picks := Picks{
		ByStrata: Pick{Depth: p.byStrata, Source: sourceOf(p.byStrata, FromStrata), Why: p.strata.why()},
		ByStated: Pick{Depth: p.stated, Source: sourceOf(p.stated, FromStated), Why: whyStated(p.stated)},
		BySeat:   Pick{Depth: p.seat, Source: sourceOf(p.seat, FromSeat), Why: whySeat(p.seat)},
		Disagree: p.clash.any(),
	}
	picks.FirstRock = Pick{Depth: p.strata.first, Source: sourceOf(p.strata.first, FromStrata), Why: "no rock in the log"}
	if p.strata.first.Known() {
		picks.FirstRock.Why = "top of the first interval of rock, " + inWords(p.strata.first)
	}
	picks.Bedrock = Pick{Depth: p.used, Source: p.source, Why: p.why()}
	return picks
}

func sourceOf(a Amount[Depth], s PickSource) PickSource {
	if a.Known() {
		return s
	}
	return FromNothing
}

// inWords writes a depth in both units: "12.2 m (40 ft)".
func inWords(a Amount[Depth]) string {
	one := func(d Depth) string {
		return decimals(float64(d), 2) + " m (" + decimals(Foot.FromBase(float64(d)), 1) + " ft)"
	}
	switch a.Qualifier {
	case Missing:
		return "not known"
	case About:
		return "about " + one(a.Value)
	case LessThan:
		return "less than " + one(a.Value)
	case GreaterThan:
		return "more than " + one(a.Value)
	case Between:
		return "between " + one(a.Value) + " and " + one(a.High)
	}
	return one(a.Value)
}

// decimals writes v with at most n decimals and no trailing zeros.
func decimals(v float64, n int) string {
	s := strconv.FormatFloat(v, 'f', n, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

func whyStated(a Amount[Depth]) string {
	if !a.Known() {
		return "no depth to bedrock stated"
	}
	return "stated as " + inWords(a)
}

func whySeat(a Amount[Depth]) string {
	switch a.Qualifier {
	case Missing:
		return "the casing says nothing of rock"
	case LessThan:
		return "the hole stands open below the casing seat at " + inWords(Of(a.Value)) + ", so rock begins above it"
	}
	return "the casing seat less the length set into rock gives " + inWords(a)
}

func (p *logPick) missingStretch() string {
	switch {
	case p.unlogged && p.unread:
		return "was not logged or not understood"
	case p.unlogged:
		return "was not logged"
	case p.unread:
		return "was not understood"
	}
	return "is given as a bound or logged twice"
}

// why tells in one sentence how the log led to its pick.
func (p *logPick) why() string {
	depth := inWords(p.contact)
	rock := inWords(Of(Depth(p.rockM)))
	switch p.how {
	case howNoLog:
		return "no strata"
	case howUnreadLog:
		return "too little of the log could be read as rock or as loose ground"
	case howThinProof:
		return depth + ", since the log follows rock for only " + rock
	case howSeatProof:
		return depth + "; the log follows rock for only " + rock + ", but the casing seat agrees"
	case howGapProof:
		return depth + ", since a stretch within the rock was not logged or not understood"
	case howFootSeam:
		return depth + ", since the log ends in a thin seam of loose ground under " + rock + " of rock"
	case howBetween:
		return depth + ", since the ground at the contact " + p.missingStretch()
	case howNotReached:
		return depth + ", since the log ends above sound rock at " + inWords(Of(Depth(p.lastM)))
	case howNotFollowed:
		return depth + ", since the log below could not be read as rock or as loose ground"
	}
	s := depth + ", from where the log shows rock to its end at " + inWords(Of(Depth(p.lastM)))
	switch {
	case p.seams > 0 && p.blocks > 0:
		s += "; thin seams below do not count, nor do ledges above"
	case p.seams > 0:
		s += "; thin seams of loose ground in it do not count"
	case p.blocks > 0:
		s += "; a ledge or boulder above it does not count"
	}
	return s
}

// why tells in one sentence which source is used, and why.
func (p *picked) why() string {
	strata := p.strata
	strata.contact = p.byStrata
	var s string
	switch {
	case p.source == FromNothing:
		return "neither the strata nor a stated depth tell of bedrock"
	case p.source == FromStrata:
		s = "by the strata: " + strata.why()
	case p.source == FromStated && p.strata.how == howNoLog:
		s = "as stated, " + inWords(p.used) + "; there are no strata"
	case p.source == FromStated && !p.byStrata.Known():
		s = "as stated, " + inWords(p.used) + "; too little of the log could be read as rock or as loose ground"
	case p.source == FromStated:
		s = "as stated, " + inWords(p.used) + ", which fits the strata, " + inWords(p.byStrata) + ", and says more"
	case p.source == FromSeat:
		return "by the casing seat less the length set into rock, " + inWords(p.used)
	}
	return s + p.dissent()
}

// dissent names the sources that disagree with the one that is used.
func (p *picked) dissent() string {
	strataUsed := p.source == FromStrata
	var others []string
	if p.clash.strataStated && strataUsed {
		others = append(others, "the stated depth says "+inWords(p.stated))
	}
	if p.clash.strataStated && !strataUsed {
		others = append(others, "the strata say "+inWords(p.byStrata))
	}
	if p.clash.strataSeat && strataUsed || p.clash.statedSeat && !strataUsed {
		others = append(others, "the casing seat says "+inWords(p.seat))
	}
	if len(others) == 0 {
		return ""
	}
	s := "; against it " + strings.Join(others, ", and ")
	if strataUsed {
		s += "; what was met interval by interval is used"
	}
	return s
}
