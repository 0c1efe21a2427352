package cql2

import (
	"slices"

	"github.com/paulmach/orb"
)

var shapeWords = []string{"POINT", "LINESTRING", "POLYGON", "MULTIPOINT", "MULTILINESTRING", "MULTIPOLYGON", "GEOMETRYCOLLECTION"}

// shape reads a geometry or a box where one begins; ok is false where none
// does.
func (p *parser) shape(t token) (x Expr, ok bool, err *Error) {
	at := Pos(t.at)
	if t.upper == "BBOX" && p.isSign("(") {
		low, high, err := p.box(t)
		return &Box{Pos: at, Min: low, Max: high}, true, err
	}
	if !p.isShape(t) {
		return nil, false, nil
	}
	g, err := p.geometry(t)
	if err != nil {
		return nil, true, err
	}
	return &Shape{Pos: at, Geometry: g}, true, nil
}

// isShape says whether a word begins a geometry: a bracket, or Z and a
// bracket, follows it.
func (p *parser) isShape(t token) bool {
	if t.kind != name || !slices.Contains(shapeWords, t.upper) {
		return false
	}
	if p.isWord("Z") && p.next+1 < len(p.tokens) {
		after := p.tokens[p.next+1]
		return after.kind == sign && after.upper == "("
	}
	return p.isSign("(")
}

// geometry reads what follows the word of a geometry.
func (p *parser) geometry(t token) (orb.Geometry, *Error) {
	if err := p.deeper(); err != nil {
		return nil, err
	}
	defer p.shallower()
	numbers := 2
	if p.takeWord("Z") {
		numbers = 3
	}
	switch t.upper {
	case "POINT":
		return inBrackets(p, func() (orb.Point, *Error) { return p.position(numbers) })
	case "LINESTRING":
		return p.line(numbers)
	case "POLYGON":
		return p.polygon(numbers)
	case "MULTIPOINT":
		points, err := list(p, func() (orb.Point, *Error) {
			if p.isSign("(") {
				return inBrackets(p, func() (orb.Point, *Error) { return p.position(numbers) })
			}
			return p.position(numbers)
		})
		return orb.MultiPoint(points), err
	case "MULTILINESTRING":
		lines, err := list(p, func() (orb.LineString, *Error) { return p.line(numbers) })
		return orb.MultiLineString(lines), err
	case "MULTIPOLYGON":
		polygons, err := list(p, func() (orb.Polygon, *Error) { return p.polygon(numbers) })
		return orb.MultiPolygon(polygons), err
	}
	members, err := list(p, func() (orb.Geometry, *Error) {
		t := p.take()
		if !p.isShape(t) {
			return nil, p.wrong(t, "", "a geometry is missing in GEOMETRYCOLLECTION")
		}
		return p.geometry(t)
	})
	return orb.Collection(members), err
}

// list reads things with commas between, in brackets.
func list[T any](p *parser, read func() (T, *Error)) ([]T, *Error) {
	return inBrackets(p, func() ([]T, *Error) {
		var out []T
		for {
			x, err := read()
			if err != nil {
				return nil, err
			}
			out = append(out, x)
			if !p.takeSign(",") {
				return out, nil
			}
		}
	})
}

func inBrackets[T any](p *parser, read func() (T, *Error)) (T, *Error) {
	var none T
	if err := p.needSign("(", "of the geometry"); err != nil {
		return none, err
	}
	x, err := read()
	if err != nil {
		return none, err
	}
	return x, p.needSign(")", "or a comma in the geometry")
}

func (p *parser) line(numbers int) (orb.LineString, *Error) {
	start := p.peek()
	points, err := list(p, func() (orb.Point, *Error) { return p.position(numbers) })
	if err == nil && len(points) < 2 {
		err = p.wrong(start, "", "a line has two positions at least")
	}
	return points, err
}

func (p *parser) polygon(numbers int) (orb.Polygon, *Error) {
	rings, err := list(p, func() (orb.Ring, *Error) {
		start := p.peek()
		points, err := list(p, func() (orb.Point, *Error) { return p.position(numbers) })
		if err == nil && (len(points) < 4 || points[0] != points[len(points)-1]) {
			err = p.wrong(start, "", "an outline has four positions at least, the last of them the first again")
		}
		return points, err
	})
	return rings, err
}

// position reads the numbers of a position; a third, its height, is left out.
func (p *parser) position(numbers int) (orb.Point, *Error) {
	var at [3]float64
	for i := range numbers {
		v, err := p.signedNumber()
		if err != nil {
			return orb.Point{}, err
		}
		at[i] = v
	}
	if t := p.peek(); t.kind == number || t.kind == sign && t.upper == "-" {
		mend := "write the two numbers of each position with a space between, and a comma after them"
		if numbers == 2 {
			mend += "; with a third, Z stands before the bracket"
		}
		return orb.Point{}, p.wrong(t, mend, "one number too many in a position")
	}
	return orb.Point{at[0], at[1]}, nil
}

func (p *parser) signedNumber() (float64, *Error) {
	factor := 1.0
	if p.takeSign("-") {
		factor = -1
	} else {
		p.takeSign("+")
	}
	t := p.take()
	if t.kind != number {
		return 0, p.wrong(t, "", "a number is missing")
	}
	return factor * t.value, nil
}

// box reads the four or six numbers of BBOX.
func (p *parser) box(word token) (low, high orb.Point, err *Error) {
	n, err := list(p, p.signedNumber)
	if err != nil {
		return low, high, err
	}
	switch len(n) {
	case 4:
		low, high = orb.Point{n[0], n[1]}, orb.Point{n[2], n[3]}
	case 6:
		low, high = orb.Point{n[0], n[1]}, orb.Point{n[3], n[4]}
	default:
		return low, high, p.wrong(word, "the lower end of each axis, then the upper: west, south, east, north", "a box has four numbers, or six with heights")
	}
	return low, high, nil
}
