package demo

import (
	"math/rand/v2"

	"tallybook/geo/position"
	"tallybook/records"
)

// Hole is what the invented ground holds at a place where nobody drilled: what
// there is, and not what somebody wrote down of it.
type Hole struct {
	At position.LonLat
	// BedrockM is the depth to sound bedrock, DepthM that at which drilling ended,
	// both in metres below ground.
	BedrockM, DepthM float64
	// YieldLps is the yield in litres a second; 0 when dry.
	YieldLps float64
	// Zone is how much of the productive fracture zone the place has, 0 to 1.
	Zone float64
	// Record is what its driller writes down of it: rounded, with what was not
	// kept left out, and bedrock as it can be read from the log.
	Record *records.Well
}

// Siting is where fresh holes go.
type Siting uint8

// The ways.
const (
	AsWellsGo Siting = iota // in and between the hamlets, as the township's wells
	Anywhere                // evenly over the township
)

// Fresh drills n more holes in the township's ground, as they would be drilled
// in the last year of its records. The same seed drills the same holes; the
// records do not change.
func (t *Township) Fresh(seed uint64, n int, where Siting) []Hole {
	m := &maker{Rand: rand.New(rand.NewPCG(seed, 0x667265736821)), g: t.ground, places: t.places}
	out := make([]Hole, n)
	for i := range out {
		x, y := m.somewhere()
		if where == Anywhere {
			x, y = (m.Float64()*2-1)*(halfM-80), (m.Float64()*2-1)*(halfM-80)
		}
		h := m.drill(x, y, lastYear)
		out[i] = Hole{
			At: m.g.plane.FromXY(x, y), BedrockM: h.overburden, DepthM: h.depth,
			YieldLps: h.yield, Zone: m.g.zone(x, y), Record: m.record(wellCount+i, h),
		}
	}
	return out
}
