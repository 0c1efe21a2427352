package records

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
)

// leaf is one property of a record in a walk: in words, and where it stands.
type leaf struct {
	matter  string // what it belongs to
	label   string // its own name within a matter of several
	words   string // "" for nothing
	private bool

	text     *string
	flag     **bool
	day      *Date
	amount   amountRef
	position *Place
	members  *[]Member
	rows     listRef
	rowWords []string
	rowParts [][]Said
}

// bundles are properties that mean nothing without each other: the first names
// the matter, the others follow it in the profile.
var bundles = map[string]string{
	"coordinates_given": "place", "datum": "place", "located_by": "place", "accuracy_m": "place", "position": "place",
	"ground_elevation_m": "ground_elevation_m", "vertical_datum": "ground_elevation_m",
	"yield_lps": "yield_lps", "yield_method": "yield_lps",
	"strikes_as": "strikes", "strikes": "strikes",
	"owner.name": "owner", "owner.address": "owner", "owner.telephone": "owner", "owner.extra": "owner",
	"crew.driller": "crew.driller", "crew.licence": "crew.driller",
	"finish.inspector": "finish.inspector", "finish.inspected": "finish.inspector", "finish.result": "finish.inspector",
}

// joinable are texts of which two can stand one under the other.
var joinable = map[string]bool{"remarks": true, "access_notes": true, "finish.ties": true}

// gatherer walks a record and lists its leaves.
type gatherer struct {
	place  *Place
	prefix string
	hidden bool
	out    []leaf
	skip   bool
}

// leavesOf walks a record; two records give leaves of the same names in the
// same order.
func leavesOf(w *Well) []leaf {
	g := &gatherer{place: &w.Place}
	w.visit(g)
	g.kept(&w.Extra)
	return g.out
}

func placeWords(p *Place) string {
	if !p.Located {
		return ""
	}
	return strconv.FormatFloat(p.Lat, 'f', -1, 64) + ", " + strconv.FormatFloat(p.Lon, 'f', -1, 64)
}

// placeShown is a position to seven decimals of a degree, a centimetre.
func placeShown(p *Place) string {
	short := func(v float64) string { return strings.TrimRight(strconv.FormatFloat(v, 'f', 7, 64), "0") }
	return short(p.Lat) + ", " + short(p.Lon)
}

func (g *gatherer) add(name string, l leaf) {
	if g.skip || g.prefix == "" && name == "uid" {
		return
	}
	full := g.prefix + name
	l.matter, l.label, l.private = full, strings.ReplaceAll(name, "_", " "), g.hidden
	if b, ok := bundles[full]; ok {
		l.matter = b
	}
	switch full {
	case "coordinates_given":
		l.label = "given as"
	case "position", "yield_lps", "owner.name", "crew.driller", "strikes":
		l.label = ""
	}
	if l.amount != nil {
		l.label = strings.ReplaceAll(strings.TrimSuffix(name, "_m"), "_", " ")
		if full == "ground_elevation_m" || full == "yield_lps" {
			l.label = ""
		}
	}
	g.out = append(g.out, l)
}

func (g *gatherer) text(name string, p *string) {
	if p == &g.place.Given { // the position stands with what it was read from
		g.add("position", leaf{position: g.place, words: placeWords(g.place)})
	}
	g.add(name, leaf{text: p, words: *p})
}

func (g *gatherer) word(name string, p *string, _ words) { g.text(name, p) }
func (g *gatherer) date(name string, p *Date)            { g.add(name, leaf{day: p, words: p.String()}) }

func (g *gatherer) flag(name string, p **bool) {
	n := noder{}
	n.flag(name, p)
	g.add(name, leaf{flag: p, words: n.out[0].value})
}

// whole is not met outside the rows of lists, which are compared as rows.
func (g *gatherer) whole(string, *int) {}

func (g *gatherer) position(*bool, *float64, *float64) {}

func (g *gatherer) amount(f *amountField, p amountRef) {
	g.add(f.names[0], leaf{amount: p, words: amountWords(p.load(), f)})
}

func (g *gatherer) rows(name string, r rowsRef) {
	list, ok := r.(listRef)
	if !ok {
		return // every list of the model is one
	}
	n := noder{}
	n.rows(name, r)
	l := leaf{rows: list}
	for _, row := range n.out[0].list {
		var parts []Said
		for _, p := range row {
			if p.value != "" {
				parts = append(parts, Said{p.name, p.value})
			}
		}
		l.rowWords, l.rowParts = append(l.rowWords, rowWords(row)), append(l.rowParts, parts)
	}
	switch k := len(l.rowWords); k {
	case 0:
	case 1:
		l.words = "1 row"
	default:
		l.words = strconv.Itoa(k) + " rows"
	}
	g.add(name, l)
}

func (g *gatherer) group(name string, v visitable) {
	outer, skip := g.prefix, g.skip
	g.prefix, g.skip = g.prefix+name+".", g.skip || name == "provenance"
	v.visit(g)
	if k, ok := v.(keeper); ok {
		g.kept(k.kept())
	}
	g.prefix, g.skip = outer, skip
}

func (g *gatherer) private(name string, v visitable) {
	outer := g.hidden
	g.hidden = true
	g.group(name, v)
	g.hidden = outer
}

func (g *gatherer) kept(m *[]Member) {
	var parts []string
	for _, x := range *m {
		parts = append(parts, x.Name+" "+x.JSON)
	}
	g.add("extra", leaf{members: m, words: strings.Join(parts, ", ")})
}

// listRef is a list whose rows can be taken from another of its kind.
type listRef interface {
	rowsRef
	takeRows(from rowsRef)
	joinRows(from rowsRef)
}

func (r rowList[T, P]) takeRows(from rowsRef) {
	if o, ok := from.(rowList[T, P]); ok {
		*r.p = slices.Clone(*o.p)
	}
}

// joinRows adds the rows of another list that are not in this one already, in
// the order of their days, else of their depths.
func (r rowList[T, P]) joinRows(from rowsRef) {
	o, ok := from.(rowList[T, P])
	if !ok {
		return
	}
	type keyed struct {
		row T
		key rowPlace
	}
	var all []keyed
	var known [][]node
	for _, list := range []*[]T{r.p, o.p} {
		for i := range *list {
			n, k := noder{}, rowPlace{depth: math.Inf(1)}
			n.part(P(&(*list)[i]))
			if list == o.p && slices.ContainsFunc(known, func(have []node) bool { return sameNodes(have, n.out) }) {
				continue
			}
			known = append(known, n.out)
			P(&(*list)[i]).visit(&k)
			all = append(all, keyed{(*list)[i], k})
		}
	}
	slices.SortStableFunc(all, func(a, b keyed) int { return a.key.compare(b.key) })
	joined := make([]T, len(all))
	for i := range all {
		joined[i] = all[i].row
	}
	*r.p = joined
}

// rowPlace is where a row stands among others: its first day, its first number.
type rowPlace struct {
	day    string
	depth  float64
	seenNo bool
}

func (k rowPlace) compare(o rowPlace) int {
	if (k.day == "") != (o.day == "") {
		return cmp.Compare(o.day, k.day) // without a day last
	}
	return cmp.Or(cmp.Compare(k.day, o.day), cmp.Compare(k.depth, o.depth))
}

func (k *rowPlace) text(string, *string)        {}
func (k *rowPlace) word(string, *string, words) {}
func (k *rowPlace) flag(string, **bool)         {}
func (k *rowPlace) date(_ string, p *Date) {
	if k.day == "" {
		k.day = p.String()
	}
}
func (k *rowPlace) whole(string, *int)                 {}
func (k *rowPlace) position(*bool, *float64, *float64) {}
func (k *rowPlace) rows(string, rowsRef)               {}
func (k *rowPlace) group(string, visitable)            {}
func (k *rowPlace) private(string, visitable)          {}
func (k *rowPlace) amount(_ *amountField, p amountRef) {
	if v := p.load(); v.Known() && !k.seenNo {
		k.depth, k.seenNo = v.Value, true
	}
}

// sameLeaf says whether two records say the same of a property.
func sameLeaf(a, b *leaf) bool {
	return a.words == b.words && slices.Equal(a.rowWords, b.rowWords)
}

// sameFigures says whether two quantities are the same number, whoever wrote
// which digits.
func sameFigures(a, b Amount[float64]) bool {
	near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y)) }
	return a.Known() && a.Qualifier == b.Qualifier && near(a.Value, b.Value) && (a.Qualifier != Between || near(a.High, b.High))
}

// joins says whether two values can stand together in this one property.
func (l *leaf) joins() bool {
	return l.rows != nil || l.members != nil || joinable[l.matter]
}

// take sets the property to what another record says.
func (l *leaf) take(from *leaf) {
	switch {
	case l.text != nil:
		*l.text = *from.text
	case l.flag != nil:
		*l.flag = *from.flag
	case l.day != nil:
		*l.day = *from.day
	case l.amount != nil:
		l.amount.store(from.amount.load())
	case l.position != nil:
		p, q := l.position, from.position
		p.Located, p.Lon, p.Lat, p.LonText, p.LatText = q.Located, q.Lon, q.Lat, q.LonText, q.LatText
	case l.members != nil:
		*l.members = slices.Clone(*from.members)
	case l.rows != nil:
		l.rows.takeRows(from.rows)
	}
}

// join adds what another record says.
func (l *leaf) join(from *leaf) {
	switch {
	case from.words == "" || sameLeaf(l, from):
	case l.words == "":
		l.take(from)
	case l.amount != nil:
		if l.amount.load().Given.Text == "" {
			l.take(from)
		}
	case l.rows != nil:
		l.rows.joinRows(from.rows)
	case l.members != nil:
		joined := slices.Clone(*l.members)
		for _, m := range *from.members {
			if !slices.ContainsFunc(joined, func(have Member) bool { return have.Name == m.Name }) {
				joined = append(joined, m)
			}
		}
		*l.members = joined
	case l.text != nil:
		*l.text = strings.TrimRight(*l.text, "\n") + "\n" + *from.text
	}
}

// clashingMembers says whether two sets hold a property of one name with
// different values.
func clashingMembers(a, b []Member) bool {
	for _, x := range a {
		for _, y := range b {
			if x.Name == y.Name && x.JSON != y.JSON {
				return true
			}
		}
	}
	return false
}
