package lithology

import (
	"sort"
	"strings"

	"tallybook/records"
)

// Log is a driller's log in free text, read into intervals: '0-12 brn clay w/
// cobbles; 12-40 hardpan; 40-305 gry gneiss, soft @ 88'. All spans are byte
// offsets into Text. What is not certain is told, and never guessed.
type Log struct {
	Text      string
	Form      LogForm
	Intervals []LogInterval // in the order of the text
	Water     []LogWater    // what is said of water at a depth, in the order of the text
	Remarks   []LogRemark   // what was understood and is no stratum
	Unread    []LogUnread   // what could not be read, and why
	Total     records.Amount[records.Depth]
	Doubts    LogDoubt
}

// LogInterval is one interval of ground. Bottom is Missing where the log does
// not say where the ground ends, and GreaterThan where it goes on below.
type LogInterval struct {
	Top, Bottom          records.Amount[records.Depth]
	Start, End           int // the whole interval, depths and words
	WordsStart, WordsEnd int // the description
	AlsoStart, AlsoEnd   int // what is said of it behind its depths; equal where nothing is
}

// LogWater is a remark on water met at a depth. Plain says that it is a strike
// and nothing else: 'water 210', 'wtr @ 210 5 gpm', not 'water level 22'.
type LogWater struct {
	Start, End int
	Depth      records.Amount[records.Depth]
	Flow       records.Amount[records.Flow] // Missing where none is said
	Plain      bool
}

// LogRemark is a part of the log that is understood and is no stratum.
type LogRemark struct {
	Start, End int
	Kind       LogRemarkKind
}

// LogUnread is a part of the log that was not read.
type LogUnread struct {
	Start, End int
	Why        string
}

// LogRemarkKind sorts remarks.
type LogRemarkKind uint8

// The kinds of remarks.
const (
	RemarkHeading LogRemarkKind = iota + 1 // 'Driller's log:', 'depths in feet'
	RemarkTotal                            // 'TD 305'
	RemarkLevel                            // 'static 22'
	RemarkCasing                           // casing, screen, grout, pump
	RemarkYield                            // a test or a final yield
	RemarkWater                            // water, without a strike that is plain
	RemarkZone                             // a zone within an interval, or words at a depth
	RemarkNote                             // anything else without a depth
)

var remarkWords = [...]string{"", "heading", "total depth", "water level", "casing or fittings", "yield", "water", "a zone within a stratum", "note"}

// String gives the kind in words.
func (k LogRemarkKind) String() string { return remarkWords[min(int(k), len(remarkWords)-1)] }

// LogForm says how the log writes its depths.
type LogForm uint8

// The forms. With FormNone nothing was read.
const (
	FormNone      LogForm = iota
	FormRanges            // '0-12 clay; 12-40 hardpan', 'clay 0-12, hardpan 12-40'
	FormBottoms           // 'clay to 12, hardpan to 40'
	FormTops              // 'clay at 0, hardpan at 12'
	FormThickness         // '12 ft of clay, 28 ft of hardpan'
)

var formWords = [...]string{"not read", "intervals from and to", "the bottom of each stratum", "the top of each stratum", "the thickness of each stratum"}

// String says how the depths were taken.
func (f LogForm) String() string { return formWords[min(int(f), len(formWords)-1)] }

// LogDoubt is a set of reasons why a log needs a person's eye.
type LogDoubt uint16

// The reasons. Those of refusingDoubts leave more than one reading open, so
// that no strata should be made of the log.
const (
	LogNoUnit     LogDoubt = 1 << iota // depths without a unit, and none is said
	LogTwoUnits                        // the text says one unit, the column another
	LogOverlap                         // ground is there twice
	LogBackwards                       // an interval runs up
	LogAmbiguous                       // numbers that could be thicknesses or depths
	LogPartUnread                      // a part with a depth was left unread
	LogPastTotal                       // deeper than the total depth that it says
	LogTooLong                         // longer than what is read
	LogGap                             // a part between two strata is not logged
	LogOrder                           // not written from the top down
	LogNoWords                         // an interval without a description
	LogAbout                           // a depth is 'about'
	LogBare                            // numbers behind words, taken as bottoms
)

const refusingDoubts = LogNoUnit | LogTwoUnits | LogOverlap | LogBackwards | LogNoWords | LogAmbiguous | LogPartUnread | LogPastTotal | LogTooLong

var logDoubtTexts = [...]string{
	"no unit is said for its depths",
	"it writes depths in another unit than the one said, beside depths without a unit",
	"two of its intervals overlap",
	"an interval runs up instead of down",
	"its numbers could be thicknesses or depths",
	"a part of it that has a depth could not be read",
	"it goes deeper than the total depth that it says",
	"it is too long to be read",
	"a part between two intervals was not logged",
	"its intervals are not in order of depth",
	"an interval has no description",
	"a depth is only about",
	"a number behind each ground was taken as the depth of its bottom",
}

// Has reports whether the reason x is in the set.
func (d LogDoubt) Has(x LogDoubt) bool { return d&x != 0 }

// Reasons lists the doubts in plain words.
func (d LogDoubt) Reasons() []string {
	var out []string
	for i, t := range logDoubtTexts {
		if d.Has(1 << i) {
			out = append(out, t)
		}
	}
	return out
}

// Refused reports whether the log cannot be turned into strata: nothing was
// read, or more than one reading is open.
func (l *Log) Refused() bool { return len(l.Intervals) == 0 || l.Doubts.Has(refusingDoubts) }

// Sure says how sure the reading is: "sure", "look" where a person should look
// at it, "refused" where it should not be used.
func (l *Log) Sure() string {
	switch {
	case l.Refused():
		return "refused"
	case l.Doubts.Has(LogOrder | LogAbout | LogBare | LogGap):
		return "look"
	}
	return "sure"
}

// Words is the description of an interval as it was written; what stands
// behind the depths follows after a semicolon.
func (l *Log) Words(i LogInterval) string {
	s := l.Text[i.WordsStart:i.WordsEnd]
	if i.AlsoEnd > i.AlsoStart {
		if s != "" {
			s += "; "
		}
		s += l.Text[i.AlsoStart:i.AlsoEnd]
	}
	return s
}

// Strata are the intervals as strata of a record, from the top down, or none
// where the log is refused. 'Same' keeps its words and takes the material of
// the stratum above it.
func (l *Log) Strata(v *Vocabulary) []records.Stratum {
	if l.Refused() {
		return nil
	}
	order := make([]LogInterval, len(l.Intervals))
	copy(order, l.Intervals)
	sort.SliceStable(order, func(i, j int) bool { return order[i].Top.Value < order[j].Top.Value })
	out := make([]records.Stratum, len(order))
	for i, in := range order {
		s := records.Stratum{Top: in.Top, Bottom: in.Bottom, Description: l.Words(in)}
		if i > 0 {
			if r := v.Read(s.Description); r.AsAbove && r.Material == Unknown {
				s.Material = v.Ground(&out[i-1]).Material
			}
		}
		if s.Material == Unknown {
			s.Material = ""
		}
		out[i] = s
	}
	return out
}

// Strikes are the plain remarks on water as strikes of a record.
func (l *Log) Strikes() []records.Strike {
	var out []records.Strike
	for _, w := range l.Water {
		if w.Plain {
			out = append(out, records.Strike{Depth: w.Depth, Flow: w.Flow, Note: strings.TrimSpace(l.Text[w.Start:w.End])})
		}
	}
	return out
}

// maxLogBytes is the longest text that is read as one log.
const maxLogBytes = 20000

// ReadLog reads a free-text log with the default vocabulary. unit is what a
// depth without one is taken to be in: records.Metre or records.Foot, or
// records.NoUnit where nobody said. Deterministic; the text is kept verbatim.
func ReadLog(text string, unit records.Unit) *Log { return Default().ReadLog(text, unit) }

// ReadLog reads a free-text log; see the function of the same name.
func (v *Vocabulary) ReadLog(text string, unit records.Unit) *Log {
	return v.ReadLogOf(text, unit, records.Amount[records.Depth]{})
}

// ReadLogOf is ReadLog where the total depth of the hole is known from
// elsewhere; it settles what a log that writes one number a stratum means.
func (v *Vocabulary) ReadLogOf(text string, unit records.Unit, total records.Amount[records.Depth]) *Log {
	r := logReader{v: v, log: &Log{Text: text}, unit: unit}
	if _, ok := total.Number(); ok {
		r.known = total
	}
	if len(text) > maxLogBytes {
		r.log.Doubts |= LogTooLong
		r.unread(0, len(text), "is longer than a log")
		return r.log
	}
	r.tokens = scanLog(text)
	r.settleUnit()
	r.findRemarks()
	if !r.readRanges() {
		r.readRunning()
	}
	r.findWater()
	r.finish()
	return r.log
}

// logReader is a log being read.
type logReader struct {
	v         *Vocabulary
	log       *Log
	unit      records.Unit                  // for a number without one; NoUnit: not known
	otherUnit bool                          // numbers bear another unit than the one said
	bare      bool                          // a depth without a unit was used
	known     records.Amount[records.Depth] // the total depth, from elsewhere
	tokens    []logToken
	pieces    []logPiece
	waiting   []LogInterval // found in the words of the interval being read
	tails     []logTail
}

func (r *logReader) unread(start, end int, why string) {
	if start < end {
		r.log.Unread = append(r.log.Unread, LogUnread{start, end, why})
	}
}

func (r *logReader) remark(start, end int, kind LogRemarkKind) {
	if start < end {
		r.log.Remarks = append(r.log.Remarks, LogRemark{start, end, kind})
	}
}

// finish settles what the intervals say of one another.
func (r *logReader) finish() {
	l := r.log
	sort.SliceStable(l.Remarks, func(i, j int) bool { return l.Remarks[i].Start < l.Remarks[j].Start })
	sort.SliceStable(l.Unread, func(i, j int) bool { return l.Unread[i].Start < l.Unread[j].Start })
	if len(l.Intervals) == 0 {
		l.Form, l.Doubts = FormNone, l.Doubts&^LogPartUnread
		return
	}
	if r.bare && r.unit == records.NoUnit {
		l.Doubts |= LogNoUnit
	}
	order := make([]int, len(l.Intervals))
	for i := range order {
		order[i] = i
		in := &l.Intervals[i]
		if in.Top.Qualifier == records.About || in.Bottom.Qualifier == records.About {
			l.Doubts |= LogAbout
		}
		if strings.TrimSpace(l.Words(*in)) == "" {
			l.Doubts |= LogNoWords
		}
		r.beyond(in)
		if i > 0 && in.Top.Value < l.Intervals[i-1].Top.Value {
			l.Doubts |= LogOrder
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return l.Intervals[order[a]].Top.Value < l.Intervals[order[b]].Top.Value })
	for k, i := range order {
		in := &l.Intervals[i]
		if l.Total.Known() && in.Bottom.Known() && in.Bottom.Value-l.Total.Value > depthSlack || l.Total.Known() && in.Top.Value-l.Total.Value > depthSlack {
			l.Doubts |= LogPastTotal
		}
		if k == 0 {
			continue
		}
		above := &l.Intervals[order[k-1]]
		switch {
		case !above.Bottom.Known():
			above.Bottom = in.Top // 'to the next one'
		case above.Bottom.Qualifier == records.GreaterThan || in.Top.Value-above.Bottom.Value < -depthSlack:
			l.Doubts |= LogOverlap
		case in.Top.Value-above.Bottom.Value > depthSlack:
			l.Doubts |= LogGap
		}
	}
	r.leftOut()
}

// beyond doubts an interval whose words name a depth below its bottom: part of
// the log was then taken for words.
func (r *logReader) beyond(in *LogInterval) {
	if !in.Bottom.Known() {
		return
	}
	for i := range r.tokens {
		t := &r.tokens[i]
		inside := t.start >= in.WordsStart && t.end <= in.WordsEnd || t.start >= in.AlsoStart && t.end <= in.AlsoEnd
		if !inside || !t.depthable() || r.inWater(i) || r.flowEnds(i) > i {
			continue
		}
		d := r.depth(t, records.NoUnit).Value
		edge := (abs(d-in.Bottom.Value) <= depthSlack || abs(d-in.Top.Value) <= depthSlack) && d > 0 && !r.pointed(i, 0) && !r.inRemark(t)
		if d-in.Bottom.Value > depthSlack || edge {
			r.log.Doubts |= LogPartUnread
			r.unread(t.start, t.end, "is a depth at the edge of the interval that it stands in, or below it")
		}
	}
}

// inRemark says whether the token is part of what was set aside.
func (r *logReader) inRemark(t *logToken) bool {
	for _, m := range r.log.Remarks {
		if t.start >= m.Start && t.end <= m.End {
			return true
		}
	}
	return false
}

// depthSlack is the difference in metres below which two depths are the same
// one, written in two units or rounded: an inch. Ours, no source.
const depthSlack records.Depth = 0.0254
