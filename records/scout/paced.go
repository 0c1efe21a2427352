package scout

import (
	"math"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
)

// Paced is something that stands near the pin, as a person paces it off from
// there: so far, in such a direction.
type Paced struct {
	Kind       string // see HazardWords
	DistM      float64
	BearingDeg float64 // clockwise from north
}

// mostKind is how long the word for a kind may be, bytes: an office's own rules
// may name kinds that are not in HazardWords.
const mostKind = 40

// mostPacedM is how far off a thing may stand and still be paced off.
const mostPacedM = 10_000

var eightPoints = [...]string{"N", "NE", "E", "SE", "S", "SW", "W", "NW"}

// ParsePaced reads KIND,DISTANCE,DIRECTION, such as septic_tank,80,NE or
// building,25,110: the distance is in the unit given unless it names one, the
// direction one of the eight points or degrees clockwise from north. An Error
// with code Invalid says what is wrong.
func ParsePaced(text string, unit records.Unit) (Paced, error) {
	parts := strings.Split(text, ",")
	if len(parts) != 3 {
		return Paced{}, records.Errorf(records.Invalid, "write KIND,DISTANCE,DIRECTION, such as septic_tank,80,NE")
	}
	p := Paced{Kind: strings.ReplaceAll(strings.TrimSpace(parts[0]), " ", "_")}
	if p.Kind == "" || len(p.Kind) > mostKind {
		return p, records.Errorf(records.Invalid, "say in a word what it is, such as %s", strings.Join(HazardWords()[:4], ", "))
	}
	a, err := records.ParseAmount(parts[1], records.DimLength, unit)
	d, ok := a.Number()
	if err != nil || !ok || !(d >= 0 && d <= mostPacedM) {
		return p, records.Errorf(records.Invalid, "%q is no distance in %s", strings.TrimSpace(parts[1]), unit.Symbol())
	}
	p.DistM = d
	if p.BearingDeg, ok = bearingOf(strings.TrimSpace(parts[2])); !ok {
		return p, records.Errorf(records.Invalid, "%q is no direction; write N, NE, E… or degrees from north", strings.TrimSpace(parts[2]))
	}
	return p, nil
}

func bearingOf(t string) (float64, bool) {
	for i, point := range eightPoints {
		if strings.EqualFold(t, point) {
			return float64(i) * 45, true
		}
	}
	v, err := strconv.ParseFloat(t, 64)
	return v, err == nil && v >= 0 && v <= 360
}

// PacedAt is what stands so many metres east and north of the pin.
func PacedAt(kind string, eastM, northM float64) Paced {
	b := math.Atan2(eastM, northM) * 180 / math.Pi
	if b < 0 {
		b += 360
	}
	return Paced{Kind: kind, DistM: math.Hypot(eastM, northM), BearingDeg: b}
}

// EastNorth is where it stands, in metres from the pin.
func (p Paced) EastNorth() (eastM, northM float64) {
	sin, cos := math.Sincos(p.BearingDeg * math.Pi / 180)
	return p.DistM * sin, p.DistM * cos
}

// Moved is the same thing, told from another pin.
func (p Paced) Moved(from, to position.LonLat) Paced {
	e, n := p.EastNorth()
	at := position.NewPlane(from).FromXY(e, n)
	e, n = position.NewPlane(to).ToXY(at)
	return PacedAt(p.Kind, e, n)
}

// Hazard is the thing as one that a well keeps away from.
func (p Paced) Hazard(pin position.LonLat, name string) Hazard {
	e, n := p.EastNorth()
	at := position.NewPlane(pin).FromXY(e, n)
	return Hazard{Kind: p.Kind, Name: name, Shape: Shape{Kind: Points, Parts: [][]position.LonLat{{at}}}}
}
