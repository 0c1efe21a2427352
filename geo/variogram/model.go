package variogram

import (
	"fmt"
	"math"
)

// Shape is how a structure rises from zero to its sill.
type Shape uint8

const (
	Spherical   Shape = iota // 1.5 h/a - 0.5 (h/a)^3 up to the range, the sill beyond
	Exponential              // 1 - exp(-3 h/a)
	Gaussian                 // 1 - exp(-3 (h/a)^2)
	shapes                   // how many there are
)

// String is the name of the shape.
func (s Shape) String() string {
	switch s {
	case Spherical:
		return "spherical"
	case Exponential:
		return "exponential"
	case Gaussian:
		return "gaussian"
	}
	return fmt.Sprintf("shape %d", uint8(s))
}

// rise is the share of the sill reached at r times the range.
func (s Shape) rise(r float64) float64 {
	switch s {
	case Spherical:
		if r >= 1 {
			return 1
		}
		return r * (1.5 - 0.5*r*r)
	case Exponential:
		return -math.Expm1(-3 * r)
	default:
		return -math.Expm1(-3 * r * r)
	}
}

// left is the share of the sill that is not yet reached: 1 - rise.
func (s Shape) left(r float64) float64 {
	switch s {
	case Spherical:
		if r >= 1 {
			return 0
		}
		return 1 - r*(1.5-0.5*r*r)
	case Exponential:
		return math.Exp(-3 * r)
	default:
		return math.Exp(-3 * r * r)
	}
}

// Structure is one part of a model.
type Structure struct {
	Shape  Shape
	Sill   float64 // in the square of the values' unit; not negative
	RangeM float64 // metres; above zero

	// AcrossM is the range across the direction AzimuthDeg (degrees clockwise
	// from north, along which the range is RangeM), in metres. Zero means the
	// same range in all directions.
	AcrossM    float64
	AzimuthDeg float64
}

// reach is the distance as a share of the range, for a step of dx, dy metres.
func (s Structure) reach(dx, dy float64) float64 {
	if s.AcrossM == 0 {
		return math.Sqrt(dx*dx+dy*dy) / s.RangeM
	}
	sin, cos := math.Sincos(s.AzimuthDeg * math.Pi / 180)
	along, across := (dx*sin+dy*cos)/s.RangeM, (dx*cos-dy*sin)/s.AcrossM
	return math.Sqrt(along*along + across*across)
}

// Model is a nugget and a sum of structures.
type Model struct {
	Nugget     float64 // what two places next to each other already differ by; not negative
	Structures []Structure
}

// Validate reports the first parameter out of its range. A model whose sill is
// zero says that all values are the same, and is no model.
func (m Model) Validate() error {
	if !(m.Nugget >= 0) || math.IsInf(m.Nugget, 0) {
		return fmt.Errorf("variogram: nugget %g must be finite and not negative", m.Nugget)
	}
	for i, s := range m.Structures {
		switch {
		case s.Shape >= shapes:
			return fmt.Errorf("variogram: structure %d has no known shape", i+1)
		case !(s.Sill >= 0) || math.IsInf(s.Sill, 0):
			return fmt.Errorf("variogram: structure %d: sill %g must be finite and not negative", i+1, s.Sill)
		case !(s.RangeM > 0) || math.IsInf(s.RangeM, 0):
			return fmt.Errorf("variogram: structure %d: range %g m must be finite and above zero", i+1, s.RangeM)
		case !(s.AcrossM >= 0) || math.IsInf(s.AcrossM, 0):
			return fmt.Errorf("variogram: structure %d: range across of %g m must be finite and not negative", i+1, s.AcrossM)
		case math.IsInf(s.AzimuthDeg, 0) || s.AzimuthDeg != s.AzimuthDeg:
			return fmt.Errorf("variogram: structure %d: azimuth %g must be finite", i+1, s.AzimuthDeg)
		}
	}
	if sill := m.Sill(); !(sill > 0) || math.IsInf(sill, 0) {
		return fmt.Errorf("variogram: a model with a sill of %g says nothing", sill)
	}
	return nil
}

// Sill is the semivariance far away: the nugget and all structures' sills.
func (m Model) Sill() float64 { return m.Nugget + m.structured() }

func (m Model) structured() float64 {
	sum := 0.0
	for _, s := range m.Structures {
		sum += s.Sill
	}
	return sum
}

// NuggetShare is the nugget's share of the sill, 0 to 1: how much of the
// difference is already there at zero distance. NaN where the sill is zero.
func (m Model) NuggetShare() float64 { return m.Nugget / m.Sill() }

// Gamma is the semivariance between two places dx, dy metres apart: zero at
// the same place, at least the nugget anywhere else.
func (m Model) Gamma(dx, dy float64) float64 {
	if dx == 0 && dy == 0 {
		return 0
	}
	sum := m.Nugget
	for _, s := range m.Structures {
		sum += s.Sill * s.Shape.rise(s.reach(dx, dy))
	}
	return sum
}

// covariance is that of the structures alone, without the nugget.
func (m Model) covariance(dx, dy float64) float64 {
	sum := 0.0
	for _, s := range m.Structures {
		sum += s.Sill * s.Shape.left(s.reach(dx, dy))
	}
	return sum
}
