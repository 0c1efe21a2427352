package lithology

import "tallybook/records"

// Limits of one reading: a description beyond them is read as far as they go
// and marked DoubtTruncated. Real descriptions are under 300 bytes.
const (
	maxTextBytes = 4096
	maxTokens    = 128
	maxGroups    = 16
	maxSecondary = 12
)

// role is what part a group of words plays in the description.
type role uint8

const (
	roleEqual  role = iota // one of equals; the first of them is the ground
	roleMajor              // said to be the greater part
	roleHost               // 'in …'
	roleReach              // 'to …', 'on …': a range or a contact
	roleLesser             // 'with …', 'some …'
)

// group is a run of words around at most one main noun: 'soft gray sandy
// clay'. The last noun is the head; earlier ones qualify it.
type group struct {
	role      role
	hasHead   bool
	head      uint8
	qualifies uint64 // materials named by adjectives and by earlier nouns
	weather   Weathering
	sizes     uint8
	cemented  bool
	loose     bool
	plural    bool // shapes in the plural: seams, cavities
	negated   bool
	doubted   bool
	touched   bool // an attribute was met
	qualified bool // an attribute came after the head
	clash     bool // loose ground and rock run together without a joint
}

// parser is the state of one reading.
type parser struct {
	v       *Vocabulary
	r       Reading
	groups  [maxGroups]group
	n       int // groups closed
	g       group
	degree  Weathering
	pending Kind     // KindNegation or KindNot waiting for what it negates
	full    bool     // no room for more groups
	words   [24]Word // in the struct and not behind it, to stay off the heap
	nWords  int
	further []Word // what does not fit
}

// Read reads one description. It never fails: what is not understood is
// Unknown. Its time and memory are bounded however long the text is.
func (v *Vocabulary) Read(text string) Reading {
	p := parser{v: v, r: Reading{Text: text}}
	var room [maxTokens]token
	tokens, whole := v.tokens(text, room[:0])
	if !whole {
		p.r.Doubts |= DoubtTruncated
	}
	for i := 0; i < len(tokens); {
		t := &tokens[i]
		if t.breaks {
			p.comma()
		}
		switch {
		case t.special == specialQuestion:
			p.doubt()
			p.note(t.start, t.end, sense{KindDoubt, 0, "doubt"}, false)
			i++
		case t.special == specialMunsell:
			if p.r.Munsell == "" {
				p.r.Munsell = text[t.start:t.end]
			}
			p.note(t.start, t.end, sense{KindMunsell, 0, "Munsell"}, false)
			i++
		default:
			s, n := v.lex.match(tokens, i)
			if n == 0 {
				p.r.Unread++
				i++
				continue
			}
			p.take(s, t.start, tokens[i+n-1].end, tokens[i+n-1].alt >= 0)
			i += n
		}
	}
	p.close()
	p.settle()
	return p.r
}

// tokens cuts the text and looks each word up. whole is false when the text
// was too long to be read to its end.
func (v *Vocabulary) tokens(text string, out []token) (_ []token, whole bool) {
	whole = true
	if len(text) > maxTextBytes {
		// Cut at a space, so that no word is read in half.
		cut := maxTextBytes
		for cut > 0 && text[cut] != ' ' {
			cut--
		}
		text, whole = text[:cut], false
	}
	var sc scanner
	sc.reset(text)
	breaks := false
	for sc.next() {
		breaks = breaks || sc.breaks
		if len(out) == cap(out) {
			return out, false
		}
		t := token{start: int32(sc.start), end: int32(sc.end), id: -1, alt: -1, breaks: breaks, special: sc.special}
		sc.abbrev = false
		if w := sc.lower(); len(w) > 0 {
			t.id, t.alt = v.lookUp(w)
			// A full stop after a short word is taken for an abbreviation's.
			sc.abbrev = len(w) <= 2 || t.id >= 0 && v.lex.plain[t.id] != string(w)
		}
		breaks = false
		out = append(out, t)
	}
	return out, whole
}

// lookUp gives the number of a word and that of its singular, -1 for none.
func (v *Vocabulary) lookUp(w []byte) (id, alt int32) {
	id, alt = -1, -1
	if x, ok := v.lex.words[string(w)]; ok {
		id = x
	}
	n := len(w)
	if n < 4 || w[n-1] != 's' || w[n-2] == 's' {
		return id, alt
	}
	if x, ok := v.lex.words[string(w[:n-1])]; ok {
		return id, x
	}
	if w[n-2] != 'e' {
		return id, alt
	}
	if x, ok := v.lex.words[string(w[:n-2])]; ok {
		return id, x
	}
	if w[n-3] == 'i' && n <= maxWordBytes {
		var y [maxWordBytes]byte
		k := copy(y[:], w[:n-3])
		y[k] = 'y'
		if x, ok := v.lex.words[string(y[:k+1])]; ok {
			return id, x
		}
	}
	return id, alt
}

// take acts on one understood word or phrase.
func (p *parser) take(s sense, start, end int32, plural bool) {
	negated := false
	switch s.kind {
	case KindMaterial:
		p.negateGroup()
		p.noun(s.value, plural)
		negated = p.g.negated
	case KindAdjective:
		p.negateGroup()
		p.g.qualifies |= 1 << s.value
		negated = p.g.negated
	case KindColour, KindShade, KindHardness, KindSize, KindWeathering, KindWater, KindFracture, KindCemented:
		negated = p.negateAttribute(s.kind)
		p.attribute(s, negated)
	case KindDegree:
		p.degree = Weathering(s.value)
		negated = p.pending == KindNot
	case KindLoose:
		p.g.loose = true
	case KindSecondary:
		p.open(roleLesser)
	case KindMajor:
		p.open(roleMajor)
	case kindAnd:
		p.join()
	case kindIn:
		if p.g.hasHead {
			p.open(roleHost)
		}
	case kindTo:
		if p.g.hasHead {
			p.open(roleReach)
		} else if !p.g.touched && p.g.qualifies == 0 {
			p.g.role = roleReach // 'hit ledge'; but not 'red to brown clay'
		}
	case kindBut:
		p.open(roleEqual)
	case KindNegation, KindNot:
		if p.g.hasHead && s.value == afterwards {
			p.g.negated = true // 'bedrock not reached'
			p.denyLast()
			break
		}
		if p.g.hasHead {
			p.close()
		}
		p.pending = s.kind
	case KindDoubt:
		p.doubt()
	case KindAmbiguous:
		p.r.Doubts |= DoubtAmbiguous
	case KindNotLogged:
		p.r.NotLogged = true
		p.pending = 0
	case KindAsAbove:
		p.r.AsAbove = true
	case kindFormPlural:
		p.g.plural = true
	}
	if s.kind <= KindAsAbove {
		p.note(start, end, s, negated)
	}
}

// noun puts a noun into the present group: the last noun is the head, but for
// the compounds below.
func (p *parser) noun(x uint8, plural bool) {
	if p.g.hasHead && p.g.qualified {
		// 'red clay gray limestone': an attribute after a noun begins anew.
		next := p.g.role
		negated := p.g.negated
		p.open(next)
		p.g.negated = negated
	}
	g, is := &p.g, &p.v.is
	if plural && (p.class(x) == records.ClassVoid || x == is.quartz || x == is.pegmatite || x == is.mudSeam) {
		g.plural = true
	}
	if !g.hasHead {
		g.head, g.hasHead = x, true
		return
	}
	old := g.head
	switch {
	case old == x:
	case x == is.rock && p.class(old) >= records.ClassTransition: // slate rock, granite ledge
	case x == is.rock && (old == is.boulders || old == is.cobbles): // boulder ledge
	case old == is.rock && p.class(x) == records.ClassRock: // bedrock granite
		g.head = x
	case old == is.quartz: // quartz gneiss, quartz sand: the mineral
		g.head = x
	case p.sandy(old) && x == is.gravel || old == is.gravel && p.sandy(x): // sand gravel
		g.head = is.sandGravel
	default:
		g.qualifies |= 1 << old
		g.head = x
		if p.class(old) == records.ClassSoil && p.class(x) == records.ClassRock {
			g.clash = true
		}
	}
}

func (p *parser) class(x uint8) records.Class { return p.v.materials[x].Class }

func (p *parser) sandy(x uint8) bool {
	is := &p.v.is
	return x == is.sand || x == is.sandFine || x == is.sandCoarse
}

// attribute acts on colour, hardness and the like.
func (p *parser) attribute(s sense, negated bool) {
	degree := p.degree
	p.degree = 0
	p.g.touched = true
	if p.g.hasHead && s.kind != KindWater && s.kind != KindFracture {
		p.g.qualified = true
	}
	switch s.kind {
	case KindColour:
		if !negated {
			p.r.Colours |= 1 << s.value
		}
	case KindShade:
		if !negated && p.r.Shade == 0 {
			p.r.Shade = Shade(s.value)
		}
	case KindHardness:
		h := Hardness(s.value)
		if degree >= HighlyWeathered && (h == Soft || h == Hard) {
			if h == Soft {
				h = VerySoft
			} else {
				h = VeryHard
			}
		}
		if !negated && p.r.Hardness == 0 {
			p.r.Hardness = h
		}
	case KindSize:
		if !negated {
			p.g.sizes |= s.value
		}
	case KindWeathering:
		w := Weathering(s.value)
		if degree != 0 && (w == WeatheredUnstated || w == CompletelyWeathered) {
			w = degree
		}
		if negated {
			w = Fresh
		}
		if p.g.weather == 0 {
			p.g.weather = w
		}
	case KindWater:
		w := Water(s.value)
		if negated {
			w = WaterNone
		}
		p.r.Water = max(p.r.Water, w)
	case KindFracture:
		if !negated {
			p.r.Fractured = true
			if s.value == 1 {
				p.g.loose = true // 'crushed rock' may be fill
			}
		}
	case KindCemented:
		p.g.cemented = p.g.cemented || !negated
	}
}

// denyLast marks the noun named last as said not to be so.
func (p *parser) denyLast() {
	for _, words := range [...][]Word{p.further, p.words[:p.nWords]} {
		for i := len(words) - 1; i >= 0; i-- {
			if words[i].Kind == KindMaterial {
				words[i].Negated = true
				return
			}
		}
	}
}

// negateGroup turns a waiting 'no' or 'not' on the nouns of the present group.
func (p *parser) negateGroup() {
	if p.pending != 0 {
		p.g.negated = true
		p.pending = 0
	}
}

// negateAttribute decides whether a waiting 'no' or 'not' falls on this
// attribute ('not hard clay', 'no water') or on the noun to come ('no hard
// rock').
func (p *parser) negateAttribute(k Kind) bool {
	switch {
	case p.pending == 0:
		return false
	case p.pending == KindNot, k == KindWater, k == KindWeathering, k == KindFracture:
		p.pending = 0
		return true
	default:
		p.negateGroup()
		return false
	}
}

func (p *parser) doubt() { p.g.doubted = true }

// join acts on 'and': a new equal, or another lesser part, or nothing when no
// noun has been met ('red and gray clay').
func (p *parser) join() {
	if !p.g.hasHead {
		return
	}
	next, negated := roleEqual, p.g.negated
	if p.g.role == roleLesser {
		next = roleLesser
	}
	p.open(next)
	p.g.negated = negated
}

// comma acts on punctuation.
func (p *parser) comma() {
	p.pending = 0
	p.degree = 0
	switch {
	case p.g.hasHead, p.g.negated:
		p.open(roleEqual)
	case p.n > 0 || p.g.role == roleLesser:
		// Attributes between commas speak of what stands before them.
		p.open(roleEqual)
	}
}

// open closes the present group and begins another.
func (p *parser) open(next role) {
	p.close()
	p.g.role = next
}

// close puts the present group away. One without a noun gives its attributes
// to the ground named last, or keeps them for the ground to come.
func (p *parser) close() {
	g := p.g
	p.pending, p.degree = 0, 0
	if !g.hasHead && g.role != roleLesser {
		if p.n == 0 {
			g.role, g.negated = roleEqual, false
			p.g = g
			return
		}
		if !g.negated {
			last := &p.groups[p.n-1]
			last.qualifies |= g.qualifies
			last.sizes |= g.sizes
			last.cemented = last.cemented || g.cemented
			last.loose = last.loose || g.loose
			last.doubted = last.doubted || g.doubted
			if last.weather == 0 {
				last.weather = g.weather
			}
		}
		p.g = group{}
		return
	}
	p.g = group{}
	if !g.hasHead && g.qualifies == 0 && g.weather == 0 {
		return
	}
	if p.n == maxGroups {
		p.full = true
		return
	}
	p.groups[p.n] = g
	p.n++
}

func (p *parser) note(start, end int32, s sense, negated bool) {
	w := Word{int(start), int(end), s.kind, s.means, negated}
	if p.nWords == len(p.words) {
		p.further = append(p.further, w)
		return
	}
	p.words[p.nWords] = w
	p.nWords++
}
