package cql2

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tallybook/records"
)

// GeometryField is the name under which a filter speaks of where a feature
// lies.
const GeometryField = "geometry"

// FieldsOf are the fields that a filter may name of a collection.
func FieldsOf(c *records.FeatureCollection) []Field {
	fields := []Field{{Name: GeometryField, Type: PlaceType}}
	for _, f := range c.Fields {
		if !f.Queryable {
			continue
		}
		t := map[records.FieldType]Type{
			records.FieldText: TextType, records.FieldNumber: NumberType, records.FieldWhole: NumberType,
			records.FieldDate: DateType, records.FieldTime: TimeType, records.FieldFlag: BoolType,
		}[f.Type]
		if t == NoType {
			panic("cql2: the field " + f.Name + " has a type that filters do not know")
		}
		fields = append(fields, Field{Name: f.Name, Type: t})
	}
	return fields
}

// WithUS adds, for every depth, height and flow, the same in feet and gallons a
// minute: total_depth_ft beside total_depth_m, yield_gpm beside yield_lps.
func WithUS(fields []Field) []Field {
	for _, f := range fields {
		if name, ok := strings.CutSuffix(f.Name, "_m"); ok && f.Type == NumberType {
			fields = append(fields, Field{Name: name + "_ft", Type: NumberType, Of: f.Name, Unit: records.Foot})
		}
		if name, ok := strings.CutSuffix(f.Name, "_lps"); ok && f.Type == NumberType {
			fields = append(fields, Field{Name: name + "_gpm", Type: NumberType, Of: f.Name, Unit: records.GallonPerMinute})
		}
	}
	return fields
}

// Ask reads a filter of a collection's features as what a store is asked. What
// is wrong with it is a records.Error with code Invalid.
func Ask(text string, c *records.FeatureCollection, crs CRS) (records.Condition, error) {
	return AskOf(text, FieldsOf(c), crs)
}

// AskOf is Ask with these fields.
func AskOf(text string, fields []Field, crs CRS) (records.Condition, error) {
	x, err := Read(text, fields, crs)
	if err != nil {
		return nil, &records.Error{Code: records.Invalid, Message: err.Error()}
	}
	return Condition(x, fields), nil
}

// Condition turns a filter that Read has given into a condition.
//
// A date that knows only its month or year is compared with < and its like as a
// day of which no more is known: where it depends on the day, the comparison
// is unknown, as with a value that is missing. The predicates of time take it
// for the whole month or year.
func Condition(x Expr, fields []Field) records.Condition {
	w := &writer{types: map[string]Type{}, other: map[string]records.ExprIn{}}
	for _, f := range fields {
		w.types[f.Name] = f.Type
		if f.Of != "" {
			w.other[f.Name] = records.ExprIn{Field: f.Of, Unit: f.Unit}
		}
	}
	return w.condition(x, true)
}

type writer struct {
	types map[string]Type
	other map[string]records.ExprIn // fields in another unit
}

// condition writes a predicate. Where sure is set it only matters where it is
// true, so that what is unknown may as well be false.
func (w *writer) condition(x Expr, sure bool) records.Condition {
	switch x := x.(type) {
	case *And:
		return records.CondAll(w.all(x.Args, sure))
	case *Or:
		return records.CondAny(w.all(x.Args, sure))
	case *Not:
		return records.CondNot{Of: w.condition(x.Arg, false)}
	case *Bool:
		return constant(x.Value)
	case *Compare:
		return w.compare(x.Op, x.Left, x.Right, sure)
	case *Between:
		return records.CondAll{w.compare(">=", x.Value, x.Low, sure), w.compare("<=", x.Value, x.High, sure)}
	case *In:
		return w.in(x, sure)
	case *Like:
		return records.CondLike{Of: w.value(x.Value), Pattern: w.value(x.Pattern)}
	case *IsNull:
		return w.isNull(x.Value)
	case *Spatial:
		return w.spatial(x)
	case *Temporal:
		return w.temporal(x, sure)
	}
	return records.CondAny{} // Read lets nothing else through
}

func constant(v bool) records.Condition {
	if v {
		return records.CondAll{}
	}
	return records.CondAny{}
}

func (w *writer) all(args []Expr, sure bool) []records.Condition {
	out := make([]records.Condition, len(args))
	for i, a := range args {
		out[i] = w.condition(a, sure)
	}
	return out
}

func (w *writer) isNull(x Expr) records.Condition {
	if isCondition(x) {
		return records.CondUnknown{Of: w.condition(x, false)}
	}
	switch x := x.(type) {
	case *Property:
		switch t := w.types[x.Name]; {
		case t == PlaceType:
			return records.CondUnknown{Of: records.CondBox{Box: world}}
		case t.isTime(): // what is there and is no date is missing, too
			return records.CondMissing{Of: records.ExprWhen{Field: x.Name}}
		}
	case *Interval:
		var any records.CondAny
		for _, end := range parts(x) {
			if p, ok := end.(*Property); ok {
				any = append(any, records.CondMissing{Of: records.ExprWhen{Field: p.Name}})
			}
		}
		return any
	case *Moment, *Open, *Shape, *Box:
		return constant(false)
	}
	return records.CondMissing{Of: w.value(x)}
}

var world = records.Bounds{West: -180, South: -90, East: 180, North: 90}

// isTime says whether a value is a day or a moment.
func (w *writer) isTime(x Expr) bool {
	switch x := x.(type) {
	case *Moment, *Interval:
		return true
	case *Property:
		return w.types[x.Name].isTime()
	}
	return false
}

func (w *writer) compare(op string, a, b Expr, sure bool) records.Condition {
	if w.isTime(a) {
		return w.compareTimes(op, w.span(a), w.span(b), sure)
	}
	return records.CondCompare{Op: op, Left: w.value(a), Right: w.value(b)}
}

func (w *writer) in(x *In, sure bool) records.Condition {
	if w.isTime(x.Value) {
		any := make(records.CondAny, len(x.List))
		for i, v := range x.List {
			any[i] = w.compare("=", x.Value, v, sure)
		}
		return any
	}
	list := make([]records.Expression, len(x.List))
	for i, v := range x.List {
		list[i] = w.value(v)
	}
	return records.CondIn{Of: w.value(x.Value), List: list}
}

// value writes a value that is no time and no place.
func (w *writer) value(x Expr) records.Expression {
	switch x := x.(type) {
	case *Property:
		if other, ok := w.other[x.Name]; ok {
			return other
		}
		return records.ExprField(x.Name)
	case *Text:
		return records.ExprValue{Value: x.Value}
	case *Number:
		return records.ExprValue{Value: x.Value}
	case *Bool:
		return records.ExprValue{Value: x.Value}
	case *Fold:
		return records.ExprFold{Of: w.value(x.Value), Case: x.Op == "CASEI", Accents: x.Op == "ACCENTI"}
	case *Minus:
		return records.ExprSum{Op: '-', Left: records.ExprValue{Value: 0.0}, Right: w.value(x.Value)}
	case *Sum:
		op := x.Op[0]
		if x.Op == "DIV" {
			op = 'd'
		}
		return records.ExprSum{Op: op, Left: w.value(x.Left), Right: w.value(x.Right)}
	}
	return records.ExprValue{} // Read lets nothing else through
}

// spatial writes a predicate of the feature's place, a point or nothing.
func (w *writer) spatial(x *Spatial) records.Condition {
	op, place := x.Op, x.Right
	if _, ok := x.Left.(*Property); !ok { // the given place stands before it
		place = x.Left
		switch op {
		case "S_WITHIN":
			op = "S_CONTAINS"
		case "S_CONTAINS":
			op = "S_WITHIN"
		}
	}
	if op == "S_DISJOINT" {
		return records.CondNot{Of: w.meets("S_INTERSECTS", place)}
	}
	return w.meets(op, place)
}

func (w *writer) meets(op string, place Expr) records.Condition {
	switch p := place.(type) {
	case *Property: // with itself
		same := op == "S_INTERSECTS" || op == "S_WITHIN" || op == "S_CONTAINS" || op == "S_EQUALS"
		return records.CondShape{Box: world, Has: func(float64, float64) bool { return same }}
	case *Box:
		if op == "S_INTERSECTS" && p.In.plane == nil {
			return records.CondBox{Box: boundsOf(p.Min, p.Max)}
		}
		onlyPoint := p.Min == p.Max
		find := func(at orb.Point) where {
			w := locateBox(at, p)
			if onlyPoint && w == onBoundary { // a point has no boundary
				w = within
			}
			return w
		}
		return records.CondShape{Box: p.In.or(boundsOf(p.Min, p.Max)), Has: p.In.has(op, onlyPoint, find)}
	case *Shape:
		b := p.Geometry.Bound()
		find := func(at orb.Point) where { return locate(at, p.Geometry) }
		return records.CondShape{Box: p.In.or(boundsOf(b.Min, b.Max)), Has: p.In.has(op, isPoint(p.Geometry), find)}
	}
	return records.CondAny{} // Read lets nothing else through
}

func boundsOf(low, high orb.Point) records.Bounds {
	return records.Bounds{West: low[0], South: low[1], East: high[0], North: high[1]}
}

// isPoint says whether a geometry is one point, however often.
func isPoint(g orb.Geometry) bool {
	b := g.Bound()
	return b.Min == b.Max
}

// or gives the place's bounds in degrees, those given where it has none.
func (p Place) or(b records.Bounds) records.Bounds {
	if p.plane == nil {
		return b
	}
	b = records.Bounds{West: p.bounds.west, South: p.bounds.south, East: p.bounds.east, North: p.bounds.north}
	if b.West < -180 || b.East > 180 {
		b.West, b.East = -180, 180
	}
	return b
}

// has makes the predicate of a point and a place. Of a point P and a geometry
// G, by the relations of OGC 06-103r4 (from memory): P is within G where it is
// in its interior, touches it where it is on its boundary, equals or contains
// it where G is that point; it never overlaps or crosses anything, for what
// they share would have to be a part of P.
func (p Place) has(op string, onlyPoint bool, find func(orb.Point) where) func(lon, lat float64) bool {
	var want func(where) bool
	switch op {
	case "S_INTERSECTS":
		want = func(w where) bool { return w != outside }
	case "S_WITHIN":
		want = func(w where) bool { return w == within }
	case "S_TOUCHES":
		want = func(w where) bool { return w == onBoundary }
	case "S_EQUALS", "S_CONTAINS":
		want = func(w where) bool { return w != outside && onlyPoint }
	default:
		return func(float64, float64) bool { return false }
	}
	if p.plane == nil {
		return func(lon, lat float64) bool { return want(find(orb.Point{lon, lat})) }
	}
	return func(lon, lat float64) bool {
		if !p.bounds.has(lon, lat) {
			return false
		}
		x, y := p.plane.Forward(lonLat(lon, lat))
		return !math.IsNaN(x+y) && want(find(orb.Point{x, y}))
	}
}

// InBox is true of what lies in a box of a reference system, given by the lower
// ends of its two axes and the upper, in their order; the box's border is in it.
// problem says what is wrong with it.
func InBox(v [4]float64, crs CRS) (where records.Condition, problem string) {
	x := &Box{}
	if x.Min, x.Max, x.In, problem = crs.box(orb.Point{v[0], v[1]}, orb.Point{v[2], v[3]}); problem != "" {
		return nil, problem + "; " + crs.order()
	}
	return (&writer{}).meets("S_INTERSECTS", x), ""
}
