package section

import "math"

// Projected is a place put onto a line by the shortest way.
type Projected struct {
	// AlongM is how far along the line its foot lies, from 0 to the length.
	AlongM float64
	// OffM is the distance to the foot, metres: positive to the right of the
	// line as it runs from its first place to its last, negative to the left.
	OffM float64
	// OffDeg is the direction from the foot to the place, degrees clockwise
	// from north of the plane; 0 for a place on the line.
	OffDeg float64
	// Leg is the leg that it was put onto, from 0.
	Leg int
	// BeyondM is how far the place lies behind an end of the line, metres
	// measured along the last leg there, negative before the beginning; 0
	// beside the line.
	BeyondM float64
}

// tieM is how much nearer a later leg must be to be preferred, metres: what
// rounding alone cannot make.
const tieM = 1e-6

// Project puts a place onto the line by the shortest way.
//
// At a bend two legs can be equally near. Inside the bend, where the feet lie
// on both legs, the earlier one is taken, so that the answer does not hang on
// rounding. Outside of it the nearest place is the bend itself, which both
// legs share; the side is then the outer one, whatever the lines through the
// legs would say (for a bend sharper than a right angle they contradict each
// other). The work is in proportion to the number of legs. NaN gives NaN.
func (l *Line) Project(p Point) Projected {
	best, bestM := Projected{}, math.Inf(1)
	var foot Point
	atBend := false // whether the foot is the bend at the end of its leg
	for k := range l.Legs() {
		a, b := l.points[k], l.points[k+1]
		dx, dy := b.X-a.X, b.Y-a.Y
		legM := l.at[k+1] - l.at[k]
		t := (float64((p.X-a.X)*dx) + float64((p.Y-a.Y)*dy)) / (legM * legM)
		t01 := min(max(t, 0), 1)
		at := Point{a.X + float64(t01*dx), a.Y + float64(t01*dy)}
		offM := dist(at, p)
		if math.IsNaN(offM) {
			return Projected{AlongM: math.NaN(), OffM: math.NaN(), OffDeg: math.NaN()}
		}
		if !(offM < bestM-tieM) {
			continue
		}
		bestM, foot, atBend = offM, at, t >= 1 && k+1 < l.Legs()
		best = Projected{AlongM: l.at[k] + t01*legM, Leg: k}
		switch {
		case k == 0 && t < 0:
			best.BeyondM = t * legM
		case k == l.Legs()-1 && t > 1:
			best.BeyondM = (t - 1) * legM
		}
	}
	best.OffM = bestM
	if bestM > 0 {
		best.OffDeg = azimuth(p.X-foot.X, p.Y-foot.Y)
	}
	if l.leftOf(best.Leg, atBend, p) {
		best.OffM = -bestM
	}
	return best
}

// leftOf says whether a place lies left of a leg, or of the bend at its end.
func (l *Line) leftOf(k int, atBend bool, p Point) bool {
	if atBend { // the place lies outside of the turn
		if turn := cross(l.points[k], l.points[k+1], l.points[k+2]); turn != 0 {
			return turn < 0
		}
	}
	return cross(l.points[k], l.points[k+1], p) > 0
}

// cross is twice the area of the triangle a, b, p: positive where p lies left
// of the way from a to b.
func cross(a, b, p Point) float64 {
	return float64((b.X-a.X)*(p.Y-a.Y)) - float64((b.Y-a.Y)*(p.X-a.X))
}
