package recordstest

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/cql2"
)

// drawFilter draws a filter of a collection: any predicate of the language on
// any field, few values, small whole numbers for places; and values that the
// features hold, as one that chooses all or nothing shows little.
func drawFilter(t *rapid.T, c *records.FeatureCollection, held []heldValue) cql2.Expr {
	d := drawer{t: t, of: map[cql2.Type][]string{}, held: held}
	for _, f := range cql2.FieldsOf(c) {
		d.of[f.Type] = append(d.of[f.Type], f.Name)
	}
	return d.condition(3)
}

type drawer struct {
	t    *rapid.T
	of   map[cql2.Type][]string
	held []heldValue
}

// heldValue is a field that may be asked for, with what a feature holds there
// as a filter writes it.
type heldValue struct {
	field string
	value cql2.Expr
}

// heldBy lists what features hold in the fields that do not say the same of
// all of them.
func heldBy(t *testing.T, c *records.FeatureCollection, all []*records.Feature) (out []heldValue) {
	t.Helper()
	for i := range c.Fields {
		f, seen := &c.Fields[i], map[any]bool{}
		var of []heldValue
		for _, one := range all {
			v := one.Values[i]
			if !f.Queryable || v == nil || seen[v] {
				continue
			}
			seen[v] = true
			if x := written(t, f.Type, v); x != nil {
				of = append(of, heldValue{f.Name, x})
			}
		}
		if len(seen) > 1 {
			out = append(out, of...)
		}
	}
	return out
}

// written is a value as a filter writes it; nil for a date without its day.
func written(t *testing.T, of records.FieldType, v any) cql2.Expr {
	t.Helper()
	text := ""
	switch v := v.(type) {
	case float64:
		return &cql2.Number{Value: v}
	case int64:
		return &cql2.Number{Value: float64(v)}
	case bool:
		return &cql2.Bool{Value: v}
	case string:
		text = v
	}
	switch of {
	case records.FieldDate:
		if len(text) != len("2004-06-15") {
			return nil
		}
		text = "DATE('" + text + "')"
	case records.FieldTime:
		text = "TIMESTAMP('" + text + "')"
	default:
		return &cql2.Text{Value: text}
	}
	x, err := cql2.Parse("a = " + text)
	if err != nil {
		t.Fatal(err)
	}
	return x.(*cql2.Compare).Right
}

func (d drawer) below(n int) int { return rapid.IntRange(0, n-1).Draw(d.t, "n") }

func oneOf[T any](d drawer, list ...T) T { return list[d.below(len(list))] }

func (d drawer) field(t cql2.Type) cql2.Expr {
	return &cql2.Property{Name: oneOf(d, d.of[t]...)}
}

func (d drawer) condition(depth int) cql2.Expr {
	if depth > 0 {
		switch d.below(8) {
		case 0, 1:
			return &cql2.And{Args: d.some(depth)}
		case 2, 3:
			return &cql2.Or{Args: d.some(depth)}
		case 4:
			return &cql2.Not{Arg: d.condition(depth - 1)}
		case 5:
			return &cql2.IsNull{Value: d.condition(depth - 1)}
		}
	}
	if len(d.held) > 0 && d.below(2) == 0 {
		return d.heldComparison()
	}
	switch d.below(9) {
	case 0:
		return &cql2.Spatial{Op: oneOf(d, "S_INTERSECTS", "S_DISJOINT", "S_WITHIN", "S_CONTAINS", "S_EQUALS", "S_TOUCHES", "S_OVERLAPS", "S_CROSSES"),
			Left: d.field(cql2.PlaceType), Right: d.place()}
	case 1:
		return &cql2.Spatial{Op: oneOf(d, "S_INTERSECTS", "S_WITHIN", "S_CONTAINS"), Left: d.place(), Right: d.field(cql2.PlaceType)}
	case 2, 3:
		ops := strings.Fields("T_AFTER T_BEFORE T_CONTAINS T_DISJOINT T_DURING T_EQUALS T_FINISHEDBY T_FINISHES T_INTERSECTS T_MEETS T_METBY T_OVERLAPPEDBY T_OVERLAPS T_STARTEDBY T_STARTS")
		return &cql2.Temporal{Op: oneOf(d, ops...), Left: d.period(), Right: d.period()}
	case 4:
		pattern := cql2.Expr(&cql2.Text{Value: oneOf(d, "%", "_%", "B%", "%ü%", `100\%`, "100%", "%s%s%", "", `a\b`, `a\\b`, "bl_ff", `\_`)})
		value := d.text(2)
		if f, ok := value.(*cql2.Fold); ok {
			pattern = &cql2.Fold{Op: f.Op, Value: pattern}
		}
		return &cql2.Like{Value: value, Pattern: pattern}
	case 5:
		return &cql2.IsNull{Value: oneOf(d, d.field(cql2.TextType), d.field(cql2.PlaceType), d.time(), d.number(1), d.text(1))}
	}
	return d.comparison()
}

func (d drawer) some(depth int) []cql2.Expr {
	args := []cql2.Expr{d.condition(depth - 1), d.condition(depth - 1)}
	for range d.below(2) {
		args = append(args, d.condition(depth-1))
	}
	return args
}

func (d drawer) comparison() cql2.Expr {
	value := func() cql2.Expr { return d.number(2) }
	kind := d.below(5)
	switch kind {
	case 0:
		value = func() cql2.Expr { return d.text(2) }
	case 1, 2:
		value = d.time
	}
	if bools := d.of[cql2.BoolType]; kind == 3 && len(bools) > 0 {
		return &cql2.Compare{Op: oneOf(d, "=", "<>"), Left: d.field(cql2.BoolType), Right: &cql2.Bool{Value: rapid.Bool().Draw(d.t, "b")}}
	}
	switch d.below(4) {
	case 0:
		return &cql2.Between{Value: value(), Low: value(), High: value()}
	case 1:
		return &cql2.In{Value: value(), List: []cql2.Expr{value(), value(), value()}}
	}
	return &cql2.Compare{Op: oneOf(d, "=", "<>", "<", ">", "<=", ">="), Left: value(), Right: value()}
}

// heldComparison holds a field against what a feature holds there.
func (d drawer) heldComparison() cql2.Expr {
	h := oneOf(d, d.held...)
	ops := []string{"=", "<>", "<", ">", "<=", ">="}
	if _, flag := h.value.(*cql2.Bool); flag {
		ops = ops[:2] // neither is less than the other
	}
	return &cql2.Compare{Op: oneOf(d, ops...), Left: &cql2.Property{Name: h.field}, Right: h.value}
}

func (d drawer) text(depth int) cql2.Expr {
	switch n := d.below(5); {
	case n == 0 && depth > 0:
		return &cql2.Fold{Op: oneOf(d, "CASEI", "ACCENTI"), Value: d.text(depth - 1)}
	case n < 3:
		return d.field(cql2.TextType)
	}
	return &cql2.Text{Value: oneOf(d, filterTexts...)}
}

func (d drawer) number(depth int) cql2.Expr {
	switch n := d.below(6); {
	case n == 0 && depth > 0:
		return &cql2.Sum{Op: oneOf(d, "+", "-", "*", "/", "%", "DIV", "^"), Left: d.number(depth - 1), Right: d.number(depth - 1)}
	case n == 1 && depth > 0:
		return &cql2.Minus{Value: d.number(depth - 1)}
	case n < 4 && len(d.of[cql2.NumberType]) > 0:
		return d.field(cql2.NumberType)
	}
	return &cql2.Number{Value: oneOf(d, -2, -0.5, 0, 0.5, 1, 1.5, 2, 3, 1e300)}
}

func (d drawer) time() cql2.Expr {
	if times := append(d.of[cql2.DateType], d.of[cql2.TimeType]...); d.below(2) == 0 {
		return &cql2.Property{Name: oneOf(d, times...)}
	}
	return d.moment()
}

func (d drawer) moment() cql2.Expr {
	text := oneOf(d, "2003-12-31", "2004-01-01", "2004-02-01", "2004-02-29", "2004-06-15", "2004-06-16", "2004-12-31", "2005-01-01")
	if d.below(3) == 0 {
		text = oneOf(d, filterTimes...)
	}
	keyword := "DATE"
	if len(text) > 10 {
		keyword = "TIMESTAMP"
	}
	x, err := cql2.Parse("a = " + keyword + "('" + text + "')")
	if err != nil {
		d.t.Fatal(err)
	}
	return x.(*cql2.Compare).Right
}

// period draws a time or an interval, whose given ends are in order.
func (d drawer) period() cql2.Expr {
	if d.below(2) == 0 {
		return d.time()
	}
	end := func(m cql2.Expr) cql2.Expr {
		switch d.below(4) {
		case 0:
			return &cql2.Open{}
		case 1:
			if times := append(d.of[cql2.DateType], d.of[cql2.TimeType]...); len(times) > 0 {
				return &cql2.Property{Name: oneOf(d, times...)}
			}
		}
		return m
	}
	from, to := d.moment().(*cql2.Moment), d.moment().(*cql2.Moment)
	if from.Text[:10] > to.Text[:10] || from.Text[:10] == to.Text[:10] && from.Text > to.Text {
		from, to = to, from
	}
	return &cql2.Interval{From: end(from), To: end(to)}
}

func (d drawer) point() orb.Point {
	return orb.Point{float64(d.below(7) - 3), float64(d.below(7) - 3)}
}

func (d drawer) line() orb.LineString {
	l := orb.LineString{d.point(), d.point()}
	for range d.below(3) {
		l = append(l, d.point())
	}
	if l[0] == l[1] { // a line of no length is none
		l[1][0]++
	}
	return l
}

// polygon draws a triangle or a box, with a hole in it or not.
func (d drawer) polygon() orb.Polygon {
	if d.below(2) == 0 {
		a, b, c := d.point(), d.point(), d.point()
		if (b[0]-a[0])*(c[1]-a[1]) == (c[0]-a[0])*(b[1]-a[1]) {
			c = orb.Point{a[0] + 1, a[1]}
			b = orb.Point{a[0], a[1] + 2}
		}
		return orb.Polygon{{a, b, c, a}}
	}
	box := func(r float64, at orb.Point) orb.Ring {
		return orb.Bound{Min: orb.Point{at[0] - r, at[1] - r}, Max: orb.Point{at[0] + r, at[1] + r}}.ToRing()
	}
	at := d.point()
	p := orb.Polygon{box(2, at)}
	if d.below(2) == 0 {
		p = append(p, box(1, at))
	}
	return p
}

func (d drawer) place() cql2.Expr {
	var g orb.Geometry
	switch d.below(10) {
	case 0, 1:
		low, high := d.point(), d.point()
		low[1], high[1] = min(low[1], high[1]), max(low[1], high[1])
		return &cql2.Box{Min: low, Max: high}
	case 2:
		g = orb.MultiPoint{d.point(), d.point()}
	case 3, 4:
		g = d.line()
	case 5:
		g = orb.MultiLineString{d.line(), d.line()}
	case 6:
		p, q := d.polygon(), d.polygon()
		for i := range q { // apart, as those of a MULTIPOLYGON are
			for j := range q[i] {
				q[i][j][0] += 20
			}
		}
		g = orb.MultiPolygon{p, q}
	case 7:
		g = orb.Collection{d.point(), d.line()}
	case 8:
		g = d.point()
	default:
		g = d.polygon()
	}
	return &cql2.Shape{Geometry: g}
}

// Places are geometries and boxes drawn by numbers, for judges: with small whole
// coordinates, so that points often lie on their borders.
func Places(n int) []cql2.Expr {
	place := rapid.Custom(func(t *rapid.T) cql2.Expr { return drawer{t: t}.place() })
	out := make([]cql2.Expr, n)
	for i := range out {
		out[i] = place.Example(i)
	}
	return out
}
