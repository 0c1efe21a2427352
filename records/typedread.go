package records

import (
	"strconv"
	"strings"
)

// Reading is what came of a form: what could not be read, and which row of
// the form each row of a list came from.
type Reading struct {
	Faults []Fault          // by path in the record
	rows   map[string][]int // by list: the form's row of each of the record's
}

// ReadTyped reads a form into the record that it was made from, which must be
// one that nothing else holds. What was not touched stays to the digit, with
// all that the form does not show. Rows in which nothing is written are
// dropped. What cannot be read is told, and the value before stays. What the
// values mean is for Validate.
func (w *Well) ReadTyped(t Typed, o TypedOptions) Reading {
	r := reader{in: t, o: o, out: Reading{rows: map[string][]int{}}}
	was := w.Place
	w.visit(&r)
	r.place(&w.Place, &was)
	return r.out
}

// Field is the path in the form of a property of the record that was read from
// it: strata[2].top_m is strata[4].top where two rows before it were empty.
func (r *Reading) Field(path string) string {
	if path == "lon" || path == "lat" {
		return "coordinates_given"
	}
	out := path
	if list, rest, ok := strings.Cut(path, "["); ok {
		digits, tail, _ := strings.Cut(rest, "]")
		i, err := strconv.Atoi(digits)
		if rows := r.rows[list]; err == nil && i >= 0 && i < len(rows) {
			out = list + "[" + strconv.Itoa(rows[i]) + "]" + tail
		}
	}
	dot := strings.LastIndexByte(out, '.') + 1
	if base, ok := baseNames[out[dot:]]; ok {
		return out[:dot] + base
	}
	return out
}

// baseNames gives the name without a unit of each name of a quantity and of
// what stands beside it.
var baseNames = func() map[string]string {
	out := map[string]string{}
	c := &nameLister{out: out}
	(&Well{}).visit(c)
	return out
}()

type nameLister struct {
	skipper
	out map[string]string
}

func (c *nameLister) amount(f *amountField, _ amountRef) {
	for _, n := range f.names {
		c.out[n] = f.base
	}
	for _, n := range []string{f.high, f.qualifier, f.given, f.givenUnit} {
		c.out[n] = f.base
	}
}
func (c *nameLister) rows(_ string, r rowsRef)         { r.blank().visit(c) }
func (c *nameLister) group(_ string, g visitable)      { g.visit(c) }
func (c *nameLister) private(name string, g visitable) { c.group(name, g) }

// reader reads the properties it is shown from a form.
type reader struct {
	in      Typed
	o       TypedOptions
	out     Reading
	prefix  string // in the form: strata[4].
	path    string // in the record, for faults
	list    string // the list that is being read
	touched bool   // something is written in this row
}

func (r *reader) typed(name string) (string, bool) {
	t, ok := r.in[r.prefix+name]
	if ok && strings.TrimSpace(t) != "" {
		r.touched = true
	}
	return oneBreak(t), ok
}

func (r *reader) fault(name, message, mend string) {
	r.out.Faults = append(r.out.Faults, Fault{Refusal, r.path + name, message, mend})
}

func (r *reader) text(name string, p *string) {
	if typedSkips[r.prefix+name] {
		return
	}
	t, ok := r.typed(name)
	// A field of one line cannot hold a line break: where it was the only
	// thing that went, the text was not touched.
	if !ok || t == oneBreak(*p) || t == strings.ReplaceAll(oneBreak(*p), "\n", "") {
		return
	}
	*p = strings.TrimSpace(t)
}

func (r *reader) word(name string, p *string, _ words) { r.text(name, p) }

func (r *reader) flag(name string, p **bool) {
	t, ok := r.typed(name)
	if !ok || t == flagText(*p) {
		return
	}
	switch strings.ToLower(strings.TrimSpace(t)) {
	case "":
		*p = nil
	case "yes", "y", "true":
		v := true
		*p = &v
	case "no", "n", "false":
		v := false
		*p = &v
	default:
		r.fault(name, strconv.Quote(clip(t, 40))+" is neither yes nor no", "write yes or no, or leave it empty")
	}
}

func (r *reader) whole(name string, p *int) {
	t, ok := r.typed(name)
	if !ok || t == wholeText(*p) {
		return
	}
	if t = strings.TrimSpace(t); t == "" {
		*p = 0
		return
	}
	v, err := strconv.Atoi(t)
	if err != nil {
		r.fault(name, strconv.Quote(clip(t, 40))+" is not a whole number", "write it in digits alone")
		return
	}
	*p = v
}

func (r *reader) date(name string, p *Date) {
	t, ok := r.typed(name)
	if !ok || t == p.String() {
		return
	}
	if t = strings.TrimSpace(t); t == "" {
		*p = Date{}
		return
	}
	v, err := ParseDate(t)
	if err != nil {
		r.fault(name, err.Error(), "write the date as 2004-06-15, or only the year or month that is known")
		return
	}
	*p = v
}

func (r *reader) position(*bool, *float64, *float64) {}

func (r *reader) amount(f *amountField, p amountRef) {
	t, ok := r.typed(f.base)
	if !ok {
		return
	}
	a, unit := p.load(), r.o.unit(f.dimension)
	name := r.prefix + f.base + unitEnd
	if r.list != "" {
		name = r.list + "." + f.base + unitEnd
	}
	if symbol, said := r.in[name]; said && f.dimension != DimNone {
		u, known := f.dimension.UnitBySymbol(symbol)
		if !known {
			r.fault(f.names[0], strconv.Quote(clip(symbol, 20))+" is not a unit of this quantity", "choose one of its units")
			return
		}
		unit = u
	}
	if unchangedAmount(t, f.dimension, unit, a) {
		return
	}
	got, err := ParseAmount(t, f.dimension, unit)
	if err != nil {
		r.fault(f.names[0], err.Error(), "write a number, or a bound such as <1 or 50+")
		return
	}
	p.store(got)
}

func (r *reader) group(name string, g visitable) {
	if typedSkips[name] {
		return
	}
	prefix, path := r.prefix, r.path
	r.prefix, r.path = prefix+name+".", path+name+"."
	g.visit(r)
	r.prefix, r.path = prefix, path
}

func (r *reader) private(name string, g visitable) {
	if r.o.Private {
		r.group(name, g)
	}
}

func (r *reader) rows(name string, list rowsRef) {
	if typedSkips[name] || !r.in.Has(name) || list.len() > mostTypedRows {
		return
	}
	var parts []visitable
	rows := r.in.RowsOf(name)
	for _, i := range rows {
		was, err := strconv.Atoi(r.in[name+"["+strconv.Itoa(i)+"]"+wasEnd])
		if err == nil && was >= 0 && was < list.len() {
			parts = append(parts, list.at(was))
		} else {
			parts = append(parts, list.blank())
		}
	}
	list.assign(parts) // copies, so that two rows from one do not share
	prefix, path := r.prefix, r.path
	r.list = name
	var kept []visitable
	for k, i := range rows {
		r.prefix, r.path = name+"["+strconv.Itoa(i)+"].", name+"["+strconv.Itoa(len(kept))+"]."
		r.touched = false
		part := list.at(k)
		before := rowKey(part)
		part.visit(r)
		if r.touched || r.in[name+"["+strconv.Itoa(i)+"]"+wasEnd] != "" && rowKey(part) == before {
			kept = append(kept, part)
			r.out.rows[name] = append(r.out.rows[name], i)
		}
	}
	r.prefix, r.path, r.list = prefix, path, ""
	list.assign(kept)
}
