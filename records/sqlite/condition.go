package sqlite

import (
	"context"
	"strings"

	"tallybook/records"
)

// compiled is a condition as SQL, to stand behind another that holds.
type compiled struct {
	sql  string // "" or " AND ..."
	args []any
	// candidates are how many wells the index leaves to be tried, at most
	// mostSieved; -1: all of them.
	candidates int64
	shapes     []int64 // handles of the shapes that it names
	store      *Store
}

// release forgets the shapes of the condition.
func (c *compiled) release() {
	for _, h := range c.shapes {
		c.store.shapes.Delete(h)
	}
}

// mostSieved is how many wells the spatial index may find for a query to begin
// from them. Where a box holds more, going through the wells in the order of
// their keys meets enough of them soon, and each page would find all of them
// anew.
const mostSieved = 20_000

// compile makes SQL of a condition. Values are bound, never written.
func (v *view) compile(ctx context.Context, c *records.FeatureCollection, src *featureSource, where records.Condition) (*compiled, error) {
	out := &compiled{candidates: -1, store: v.store}
	if where == nil {
		return out, nil
	}
	w := conditionWriter{collection: c, source: src, out: out}
	if src.well != "" {
		if err := v.sieve(ctx, where, &w); err != nil {
			return nil, err
		}
	}
	w.b.WriteString(" AND ")
	if err := w.condition(where, 0); err != nil {
		out.release()
		return nil, err
	}
	out.sql = w.b.String()
	return out, nil
}

// sieve has the spatial index find the wells to be tried, where the condition
// needs them to lie in a box and there are few there. The index keeps boxes of
// 32-bit numbers, rounded outwards: what it finds is tried all the same.
func (v *view) sieve(ctx context.Context, where records.Condition, w *conditionWriter) error {
	for _, box := range boxesOf(where) {
		var sql string
		var args []any
		for _, b := range splitBox(box) {
			if sql != "" {
				sql += " UNION ALL "
			}
			sql += "SELECT pkid FROM idx_wells_geom WHERE xmax >= ? AND xmin <= ? AND ymax >= ? AND ymin <= ?"
			args = append(args, b.West, b.East, b.South, b.North)
		}
		var n int64
		if _, err := v.one(ctx, "SELECT count(*) FROM (SELECT 1 FROM ("+sql+") LIMIT ?)", append(args, mostSieved+1), &n); err != nil {
			return err
		}
		if n > mostSieved {
			continue
		}
		w.out.candidates = n
		w.b.WriteString(" AND " + w.source.well + " IN (" + sql + ")")
		w.out.args = append(w.out.args, args...)
		return nil
	}
	return nil
}

// boxesOf are the boxes in which everything lies of which a condition is true.
func boxesOf(c records.Condition) []records.Bounds {
	switch c := c.(type) {
	case records.CondBox:
		return []records.Bounds{c.Box}
	case records.CondShape:
		return []records.Bounds{c.Box}
	case records.CondAll:
		var out []records.Bounds
		for _, one := range c {
			out = append(out, boxesOf(one)...)
		}
		return out
	}
	return nil
}

func splitBox(b records.Bounds) []records.Bounds {
	if b.West <= b.East {
		return []records.Bounds{b}
	}
	return []records.Bounds{{West: b.West, South: b.South, East: 180, North: b.North}, {West: -180, South: b.South, East: b.East, North: b.North}}
}

// deepestCondition is how far conditions may stand in one another: SQLite takes
// a thousand levels, and two of its own stand for one of ours.
const deepestCondition = 200

// conditionWriter writes a condition of a collection as SQL.
type conditionWriter struct {
	collection *records.FeatureCollection
	source     *featureSource
	b          strings.Builder
	out        *compiled
}

func (w *conditionWriter) bind(v any) {
	w.b.WriteByte('?')
	w.out.args = append(w.out.args, v)
}

func (w *conditionWriter) condition(c records.Condition, depth int) error {
	if depth > deepestCondition {
		return records.Errorf(records.Invalid, "the condition stands in itself more than %d deep: write it flatter", deepestCondition)
	}
	switch c := c.(type) {
	case records.CondAll:
		return w.list(c, " AND ", "1", depth)
	case records.CondAny:
		return w.list(c, " OR ", "0", depth)
	case records.CondNot:
		w.b.WriteString("(NOT ")
		defer w.b.WriteByte(')')
		return w.condition(c.Of, depth+1)
	case records.CondUnknown:
		w.b.WriteByte('(')
		defer w.b.WriteString(" IS NULL)")
		return w.condition(c.Of, depth+1)
	case records.CondCompare:
		return w.compare(c, depth)
	case records.CondMissing:
		w.b.WriteByte('(')
		defer w.b.WriteString(" IS NULL)")
		return w.expression(c.Of, depth+1)
	case records.CondLike:
		return w.call("like_pattern", depth, c.Of, c.Pattern)
	case records.CondIn:
		return w.in(c, depth)
	case records.CondBox:
		w.b.WriteString("in_box(" + w.source.geom)
		for _, v := range []float64{c.Box.West, c.Box.South, c.Box.East, c.Box.North} {
			w.b.WriteByte(',')
			w.bind(v)
		}
		w.b.WriteByte(')')
		return nil
	case records.CondShape:
		h := w.out.store.keepShape(c.Has)
		w.out.shapes = append(w.out.shapes, h)
		w.b.WriteString("in_shape(" + w.source.geom + ",")
		w.bind(h)
		w.b.WriteByte(')')
		return nil
	case records.CondTime:
		return w.time(c)
	}
	return records.Errorf(records.Internal, "a condition of type %T is not one", c)
}

func (w *conditionWriter) list(list []records.Condition, between, empty string, depth int) error {
	if len(list) == 0 {
		w.b.WriteString(empty)
		return nil
	}
	if len(list) == 1 {
		return w.condition(list[0], depth+1)
	}
	// By halves: SQLite puts each joint into the one before it, and takes a
	// thousand levels of that at most.
	w.b.WriteByte('(')
	if err := w.list(list[:len(list)/2], between, empty, depth); err != nil {
		return err
	}
	w.b.WriteString(between)
	if err := w.list(list[len(list)/2:], between, empty, depth); err != nil {
		return err
	}
	w.b.WriteByte(')')
	return nil
}

func (w *conditionWriter) compare(c records.CondCompare, depth int) error {
	switch c.Op {
	case "=", "<>", "<", ">", "<=", ">=":
	default:
		return records.Errorf(records.Internal, "%q compares nothing", c.Op)
	}
	w.b.WriteByte('(')
	if err := w.expression(c.Left, depth+1); err != nil {
		return err
	}
	w.b.WriteString(" " + c.Op + " ")
	if err := w.expression(c.Right, depth+1); err != nil {
		return err
	}
	w.b.WriteByte(')')
	return nil
}

func (w *conditionWriter) in(c records.CondIn, depth int) error {
	w.b.WriteByte('(')
	if err := w.expression(c.Of, depth+1); err != nil {
		return err
	}
	w.b.WriteString(" IN (")
	for i, x := range c.List {
		if i > 0 {
			w.b.WriteByte(',')
		}
		if err := w.expression(x, depth+1); err != nil {
			return err
		}
	}
	w.b.WriteString("))")
	return nil
}

func (w *conditionWriter) call(name string, depth int, args ...records.Expression) error {
	w.b.WriteString(name + "(")
	for i, a := range args {
		if i > 0 {
			w.b.WriteByte(',')
		}
		if err := w.expression(a, depth+1); err != nil {
			return err
		}
	}
	w.b.WriteByte(')')
	return nil
}

// field is a collection's field as SQL. What another program put into a column
// counts only where it is of the field's type.
func (w *conditionWriter) field(name string) (string, records.FieldType, error) {
	if name == "id" {
		return w.source.id, records.FieldText, nil
	}
	i, ok := w.collection.Field(name)
	if !ok || !w.collection.Fields[i].Queryable {
		return "", 0, &records.Error{Code: records.Invalid, Field: name, Message: "is no property of " + w.collection.Name + " that can be asked for"}
	}
	sql, kind := w.source.read[name], w.collection.Fields[i].Type
	switch kind {
	case records.FieldNumber, records.FieldWhole:
		sql = "iif(typeof(" + sql + ") IN ('real', 'integer'), " + sql + ", NULL)"
	case records.FieldText, records.FieldDate, records.FieldTime:
		sql = "nullif(" + sql + ", '')"
	}
	return sql, kind, nil
}

func (w *conditionWriter) expression(x records.Expression, depth int) error {
	if depth > deepestCondition {
		return records.Errorf(records.Invalid, "the condition stands in itself more than %d deep: write it flatter", deepestCondition)
	}
	switch x := x.(type) {
	case records.ExprField:
		sql, _, err := w.field(string(x))
		w.b.WriteString("(" + sql + ")")
		return err
	case records.ExprValue:
		if x.Value == nil {
			w.b.WriteString("NULL")
			return nil
		}
		w.bind(x.Value)
		return nil
	case records.ExprWhen:
		return w.when(x)
	case records.ExprIn:
		sql, _, err := w.field(x.Field)
		w.b.WriteString("round(" + sql + " / ")
		w.bind(x.Unit.ToBase(1))
		w.b.WriteString(", 6)")
		return err
	case records.ExprSum:
		if strings.IndexByte("%^d", x.Op) >= 0 {
			return w.call("sum_of", depth, records.ExprValue{Value: string(x.Op)}, x.Left, x.Right)
		}
		if strings.IndexByte("+-*/", x.Op) < 0 {
			return records.Errorf(records.Internal, "%q adds nothing up", x.Op)
		}
		w.b.WriteString("(1.0*") // whole numbers are divided as others are
		if err := w.expression(x.Left, depth+1); err != nil {
			return err
		}
		w.b.WriteByte(x.Op)
		if err := w.expression(x.Right, depth+1); err != nil {
			return err
		}
		w.b.WriteByte(')')
		return nil
	case records.ExprFold:
		name := "fold_text(?,?,"
		w.out.args = append(w.out.args, x.Case, x.Accents)
		w.b.WriteString(name)
		if err := w.expression(x.Of, depth+1); err != nil {
			return err
		}
		w.b.WriteByte(')')
		return nil
	}
	return records.Errorf(records.Internal, "an expression of type %T is not one", x)
}
