package lithology

import (
	"strings"
	"unicode"

	"tallybook/records"
)

// logPiece is what stands between two marks of punctuation: tokens from up to
// but without to.
type logPiece struct {
	from, to int
	sentence bool // begins behind a full stop
	strong   bool // begins the text, a line, or what follows a semicolon or a bar
	kind     LogRemarkKind
}

// break strengths of punctuation.
const (
	noBreak = iota
	softBreak
	strongBreak
)

// breakAt tells how strongly the token parts what is before it from what is
// behind.
func (r *logReader) breakAt(i int) int {
	t := &r.tokens[i]
	if t.kind != logMark {
		return noBreak
	}
	switch t.mark {
	case ';', '\n', '|', '•', '·', '¦', '*':
		return strongBreak
	case '/', '\\':
		if t.start > 0 && r.log.Text[t.start-1] == ' ' && t.end < len(r.log.Text) && r.log.Text[t.end] == ' ' {
			return strongBreak
		}
	case ',':
		return softBreak
	case '.':
		if i > 0 && i+1 < len(r.tokens) && r.tokens[i-1].kind == logWord && len(r.tokens[i-1].word) <= 4 && r.tokens[i-1].end == t.start {
			next := &r.tokens[i+1]
			if next.kind == logWord && !unicode.IsUpper(rune(r.log.Text[next.start])) {
				return noBreak // brn. clay
			}
		}
		if i+1 < len(r.tokens) && r.tokens[i+1].kind == logMark && r.tokens[i+1].mark == '.' {
			return noBreak // leaders
		}
		if i > 0 && r.tokens[i-1].kind == logMark && r.tokens[i-1].mark == '.' && i+1 < len(r.tokens) && r.tokens[i+1].kind == logNumber {
			return noBreak // the last of them
		}
		return softBreak
	}
	return noBreak
}

// cut parts the text into pieces.
func (r *logReader) cut() {
	from, strong, sentence := 0, true, false
	for i := 0; i <= len(r.tokens); i++ {
		b := strongBreak
		if i < len(r.tokens) {
			b = r.breakAt(i)
		}
		if b == noBreak && i > from && beginsPiece(r.tokens[i].word) {
			r.pieces = append(r.pieces, logPiece{from: from, to: i, strong: strong, sentence: sentence})
			from, strong, sentence = i, false, false
		}
		if b == noBreak {
			continue
		}
		if i > from {
			r.pieces = append(r.pieces, logPiece{from: from, to: i, strong: strong, sentence: sentence})
			strong, sentence = false, false
		}
		strong = strong || b == strongBreak
		sentence = sentence || i < len(r.tokens) && r.tokens[i].mark == '.'
		from = i + 1
	}
}

// beginsPiece says whether a word begins a piece without any punctuation.
func beginsPiece(word string) bool {
	switch word {
	case "then", "td", "swl", "csg":
		return true
	}
	return false
}

var (
	totalWords    = wordSet("td tot eoh total bottom bottomed stopped finished completed drilled end final depth hole well deep overall quit tdepth")
	levelWords    = wordSet("static swl level standing stands stood rose rises overflow flows flowing wl dtw")
	casingWords   = wordSet("casing cased casings csg case pipe shoe driveshoe grout grouted grouting sealed seal screen screened screens perforated perforations perfs perf pump pumps cap liner lined pitless annulus annular packer bentonite cement blank riser gravelpack filter pack backfill backfilled set setting")
	fittedWords   = wordSet("plugged grouted sealed backfilled cased casing screened perforated")
	yieldWords    = wordSet("gpm yield yields yielded yielding test tested airlift airlifted bailed bailer bail pumped produces produced producing production blown blew recovery drawdown est makes making")
	waterWords    = wordSet("water wtr watr h2o wb wbz waterbearing seep seepage seeps wet")
	headingWords  = wordSet("log logs strata formation formations geology geologic geological lithology lithologic drillers driller's description descriptions material materials depth depths measured measurements record stratigraphy ground all in feet ft metres meters m of well from to below surface figures the are top bottom bgl bgs ground's interval")
	fillerWords   = wordSet("at the a an of to from is was in on and then with ft feet foot m total depth about abt approx")
	atWords       = wordSet("at near around")
	aboutWords    = wordSet("about abt approx approximately ca circa roughly approximate")
	surfaceWords  = wordSet("surface surf gl grade ground top gs surfac")
	bottomWords   = wordSet("td bottom end eoh btm bott depth total")
	thickWords    = wordSet("thick thickness")
	continueWords = wordSet("next another more further additional last")
)

// classify says what a piece is where it is no ground.
func (r *logReader) classify(p logPiece) LogRemarkKind {
	words, numbers, heads := 0, 0, 0
	var seen struct{ total, level, casing, yield, water bool }
	onlyTotal := true
	for i := p.from; i < p.to; i++ {
		t := &r.tokens[i]
		switch {
		case t.kind == logNumber:
			if t.depthable() {
				numbers++
			}
		case t.kind != logWord:
		default:
			words++
			if headingWords[t.word] {
				heads++
			}
			seen.level = seen.level || levelWords[t.word]
			seen.casing = seen.casing || casingWords[t.word]
			seen.yield = seen.yield || yieldWords[t.word]
			seen.water = seen.water || waterWords[t.word]
			if totalWords[t.word] {
				seen.total = true
			} else if !fillerWords[t.word] {
				onlyTotal = false
			}
		}
	}
	switch {
	case words > 0 && seen.total && onlyTotal && (numbers == 1 || numbers == 2 || numbers == 0 && p.from > 0 && p.to-p.from <= 2 && r.tokens[p.from].word == "td" && r.tokens[p.from-1].depthable()):
		return RemarkTotal
	case words > 0 && words == heads && numbers == 0:
		return RemarkHeading
	case fittedWords[r.tokens[p.from].word]:
		return RemarkCasing // plugged 0-60 with bentonite
	case r.ground(p):
		return 0
	case seen.casing:
		return RemarkCasing
	case seen.level:
		return RemarkLevel
	case seen.yield:
		return RemarkYield
	case seen.water || r.hasFlow(p):
		return RemarkWater
	}
	return 0
}

// hasFlow says whether the piece names a flow: 5 gpm @ 210.
func (r *logReader) hasFlow(p logPiece) bool {
	for i := p.from; i < p.to; i++ {
		if r.tokens[i].kind == logNumber && r.flowEnds(i) > i {
			return true
		}
	}
	return false
}

// ground says whether the words of the piece name a ground.
func (r *logReader) ground(p logPiece) bool {
	if p.from >= p.to {
		return false
	}
	return r.namesGround(r.log.Text[r.tokens[p.from].start:r.tokens[p.to-1].end])
}

func (r *logReader) namesGround(text string) bool {
	got := r.v.Read(text)
	return got.Material != Unknown || got.AsAbove || got.NotLogged
}

// findRemarks sets aside what is no ground: headings, the total depth, casing,
// levels, yields.
func (r *logReader) findRemarks() {
	r.cut()
	for i := range r.pieces {
		p := &r.pieces[i]
		p.kind = r.classify(*p)
		if p.kind == RemarkTotal {
			if t := &r.tokens[max(p.from-1, 0)]; p.to-p.from <= 2 && t.depthable() {
				r.log.Total = r.depth(t, records.NoUnit) // gneiss to 305 TD
			}
			for k := p.from; k < p.to; k++ {
				if t := &r.tokens[k]; t.depthable() {
					r.log.Total = r.depth(t, records.NoUnit)
				}
			}
		}
	}
}

// total is the total depth that the log says, else the one known from
// elsewhere.
func (r *logReader) total() records.Amount[records.Depth] {
	if r.log.Total.Known() {
		return r.log.Total
	}
	return r.known
}

// pieceOf is the piece that a token stands in, or nil.
func (r *logReader) pieceOf(token int) *logPiece {
	lo, hi := 0, len(r.pieces)
	for lo < hi {
		mid := (lo + hi) / 2
		if r.pieces[mid].to <= token {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo < len(r.pieces) && r.pieces[lo].from <= token {
		return &r.pieces[lo]
	}
	return nil
}

// settleUnit finds the unit of depths without one: what a heading of the log
// says, else what was said of it, else the one unit that its numbers bear.
func (r *logReader) settleUnit() {
	r.settleLooseM()
	said, heading := r.unit, r.headingUnit()
	feet, metres := 0, 0
	for i := range r.tokens {
		switch t := &r.tokens[i]; {
		case !t.depthable():
		case t.unit == records.Foot:
			feet++
		case t.unit == records.Metre:
			metres++
		}
	}
	switch {
	case heading != records.NoUnit:
		r.unit = heading
	case said == records.NoUnit && feet > 0 && metres == 0:
		r.unit = records.Foot
	case said == records.NoUnit && metres > 0 && feet == 0:
		r.unit = records.Metre
	case said == records.Foot && metres > 0 && feet == 0, said == records.Metre && feet > 0 && metres == 0:
		r.otherUnit = true
	}
}

// settleLooseM decides whether a lone m behind numbers is metres: it is where
// every interval has it, since 'm sand' is medium sand.
func (r *logReader) settleLooseM() {
	highs, with := 0, 0
	for i := 1; i < len(r.tokens); i++ {
		if t := &r.tokens[i]; t.depthable() && joins(&r.tokens[i-1]) {
			highs++
			if t.looseM {
				with++
			}
		}
	}
	all := highs > 0 && with == highs
	out := r.tokens[:0]
	for i := 0; i < len(r.tokens); i++ {
		t := r.tokens[i]
		if t.looseM && i+1 < len(r.tokens) && r.tokens[i+1].word == "m" {
			ends := i+2 == len(r.tokens) || r.tokens[i+2].kind == logMark || r.tokens[i+2].kind == logDash
			if ends && i+3 < len(r.tokens) && r.tokens[i+2].mark == '.' && r.tokens[i+3].kind == logWord {
				ends = false // 9-15 m. sand
			}
			if all || ends {
				t.unit, t.end = records.Metre, r.tokens[i+1].end
				i++
			}
		}
		out = append(out, t)
	}
	r.tokens = out
}

// headingUnit reads 'depths in feet', '(m)', 'feet:'.
func (r *logReader) headingUnit() records.Unit {
	unitOf := func(t *logToken) records.Unit {
		if t.kind != logWord {
			return records.NoUnit
		}
		if t.word == "m" {
			return records.Metre
		}
		return depthUnits[t.word]
	}
	for i := range r.tokens {
		u := unitOf(&r.tokens[i])
		if u == records.NoUnit || i == 0 {
			if u != records.NoUnit && len(r.tokens) > 1 && r.tokens[1].mark == ':' {
				return u
			}
			continue
		}
		before := &r.tokens[i-1]
		closed := i+1 < len(r.tokens) && (r.tokens[i+1].mark == ')' || r.tokens[i+1].mark == ']')
		if closed && (before.mark == '(' || before.mark == '[') {
			return u
		}
		if before.word == "in" && i >= 2 {
			for k := max(0, i-5); k < i-1; k++ {
				switch r.tokens[k].word {
				case "depth", "depths", "measured", "measurements", "figures", "log", "all", "interval", "intervals":
					return u
				}
			}
		}
	}
	return records.NoUnit
}

// depth is the depth that a number gives, in the unit it bears, else in that
// of its partner in an interval, else in the log's.
func (r *logReader) depth(t *logToken, partner records.Unit) records.Amount[records.Depth] {
	u := unitAt(t)
	if u == records.NoUnit {
		u = partner
	}
	if u == records.NoUnit {
		u = r.unit
		r.bare = true
		if r.otherUnit {
			r.log.Doubts |= LogTwoUnits
		}
	}
	if u == records.NoUnit {
		u = records.Foot // refused in the end; here only so that depths compare
	}
	a := records.Amount[records.Depth]{Qualifier: records.Exact, Value: records.Depth(u.ToBase(t.value)), Given: records.Given{Text: r.log.Text[t.start:t.number], Unit: u}}
	if unitAt(t) != records.NoUnit {
		a.Given.Text = strings.TrimRight(r.log.Text[t.start:t.end], "+")
		if t.about {
			a.Given.Text = r.log.Text[t.start:t.end]
		}
	}
	if t.about {
		a.Qualifier = records.About
	}
	return a
}
