package cql2

import (
	"github.com/paulmach/orb"
)

// Expr is a part of a filter: a predicate, which is true, false or unknown, or
// what predicates are made of. At is the place in the text that it begins at,
// counted in bytes from 0.
type Expr interface{ At() int }

// Pos is where a part begins.
type Pos int

// At is the place in bytes from 0.
func (p Pos) At() int { return int(p) }

// Predicates.
type (
	// And is true where all are. It has two at least.
	And struct {
		Pos
		Args []Expr
	}
	// Or is true where any is. It has two at least.
	Or struct {
		Pos
		Args []Expr
	}
	// Not turns true and false about and leaves unknown.
	Not struct {
		Pos
		Arg Expr
	}
	// Compare is =, <>, <, >, <= or >=.
	Compare struct {
		Pos
		Op          string
		Left, Right Expr
	}
	// Like is a comparison with a pattern: % stands for any text, _ for one
	// character, and a backslash before either for the character itself.
	Like struct {
		Pos
		Value, Pattern Expr
	}
	// Between is Low <= Value and Value <= High.
	Between struct {
		Pos
		Value, Low, High Expr
	}
	// In is Value = any of List.
	In struct {
		Pos
		Value Expr
		List  []Expr
	}
	// IsNull is true where Value is not known.
	IsNull struct {
		Pos
		Value Expr
	}
	// Spatial compares where two things lie; Op is S_INTERSECTS and so on.
	Spatial struct {
		Pos
		Op          string
		Left, Right Expr
	}
	// Temporal compares when two things were; Op is T_AFTER and so on.
	Temporal struct {
		Pos
		Op          string
		Left, Right Expr
	}
)

// Values.
type (
	// Property is the value of a field of the feature.
	Property struct {
		Pos
		Name string
	}
	// Text is a text in quotes.
	Text struct {
		Pos
		Value string
	}
	// Number is a number, finite.
	Number struct {
		Pos
		Value float64
	}
	// Bool is TRUE or FALSE.
	Bool struct {
		Pos
		Value bool
	}
	// Moment is a day, as '2004-06-15', or a moment of it in universal time, to
	// the microsecond, as '2004-06-15T10:00:00.000000Z'. Both are in order as texts.
	Moment struct {
		Pos
		Text string
	}
	// Open is an end of an interval that has none.
	Open struct{ Pos }
	// Interval is the time from one end to another, both in it. An end is a
	// Moment, a Property or Open.
	Interval struct {
		Pos
		From, To Expr
	}
	// Shape is a geometry given in the text: a Point, MultiPoint, LineString,
	// MultiLineString, Polygon, MultiPolygon or Collection.
	Shape struct {
		Pos
		Geometry orb.Geometry
		In       Place
	}
	// Box is a box along the axes, its border included. Where Min[0] is greater
	// than Max[0] it crosses the antimeridian.
	Box struct {
		Pos
		Min, Max orb.Point
		In       Place
	}
	// Fold is CASEI or ACCENTI of a text: as if written without capitals, or
	// without accents.
	Fold struct {
		Pos
		Op    string
		Value Expr
	}
	// Sum is Left + - * / % DIV or ^ Right.
	Sum struct {
		Pos
		Op          string
		Left, Right Expr
	}
	// Minus is -Value.
	Minus struct {
		Pos
		Value Expr
	}
)

// spatialOps and temporalOps are the predicates of these classes.
var spatialOps = map[string]bool{
	"S_INTERSECTS": true, "S_DISJOINT": true, "S_WITHIN": true, "S_CONTAINS": true,
	"S_EQUALS": true, "S_TOUCHES": true, "S_OVERLAPS": true, "S_CROSSES": true,
}

var temporalOps = map[string]bool{
	"T_AFTER": true, "T_BEFORE": true, "T_CONTAINS": true, "T_DISJOINT": true, "T_DURING": true,
	"T_EQUALS": true, "T_FINISHEDBY": true, "T_FINISHES": true, "T_INTERSECTS": true, "T_MEETS": true,
	"T_METBY": true, "T_OVERLAPPEDBY": true, "T_OVERLAPS": true, "T_STARTEDBY": true, "T_STARTS": true,
}
