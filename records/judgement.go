package records

import (
	"fmt"
	"slices"
)

// A consultant's own reading of a log stands beside the driller's, never in
// its place: own picks, in sets that bear a name, and marks that say which
// parts of a log are not to be relied on. Both are parts of the record, so
// that history, differences and exports carry them.

// OwnPick is one depth as somebody reads it, whatever the driller wrote.
type OwnPick struct {
	Set    string        // the set that it belongs to: 'first reading', 'for the hearing'
	Of     string        // see OwnPickWords
	Depth  Amount[Depth] // down from ground, as entered
	Reason string
	By     string // who picked it
	Date   Date   // and when

	Kept
}

// What an own pick may be of.
const (
	PickBedrock = "bedrock"      // the depth to sound bedrock; one a set
	PickStrike  = "water_strike" // a depth at which water comes; any number a set
)

// Doubt marks something in a log as not to be relied on. What is so marked
// stays in the record, word for word, and is left out of what is worked out
// from the records, unless that is asked for (Trust).
type Doubt struct {
	About  string // see DoubtWords
	Reason string
	By     string
	Date   Date

	Kept
}

// What may be marked unreliable.
const (
	DoubtAll      = "all"
	DoubtStrata   = "strata"   // the strata, and with them every depth to bedrock
	DoubtYield    = "yield"    // yields, tests and flows of strikes
	DoubtPosition = "position" // where the hole is: then it tells nothing of a place
)

var (
	ownPickWords = words{PickBedrock, PickStrike}
	doubtWords   = words{DoubtAll, DoubtStrata, DoubtYield, DoubtPosition}
)

// OwnPickWords lists what an own pick may be of.
func OwnPickWords() []string { return append([]string(nil), ownPickWords...) }

// DoubtWords lists what of a log may be marked unreliable.
func DoubtWords() []string { return append([]string(nil), doubtWords...) }

func (p *OwnPick) visit(f fields) {
	f.text("set", &p.Set)
	f.word("of", &p.Of, ownPickWords)
	f.amount(fDepth, &p.Depth)
	f.text("reason", &p.Reason)
	f.text("by", &p.By)
	f.date("date", &p.Date)
}

func (d *Doubt) visit(f fields) {
	f.word("about", &d.About, doubtWords)
	f.text("reason", &d.Reason)
	f.text("by", &d.By)
	f.date("date", &d.Date)
}

// Doubts tells which flags of a digest the marks set. A word that is not known
// here, written by another program, is taken to mean all of the log: what is
// marked must not slip in unread.
func (w *Well) Doubts() DigestFlags {
	var flags DigestFlags
	for i := range w.Unreliable {
		switch w.Unreliable[i].About {
		case DoubtStrata:
			flags |= StrataUnreliable
		case DoubtYield:
			flags |= YieldUnreliable
		case DoubtPosition:
			flags |= PositionUnreliable
		default:
			flags |= AnyUnreliable
		}
	}
	return flags
}

// Mark adds a mark; an earlier one on the same thing gives way to it.
func (w *Well) Mark(m Doubt) {
	w.Unreliable = slices.DeleteFunc(w.Unreliable, func(d Doubt) bool { return d.About == m.About })
	w.Unreliable = append(w.Unreliable, m)
}

// Unmark takes off the marks on something, on everything where about is "*",
// and tells whether there was any.
func (w *Well) Unmark(about string) bool {
	n := len(w.Unreliable)
	w.Unreliable = slices.DeleteFunc(w.Unreliable, func(d Doubt) bool { return about == "*" || d.About == about })
	return len(w.Unreliable) < n
}

// OwnBedrock is the latest pick of bedrock of a set; nil where there is none.
func (w *Well) OwnBedrock(set string) *OwnPick {
	for i := len(w.OwnPicks) - 1; i >= 0; i-- {
		if p := &w.OwnPicks[i]; p.Of == PickBedrock && p.Set == set && p.Depth.Known() {
			return p
		}
	}
	return nil
}

// LatestOwnBedrock is the pick of bedrock that was added last, of whatever set;
// nil where there is none.
func (w *Well) LatestOwnBedrock() *OwnPick {
	for i := len(w.OwnPicks) - 1; i >= 0; i-- {
		if p := &w.OwnPicks[i]; p.Of == PickBedrock && p.Depth.Known() {
			return p
		}
	}
	return nil
}

// UnreliableWords are the things that are marked unreliable, each once, in
// order of the alphabet.
func (w *Well) UnreliableWords() []string {
	var out []string
	for i := range w.Unreliable {
		about := w.Unreliable[i].About
		if about == "" { // whatever was meant: see Doubts
			about = DoubtAll
		}
		out = append(out, about)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// PickSets are the names of the sets that the record has picks in, in order of
// the alphabet.
func (w *Well) PickSets() []string {
	var out []string
	for i := range w.OwnPicks {
		out = append(out, w.OwnPicks[i].Set)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Trust says whose word counts in what is worked out from the records. The zero
// Trust goes by the driller's logs and leaves out what is marked unreliable.
type Trust struct {
	Marked bool   // take in what is marked unreliable
	Picks  string // bedrock as picked in this set, where it has a pick; "": as the logs say
}

// Picks are the derived depths of a record as t takes them. A pick of the set
// counts also where the driller's strata are marked: it was made in spite of
// them.
func (t Trust) PicksOf(w *Well, r Reader) Picks {
	picks := DerivePicks(w, r)
	switch own := t.own(w); {
	case own != nil:
		picks.Bedrock = Pick{Depth: own.Depth, Source: FromOwnPick, Why: own.why()}
	case t.leavesOut(w, StrataUnreliable):
		picks.Bedrock = Pick{Why: "the log is marked unreliable: " + w.doubtOf(StrataUnreliable)}
	}
	return picks
}

func (t Trust) own(w *Well) *OwnPick {
	if t.Picks == "" {
		return nil
	}
	return w.OwnBedrock(t.Picks)
}

func (p *OwnPick) why() string {
	s := fmt.Sprintf("as picked in '%s', %s", p.Set, inWords(p.Depth))
	if p.By != "" {
		s += ", by " + p.By
	}
	if p.Reason != "" {
		s += ": " + p.Reason
	}
	return s
}

func (t Trust) leavesOut(w *Well, flag DigestFlags) bool {
	return !t.Marked && w.Doubts()&flag != 0
}

// doubtOf gives the reasons of the marks that set a flag, parted by commas.
func (w *Well) doubtOf(flag DigestFlags) string {
	s := ""
	for i := range w.Unreliable {
		one := Well{Unreliable: w.Unreliable[i : i+1]}
		if one.Doubts()&flag == 0 {
			continue
		}
		if s != "" {
			s += ", "
		}
		s += w.Unreliable[i].Reason
	}
	return s
}

// Of is the record with only what t trusts in it, for what reads whole records
// and works something out: w itself where nothing is to be changed, else a copy
// that shares the lists that are the same. Bedrock is asked of PicksOf, with
// the record itself. A record whose position is marked is located nowhere.
func (t Trust) Of(w *Well) *Well {
	flags := w.Doubts()
	if t.Marked || flags == 0 {
		return w
	}
	c := *w
	if flags&StrataUnreliable != 0 {
		c.Strata, c.Bedrock = nil, Amount[Depth]{}
	}
	if flags&YieldUnreliable != 0 {
		c.withoutYield()
	}
	if flags&PositionUnreliable != 0 {
		c.Place.Located = false
	}
	return &c
}

// withoutYield takes out what the record says of flows; the lists that change
// are made anew.
func (w *Well) withoutYield() {
	w.Yield, w.YieldTests = Amount[Flow]{}, nil
	w.Strikes = slices.Clone(w.Strikes)
	for i := range w.Strikes {
		w.Strikes[i].Flow = Amount[Flow]{}
	}
	w.Works = slices.Clone(w.Works)
	for i := range w.Works {
		w.Works[i].Yield = Amount[Flow]{}
	}
	w.Treatments = slices.Clone(w.Treatments)
	for i := range w.Treatments {
		w.Treatments[i].YieldBefore, w.Treatments[i].YieldAfter = Amount[Flow]{}, Amount[Flow]{}
	}
}

// ownBedrocks are the picks of bedrock of a record for its digest, one a set,
// in order of the sets' names; nil where there is none.
func (w *Well) ownBedrocks() []DigestPick {
	if len(w.OwnPicks) == 0 {
		return nil
	}
	var out []DigestPick
	for _, set := range w.PickSets() {
		if p := w.OwnBedrock(set); p != nil && set != "" {
			out = append(out, DigestPick{Set: set, Depth: digestValue(p.Depth)})
		}
	}
	return out
}
