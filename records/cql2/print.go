package cql2

import (
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// Print writes a filter as a text from which Parse makes the same tree.
func Print(x Expr) string {
	var b strings.Builder
	printTo(&b, x)
	return b.String()
}

func printTo(b *strings.Builder, x Expr) {
	switch x := x.(type) {
	case *And:
		printJoined(b, " AND ", x.Args)
	case *Or:
		printJoined(b, " OR ", x.Args)
	case *Not:
		b.WriteString("NOT ")
		bracketed(b, x.Arg)
	case *Compare:
		printJoined(b, " "+x.Op+" ", []Expr{x.Left, x.Right})
	case *Like:
		printJoined(b, " LIKE ", []Expr{x.Value, x.Pattern})
	case *Between:
		bracketed(b, x.Value)
		b.WriteString(" BETWEEN ")
		printJoined(b, " AND ", []Expr{x.Low, x.High})
	case *In:
		bracketed(b, x.Value)
		b.WriteString(" IN ")
		printCall(b, "", x.List...)
	case *IsNull:
		bracketed(b, x.Value)
		b.WriteString(" IS NULL")
	case *Spatial:
		printCall(b, x.Op, x.Left, x.Right)
	case *Temporal:
		printCall(b, x.Op, x.Left, x.Right)
	case *Fold:
		printCall(b, x.Op, x.Value)
	case *Sum:
		printJoined(b, " "+x.Op+" ", []Expr{x.Left, x.Right})
	case *Minus:
		b.WriteString("-")
		if _, ok := x.Value.(*Number); ok { // else it would be part of the number
			printCall(b, "", x.Value)
			return
		}
		bracketed(b, x.Value)
	default:
		printValue(b, x)
	}
}

func printValue(b *strings.Builder, x Expr) {
	switch x := x.(type) {
	case *Property:
		if isName(x.Name) && !reserved[strings.ToUpper(x.Name)] {
			b.WriteString(x.Name)
			return
		}
		printQuoted(b, '"', x.Name)
	case *Text:
		printQuoted(b, '\'', x.Value)
	case *Number:
		b.WriteString(printNumber(x.Value))
	case *Bool:
		b.WriteString(strings.ToUpper(strconv.FormatBool(x.Value)))
	case *Moment:
		if len(x.Text) == 10 {
			b.WriteString("DATE('" + x.Text + "')")
			return
		}
		b.WriteString("TIMESTAMP('" + x.Text + "')")
	case *Open:
		b.WriteString("'..'")
	case *Interval:
		b.WriteString("INTERVAL(")
		printEnd(b, x.From)
		b.WriteString(", ")
		printEnd(b, x.To)
		b.WriteString(")")
	case *Box:
		b.WriteString("BBOX(" + printNumber(x.Min[0]) + ", " + printNumber(x.Min[1]) + ", " + printNumber(x.Max[0]) + ", " + printNumber(x.Max[1]) + ")")
	case *Shape:
		printShape(b, x.Geometry)
	}
}

// reserved are the words that are no names of fields unless quoted.
var reserved = map[string]bool{
	"AND": true, "OR": true, "NOT": true, "LIKE": true, "BETWEEN": true, "IN": true,
	"IS": true, "NULL": true, "TRUE": true, "FALSE": true, "DIV": true,
}

func printEnd(b *strings.Builder, x Expr) {
	if m, ok := x.(*Moment); ok {
		b.WriteString("'" + m.Text + "'")
		return
	}
	printValue(b, x)
}

func printJoined(b *strings.Builder, joint string, args []Expr) {
	for i, a := range args {
		if i > 0 {
			b.WriteString(joint)
		}
		bracketed(b, a)
	}
}

func printCall(b *strings.Builder, word string, args ...Expr) {
	b.WriteString(word + "(")
	for i, a := range args {
		if i > 0 {
			b.WriteString(", ")
		}
		printTo(b, a)
	}
	b.WriteString(")")
}

// bracketed writes a part, in brackets where it is made of others.
func bracketed(b *strings.Builder, x Expr) {
	switch x.(type) {
	case *And, *Or, *Not, *Compare, *Like, *Between, *In, *IsNull, *Sum, *Minus:
		printCall(b, "", x)
	default:
		printTo(b, x)
	}
}

func printQuoted(b *strings.Builder, quote byte, s string) {
	b.WriteByte(quote)
	for i := range len(s) {
		// A backslash before a quote would take it in.
		if s[i] == quote {
			b.WriteByte('\\')
		}
		b.WriteByte(s[i])
	}
	b.WriteByte(quote)
}

func printNumber(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func printShape(b *strings.Builder, g orb.Geometry) {
	switch g := g.(type) {
	case orb.Point:
		b.WriteString("POINT")
		printPoints(b, []orb.Point{g})
	case orb.LineString:
		b.WriteString("LINESTRING")
		printPoints(b, g)
	case orb.Polygon:
		b.WriteString("POLYGON")
		printRings(b, g)
	case orb.MultiPoint:
		b.WriteString("MULTIPOINT")
		printList(b, g, func(p orb.Point) { printPoints(b, []orb.Point{p}) })
	case orb.MultiLineString:
		b.WriteString("MULTILINESTRING")
		printList(b, g, func(l orb.LineString) { printPoints(b, l) })
	case orb.MultiPolygon:
		b.WriteString("MULTIPOLYGON")
		printList(b, g, func(p orb.Polygon) { printRings(b, p) })
	case orb.Collection:
		b.WriteString("GEOMETRYCOLLECTION")
		printList(b, g, func(m orb.Geometry) { printShape(b, m) })
	}
}

func printList[T any](b *strings.Builder, list []T, print func(T)) {
	b.WriteString("(")
	for i, x := range list {
		if i > 0 {
			b.WriteString(", ")
		}
		print(x)
	}
	b.WriteString(")")
}

func printRings(b *strings.Builder, p orb.Polygon) {
	printList(b, p, func(r orb.Ring) { printPoints(b, r) })
}

func printPoints(b *strings.Builder, points []orb.Point) {
	printList(b, points, func(p orb.Point) {
		b.WriteString(printNumber(p[0]) + " " + printNumber(p[1]))
	})
}
