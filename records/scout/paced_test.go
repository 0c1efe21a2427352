package scout_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/scout"
)

func TestParsePaced(t *testing.T) {
	for _, c := range []struct {
		text string
		unit records.Unit
		want scout.Paced
	}{
		{"septic_tank,80,NE", records.Foot, scout.Paced{Kind: "septic_tank", DistM: 80 * ft, BearingDeg: 45}},
		{"septic tank, 25 m, 110", records.Foot, scout.Paced{Kind: "septic_tank", DistM: 25, BearingDeg: 110}},
		{"overhead_line,12,nw", records.Metre, scout.Paced{Kind: "overhead_line", DistM: 12, BearingDeg: 315}},
		{"building,0,0", records.Metre, scout.Paced{Kind: "building"}},
	} {
		got, err := scout.ParsePaced(c.text, c.unit)
		if err != nil || got.Kind != c.want.Kind || math.Abs(got.DistM-c.want.DistM) > 1e-9 || got.BearingDeg != c.want.BearingDeg {
			t.Errorf("%q: %+v, %v; want %+v", c.text, got, err, c.want)
		}
	}
	for text, want := range map[string]string{
		"septic_tank,80":      "KIND,DISTANCE,DIRECTION",
		" ,80,NE":             "what it is",
		"building,far,NE":     `"far" is no distance`,
		"building,-3,NE":      "no distance",
		"building,<30,NE":     "no distance", // a bound cannot be drawn
		"building,30,upwards": "no direction",
		"building,30,361":     "no direction",
		"building,30,NaN":     "no direction",
	} {
		if _, err := scout.ParsePaced(text, records.Foot); err == nil || !strings.Contains(records.MessageOf(err), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// TestMovedPinLeavesThingsWhereTheyStand: told from a pin nearby they are the
// same place on the ground, to the millimetre.
func TestMovedPinLeavesThingsWhereTheyStand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := scout.PacedAt("building", rapid.Float64Range(-200, 200).Draw(t, "east"), rapid.Float64Range(-200, 200).Draw(t, "north"))
		if p.BearingDeg < 0 || p.BearingDeg > 360 {
			t.Fatalf("bearing %g", p.BearingDeg)
		}
		pin := position.LonLat{Lon: rapid.Float64Range(-179, 179).Draw(t, "lon"), Lat: rapid.Float64Range(-70, 70).Draw(t, "lat")}
		other := position.NewPlane(pin).FromXY(rapid.Float64Range(-200, 200).Draw(t, "x"), rapid.Float64Range(-200, 200).Draw(t, "y"))
		q := p.Moved(pin, other)
		a, b := p.Hazard(pin, "").Shape.Parts[0][0], q.Hazard(other, "").Shape.Parts[0][0]
		if d, _ := position.Distance(a, b); d > 0.001 {
			t.Fatalf("moved by %g m", d)
		}
	})
}
