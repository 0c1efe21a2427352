package records

import (
	"slices"
	"strings"
)

// Word says whose word is taken of a matter on which two records speak.
type Word string

// The choices: the first record, the second, or what both say.
const (
	FirstWord  Word = "a"
	SecondWord Word = "b"
	BothWords  Word = "both"
)

// Matter is what two records of one well say of one thing: a property, or a
// few that mean nothing without each other, such as a position with its datum
// and accuracy. A list is one matter.
type Matter struct {
	Name       string // of its first property, as Change.Field has it
	A, B       string // in words; "" where nothing is said
	PartsA     []Said // likewise, property by property
	PartsB     []Said
	RowsA      [][]Said // of a list, row by row
	RowsB      [][]Said
	List       bool
	Same       bool // both say the same, or neither says anything
	CanJoin    bool // what both say can stand together
	Private    bool // for those alone who may see people
	Suggested  Word // whose word is likely the better; "": nothing speaks for either
	Reason     string
	leavesA    []leaf
	leavesB    []leaf
	complement bool // neither says otherwise than the other
}

// Said is one property in words, as Change has them.
type Said struct{ Name, Words string }

// Clashes says whether a person has to choose: both speak, and not alike.
func (m *Matter) Clashes() bool { return !m.Same && m.A != "" && m.B != "" && !m.complement }

// Matters sets two records beside each other, in the order of the profile.
// Names under which they are known to this database and where they came from
// are not among the matters: those of the first stay its own.
func Matters(a, b *Well) []Matter {
	var out []Matter
	la, lb := leavesOf(a), leavesOf(b)
	for i := 0; i < len(la); {
		n := i + 1
		for n < len(la) && la[n].matter == la[i].matter {
			n++
		}
		m := Matter{Name: la[i].matter, leavesA: la[i:n], leavesB: lb[i:n]}
		m.read()
		out = append(out, m)
		i = n
	}
	return out
}

// read puts the matter in words and compares.
func (m *Matter) read() {
	m.Same, m.complement, m.CanJoin = true, true, true
	agree := len(m.leavesA) == 1
	var a, b []string
	for i := range m.leavesA {
		x, y := &m.leavesA[i], &m.leavesB[i]
		m.Private = m.Private || x.private
		m.List = m.List || x.rows != nil
		switch {
		case sameLeaf(x, y):
			agree = agree || x.words != ""
		case x.amount != nil && sameFigures(x.amount.load(), y.amount.load()):
			agree, m.Same = true, false // the one that somebody wrote is kept
		case x.words == "" || y.words == "" || x.members != nil && !clashingMembers(*x.members, *y.members):
			m.Same = false
		default:
			m.Same, m.complement = false, false
			m.CanJoin = m.CanJoin && x.joins()
		}
		a, b = appendLeaf(a, x, len(m.leavesA) > 1), appendLeaf(b, y, len(m.leavesA) > 1)
		m.PartsA, m.PartsB = appendSaid(m.PartsA, x), appendSaid(m.PartsB, y)
		m.RowsA, m.RowsB = append(m.RowsA, x.rowParts...), append(m.RowsB, y.rowParts...)
	}
	m.A, m.B = strings.Join(a, "; "), strings.Join(b, "; ")
	both := m.A != "" && m.B != ""
	m.CanJoin = m.CanJoin && both && !m.Same
	m.complement = m.complement && (agree || !both) // else nothing says that the parts are of one thing
	if m.Clashes() {
		m.suggest()
	}
}

func appendLeaf(out []string, l *leaf, named bool) []string {
	switch {
	case l.words == "":
		return out
	case named && l.label != "":
		return append(out, l.label+" "+l.words)
	}
	return append(out, l.words)
}

func appendSaid(out []Said, l *leaf) []Said {
	if l.words == "" || l.rows != nil {
		return out
	}
	if l.position != nil {
		return append(out, Said{l.label, placeShown(l.position)})
	}
	return append(out, Said{l.label, l.words})
}

// Combine merges two records of one well: the first, with what the second says
// where the first says nothing and with what was chosen. Matters on which both
// speak, not alike, and of which nothing was chosen are told, and are as the
// first has them. Neither record is changed.
func Combine(a, b *Well, choose map[string]Word) (merged *Well, open []string) {
	c := *a
	for _, m := range Matters(&c, b) {
		side := choose[m.Name]
		switch {
		case m.Same:
			continue
		case side == BothWords && !m.CanJoin:
			side = ""
		}
		if side == "" {
			switch {
			case m.A == "":
				side = SecondWord
			case m.B == "":
				side = FirstWord
			case m.complement:
				side = BothWords
			default:
				open = append(open, m.Name)
				side = FirstWord
			}
		}
		for i := range m.leavesA {
			switch side {
			case SecondWord:
				m.leavesA[i].take(&m.leavesB[i])
			case BothWords:
				m.leavesA[i].join(&m.leavesB[i])
			}
		}
	}
	c.Plates = nil
	return &c, open
}

// Apart takes a merge back: after is the record as the merge left it, before as
// it was ahead of it, now as it stands. What nobody changed since is again as
// it was before; what somebody changed stays, and its properties are told.
func Apart(before, after, now *Well) (apart *Well, stays []string) {
	c, clashes := Merge3(after, now, before, func(string) Side { return Ours })
	c.ID, c.Revision, c.UID, c.Plates, c.Provenance = now.ID, now.Revision, now.UID, nil, now.Provenance
	for _, clash := range clashes {
		if !slices.Contains(stays, clash.Field) {
			stays = append(stays, clash.Field)
		}
	}
	return c, stays
}

// SameMatters says whether two records say the same, apart from their names
// and sources.
func SameMatters(a, b *Well) bool {
	la, lb := leavesOf(a), leavesOf(b)
	return slices.EqualFunc(la, lb, func(x, y leaf) bool { return sameLeaf(&x, &y) })
}
