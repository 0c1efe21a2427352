package demo

import (
	"math"
	"math/rand/v2"

	"tallybook/geo/position"
)

// The township: a square of twelve kilometres around a place in the open
// Atlantic.
const (
	middleLon = -38.75
	middleLat = 44.25
	halfM     = 6000.0
)

// ground is the invented ground, in metres east and north of the middle.
type ground struct {
	plane  position.Plane
	till   noise
	hills  noise
	stony  noise
	valley [3]float64 // phases of the buried valley's bends
}

func newGround(r *rand.Rand) *ground {
	g := &ground{plane: position.NewPlane(position.LonLat{Lon: middleLon, Lat: middleLat})}
	g.till = newNoise(r, 900, 3200, 9)
	g.hills = newNoise(r, 1500, 5200, 8)
	g.stony = newNoise(r, 500, 1500, 6)
	for i := range g.valley {
		g.valley[i] = r.Float64() * 2 * math.Pi
	}
	return g
}

// noise is a smooth surface of mean 0 and deviation near 1: waves of several
// lengths and directions.
type noise struct{ kx, ky, phase []float64 }

func newNoise(r *rand.Rand, shortM, longM float64, n int) noise {
	var s noise
	for range n {
		length := shortM * math.Pow(longM/shortM, r.Float64())
		dir := r.Float64() * 2 * math.Pi
		s.kx = append(s.kx, 2*math.Pi/length*math.Cos(dir))
		s.ky = append(s.ky, 2*math.Pi/length*math.Sin(dir))
		s.phase = append(s.phase, r.Float64()*2*math.Pi)
	}
	return s
}

func (s noise) at(x, y float64) float64 {
	sum := 0.0
	for i := range s.kx {
		sum += math.Cos(s.kx[i]*x + s.ky[i]*y + s.phase[i])
	}
	return sum * math.Sqrt(2/float64(len(s.kx)))
}

// valleyM is how far a place is from the axis of the buried valley, which
// winds from the south-west to the north-east.
func (g *ground) valleyM(x, y float64) float64 {
	along, across := (x+y)/math.Sqrt2, (y-x)/math.Sqrt2
	axis := -500 + 700*math.Sin(along/1900+g.valley[0]) + 260*math.Sin(along/700+g.valley[1])
	return across - axis
}

// filling is the depth of the buried valley at a place, 0 outside.
func (g *ground) filling(x, y float64) float64 {
	d := g.valleyM(x, y) / 420
	return 52 * math.Exp(-d*d)
}

// elevationM is the ground's height.
func (g *ground) elevationM(x, y float64) float64 {
	d := g.valleyM(x, y) / 900
	return 210 + 48*g.hills.at(x, y) - 40*math.Exp(-d*d)
}

// overburdenM is how deep sound bedrock lies.
func (g *ground) overburdenM(x, y float64) float64 {
	t := 9*math.Exp(0.62*g.till.at(x, y)) - 2.5
	if h := g.hills.at(x, y); h > 0.8 {
		t -= 6 * (h - 0.8) // hilltops are bare
	}
	return max(t, 0.6) + g.filling(x, y)
}

// graniteM is the depth at which granite comes under the schist: below 0 the
// granite is what the overburden lies on.
func (g *ground) graniteM(x, y float64) float64 {
	return 60 + 0.028*(x*0.8-y*0.6) + 18*g.stony.at(x/3, y/3)
}

// zone says how much of the productive fracture zone a place has, 0 to 1: a
// straight band two hundred metres wide that crosses the township.
func (g *ground) zone(x, y float64) float64 {
	d := (0.34*x + 0.94*y + 1500) / 160
	return math.Exp(-d * d)
}

// draw says how much of a valley a place has.
func (g *ground) draw(x, y float64) float64 {
	return min(max(-g.hills.at(x, y)-0.3, 0), 1)
}
