// Package section puts places onto a line across the country: how far along
// the line each lies, how far off it and on which side, and where the line is
// to be asked what lies under it. It works on a plane in metres, east and
// north, and knows no wells.
//
// Lengths are measured on that plane: the caller chooses one that is true
// enough over the line's length (see position.Plane).
package section

import (
	"errors"
	"fmt"
	"math"
)

// Point is a place on the plane: metres east and north.
type Point struct{ X, Y float64 }

// Errors of New.
var (
	// ErrShort is a line that has not two places apart from each other.
	ErrShort = errors.New("section: a line needs two places apart from each other")
	// ErrPoint is a place that is not a finite number of metres.
	ErrPoint = errors.New("section: a place of the line is no number")
)

// leastLegM is how far apart two places of a line must lie to be two: a
// millimetre, far under what any survey tells.
const leastLegM = 0.001

// Line is a line of one or more straight legs, begun at its first place. It is
// immutable and safe for concurrent use.
type Line struct {
	points []Point
	at     []float64 // metres along the line at each place; ascending
}

// New makes a line through places in their order. A place that repeats the one
// before it is left out. Errors: ErrPoint, ErrShort.
func New(points []Point) (*Line, error) {
	l := &Line{}
	for i, p := range points {
		if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			return nil, fmt.Errorf("%w: the %d. of them", ErrPoint, i+1)
		}
		if n := len(l.points); n == 0 {
			l.points, l.at = append(l.points, p), append(l.at, 0)
		} else if legM := dist(l.points[n-1], p); legM >= leastLegM {
			l.points, l.at = append(l.points, p), append(l.at, l.at[n-1]+legM)
		}
	}
	if len(l.points) < 2 {
		return nil, ErrShort
	}
	return l, nil
}

// LengthM is the length of the line, metres.
func (l *Line) LengthM() float64 { return l.at[len(l.at)-1] }

// Points are the places of the line, without repeats.
func (l *Line) Points() []Point { return append([]Point(nil), l.points...) }

// Legs is the number of its legs, at least one.
func (l *Line) Legs() int { return len(l.points) - 1 }

// BendsM tells how far along the line each of its bends lies, in their order:
// the places between its ends.
func (l *Line) BendsM() []float64 { return append([]float64(nil), l.at[1:len(l.at)-1]...) }

// At is the place so many metres along the line; before its beginning and
// behind its end, the end itself. NaN gives NaN.
func (l *Line) At(alongM float64) Point {
	k := l.legAt(alongM)
	a, b := l.points[k], l.points[k+1]
	t := min(max((alongM-l.at[k])/(l.at[k+1]-l.at[k]), 0), 1)
	return Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}
}

// AzimuthDeg is the direction in which the line runs so many metres along it,
// degrees clockwise from north of the plane, in [0, 360); at a bend, that of
// the leg behind it.
func (l *Line) AzimuthDeg(alongM float64) float64 { return l.azimuth(l.legAt(alongM)) }

func (l *Line) azimuth(k int) float64 {
	a, b := l.points[k], l.points[k+1]
	return azimuth(b.X-a.X, b.Y-a.Y)
}

// legAt is the leg that holds a distance along the line.
func (l *Line) legAt(alongM float64) int {
	k := 0
	for k < l.Legs()-1 && alongM >= l.at[k+1] {
		k++
	}
	return k
}

// Stations are distances along the line at which to ask what lies under it,
// ascending: both ends, every bend, and others evenly between, no farther
// apart than the length over n (n below 1 counts as 1).
func (l *Line) Stations(n int) []float64 {
	step := l.LengthM() / float64(max(n, 1))
	out := []float64{0}
	for k := range l.Legs() {
		from, to := l.at[k], l.at[k+1]
		parts := max(math.Ceil((to-from)/step-1e-9), 1)
		for i := 1.0; i < parts; i++ {
			out = append(out, from+(to-from)*i/parts)
		}
		out = append(out, to)
	}
	return out
}

func dist(a, b Point) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

// azimuth turns a step east and north into degrees clockwise from north.
func azimuth(east, north float64) float64 {
	d := math.Atan2(east, north) * 180 / math.Pi
	if d < 0 {
		d += 360
	}
	if d >= 360 { // -1e-17 plus 360
		d = 0
	}
	return d
}
