//go:build judges

package desk_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
)

func judged(t *testing.T, input string, name string, args ...string) []string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), name, args...)
	cmd.Stdin = strings.NewReader(input)
	var failed bytes.Buffer
	cmd.Stderr = &failed
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("the judge %s is missing or fails (the README says how to get it): %v\n%s", name, err, failed.String())
	}
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}

// GeographicLib's GeodSolve judges which wells lie within a radius, at what
// distance and in what direction, also over the antimeridian and far north.
func TestJudgeInventoryOfACircle(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for _, centre := range []position.LonLat{{Lon: -71.2, Lat: 44.5}, {Lon: 179.999, Lat: -17}, {Lon: 20, Lat: 79.9}} {
		d, _ := newDesk(t)
		const radius = 1609.344
		var wells []*records.Well
		var ask strings.Builder
		for i := range 300 {
			w := wellAt(centre, r.Float64()*360, radius*2*r.Float64(), 0)
			w.Number = fmt.Sprint(i)
			wells = append(wells, w)
			fmt.Fprintf(&ask, "%.15f %.15f %.15f %.15f\n", centre.Lat, centre.Lon, w.Place.Lat, w.Place.Lon)
		}
		if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
			t.Fatal(err)
		}
		inv, err := d.Inventory(t.Context(), me, desk.InventoryAsk{At: centre, RadiusM: radius})
		if err != nil {
			t.Fatal(err)
		}
		found := map[string]desk.InventoryWell{}
		for _, w := range inv.Wells {
			found[w.Well.Number] = w
		}
		for i, line := range judged(t, ask.String(), "GeodSolve", "-i", "-p", "9") {
			f := strings.Fields(line)
			az, err1 := strconv.ParseFloat(f[0], 64)
			m, err2 := strconv.ParseFloat(f[2], 64)
			if err1 != nil || err2 != nil {
				t.Fatal(line)
			}
			w, in := found[fmt.Sprint(i)]
			if in != (m <= radius) {
				t.Errorf("well %d at %.6f m: within %v", i, m, in)
			}
			if off := math.Abs(math.Remainder(w.BearingDeg-az, 360)); in && (math.Abs(w.DistanceM-m) > 1e-6 || off > 1e-6) {
				t.Errorf("well %d: %.9f m at %.9f, judge %.9f at %.9f", i, w.DistanceM, w.BearingDeg, m, az)
			}
		}
	}
}

// SpatiaLite judges which wells lie within an outline with a hole, and how far
// each is from its border. It takes the nearest point of the border in degrees
// and not in metres, so that what it gives is never shorter; at a border that
// runs with the meridians or the parallels both are the same.
func TestJudgeInventoryOfAnOutline(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	const rings = "(-40 44,-39.9 44,-39.9 44.1,-39.97 44.1,-39.97 44.08,-40 44.08,-40 44),(-39.96 44.04,-39.94 44.04,-39.94 44.06,-39.96 44.06,-39.96 44.04)"
	shape, err := review.ParseOutline([]byte(`{"type":"Polygon","coordinates":[[[-40,44],[-39.9,44],[-39.9,44.1],[-39.97,44.1],[-39.97,44.08],[-40,44.08],[-40,44]],[[-39.96,44.04],[-39.94,44.04],[-39.94,44.06],[-39.96,44.06],[-39.96,44.04]]]}`))
	if err != nil {
		t.Fatal(err)
	}
	d, _ := newDesk(t)
	var wells []*records.Well
	var ask strings.Builder
	for i := range 400 {
		w := wellAt(position.LonLat{Lon: -40.01 + 0.12*r.Float64(), Lat: 43.99 + 0.12*r.Float64()}, 0, 0, 0)
		w.Number = fmt.Sprint(i)
		wells = append(wells, w)
		point := fmt.Sprintf("MakePoint(%.15f,%.15f,4326)", w.Place.Lon, w.Place.Lat)
		fmt.Fprintf(&ask, "SELECT ST_Contains(GeomFromText('POLYGON(%s)',4326),%s), ST_Distance(%s,GeomFromText('MULTILINESTRING(%s)',4326),1);\n", rings, point, point, rings)
	}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	inv, err := d.Inventory(t.Context(), me, desk.InventoryAsk{Outline: shape})
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]desk.InventoryWell{}
	for _, w := range inv.Wells {
		found[w.Well.Number] = w
	}
	compared, same := 0, 0
	for i, line := range judged(t, ask.String(), "spatialite", "-silent", "-batch", ":memory:") {
		contains, distance, _ := strings.Cut(line, "|")
		w, in := found[fmt.Sprint(i)]
		if in != (contains == "1") {
			t.Errorf("well %d: within %v, judge %s", i, in, contains)
		}
		m, err := strconv.ParseFloat(distance, 64)
		if err != nil {
			t.Fatal(line)
		}
		if !in {
			continue
		}
		if w.EdgeM > m+0.01 {
			t.Errorf("well %d: %.3f m from the border, judge %.3f, who is never nearer", i, w.EdgeM, m)
		}
		if math.Abs(w.EdgeM-m) <= 0.001+1e-4*m {
			same++
		}
		compared++
	}
	if same < compared*3/4 { // those to which another border is nearer in degrees than in metres
		t.Errorf("of %d wells within, %d are as far from the border as the judge says", compared, same)
	}
	if compared < 100 {
		t.Errorf("only %d wells were compared", compared)
	}
}
