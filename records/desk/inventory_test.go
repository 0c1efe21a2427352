package desk_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/records/review"
)

// wellAt is a well so many metres from a place, its position known to so many
// metres (0: nobody says).
func wellAt(from position.LonLat, bearingDeg, distanceM, accuracyM float64) *records.Well {
	w := recordstest.Plain()
	at := position.Destination(from, bearingDeg, distanceM)
	w.UID, w.Number = "", fmt.Sprintf("%.0f m at %.0f", distanceM, bearingDeg)
	w.Place.Located, w.Place.Lon, w.Place.Lat, w.Place.LonText, w.Place.LatText = true, at.Lon, at.Lat, "", ""
	w.Place.Accuracy = records.Amount[records.Length]{}
	if accuracyM > 0 {
		w.Place.Accuracy = records.Of(records.Length(accuracyM))
	}
	return w
}

// Which wells lie within 500 m, and which may, worked by hand.
func TestInventoryOfACircle(t *testing.T) {
	for _, centre := range []position.LonLat{{Lon: -40, Lat: 44}, {Lon: 179.999, Lat: -17}, {Lon: 10, Lat: 78}} {
		d, _ := newDesk(t)
		nowhere := recordstest.Plain()
		nowhere.UID, nowhere.Place.Located = "", false
		wrong := wellAt(centre, 200, 100, 5)
		wrong.Number = "its position is marked"
		wrong.Unreliable = []records.Doubt{{About: records.DoubtPosition, Reason: "r"}}
		sure := wellAt(centre, 0, 300, 0)
		sure.Owner.Name = "Owner B"
		wells := []*records.Well{
			sure, wellAt(centre, 90, 480, 15), wellAt(centre, 180, 480, 25), wellAt(centre, 270, 520, 25), wellAt(centre, 45, 520, 15),
			wellAt(centre, 135, 3000, 2600), wellAt(centre, 315, 3000, 2400), wellAt(centre, 10, 501, 0), wrong, nowhere,
		}
		if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
			t.Fatal(err)
		}
		inv, err := d.Inventory(t.Context(), me, desk.InventoryAsk{At: centre, RadiusM: 500})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, w := range inv.Wells {
			s := w.Well.Number
			if w.May {
				s += ", may"
			}
			if w.May != (w.MayWords() != "") {
				t.Errorf("%s: why is %q", s, w.MayWords())
			}
			got = append(got, s)
			if w.Well.Owner.Name != "" {
				t.Errorf("%s tells its owner", s)
			}
		}
		want := []string{"300 m at 0", "480 m at 90", "its position is marked, may", "480 m at 180, may", "520 m at 270, may", "3000 m at 135, may"}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("around %v:\n got %q\nwant %q", centre, got, want)
		}
		if inv.Within != 2 || inv.May != 4 || inv.Unlocated != 1 {
			t.Errorf("%d within, %d may, %d without a position", inv.Within, inv.May, inv.Unlocated)
		}
		if w := inv.Wells[1]; math.Abs(w.DistanceM-480) > 1e-6 || math.Abs(w.BearingDeg-90) > 1e-6 || math.Abs(w.EdgeM-20) > 1e-6 {
			t.Errorf("%+v", w)
		}
		if inv, err = d.Inventory(t.Context(), me, desk.InventoryAsk{At: centre, RadiusM: 500, Private: true}); err != nil || inv.Wells[0].Well.Owner.Name != "Owner B" {
			t.Errorf("asked for, the owner is not told: %v", err)
		}
	}
}

// An outline with a hole: what lies in the hole is not within, and accuracy is
// held against the hole's border as well.
func TestInventoryOfAnOutline(t *testing.T) {
	d, _ := newDesk(t)
	shape, err := review.ParseOutline([]byte(`{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[
		[[-40,44],[-39.9,44],[-39.9,44.1],[-40,44.1],[-40,44]],[[-39.96,44.04],[-39.94,44.04],[-39.94,44.06],[-39.96,44.06],[-39.96,44.04]]]}}`))
	if err != nil {
		t.Fatal(err)
	}
	at := func(lon, lat, accuracy float64, name string) *records.Well {
		w := wellAt(position.LonLat{Lon: lon, Lat: lat}, 0, 0, accuracy)
		w.Number = name
		return w
	}
	const degM = 111_111.0 // about a degree of latitude
	wells := []*records.Well{
		at(-39.98, 44.05, 20, "in"), at(-39.95, 44.05, 20, "in the hole"), at(-39.95, 44.06-10/degM, 20, "in the hole, near its border"),
		at(-39.95, 44.06+10/degM, 20, "near the hole"), at(-39.98, 44-10/degM, 20, "just south"), at(-39.98, 44-30/degM, 20, "south"), at(-39.98, 44+30/degM, 20, "just in"),
	}
	if err := d.AddAll(t.Context(), me, wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	inv, err := d.Inventory(t.Context(), me, desk.InventoryAsk{Outline: shape})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	for _, w := range inv.Wells {
		got[w.Well.Number] = w.May
	}
	want := map[string]bool{"in": false, "just in": false, "in the hole, near its border": true, "near the hole": true, "just south": true}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got %v, want %v (true: may)", got, want)
	}
}

func TestInventoryRefused(t *testing.T) {
	d, _ := newDesk(t)
	square := func(x0, x1 float64) orb.MultiPolygon {
		return orb.MultiPolygon{{{{x0, 0}, {x1, 0}, {x1, 1}, {x0, 1}, {x0, 0}}}}
	}
	for name, ask := range map[string]desk.InventoryAsk{
		"nothing":                {},
		"no radius":              {At: position.LonLat{Lon: 1, Lat: 1}},
		"a continent":            {At: position.LonLat{Lon: 1, Lat: 1}, RadiusM: 1e6},
		"off the earth":          {At: position.LonLat{Lon: 1, Lat: 91}, RadiusM: 1},
		"over the antimeridian":  {Outline: square(179, -179)},
		"an outline off":         {Outline: square(0, 181)},
		"a ring that is open":    {Outline: orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}}}},
		"an outline of no rings": {Outline: orb.MultiPolygon{{}}},
		"no distance at all":     {At: position.LonLat{Lon: 1, Lat: 1}, RadiusM: math.NaN()},
	} {
		if _, err := d.Inventory(t.Context(), me, ask); records.CodeOf(err) != records.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestAreas(t *testing.T) {
	d, _ := newDesk(t)
	l := records.Layer{Name: "Boundaries", Kind: "boundary", GeoJSON: []byte(`{"type":"FeatureCollection","features":[
		{"type":"Feature","properties":{"name":"North"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}},
		{"type":"Feature","properties":{"name":"North"},"geometry":{"type":"Polygon","coordinates":[[[2,0],[3,0],[3,1],[2,0]]]}},
		{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[4,0],[5,0],[5,1],[4,0]]]}},
		{"type":"Feature","properties":{"name":"A road"},"geometry":{"type":"LineString","coordinates":[[0,0],[1,0]]}}]}`)}
	if err := d.SaveLayer(t.Context(), me, &l); err != nil {
		t.Fatal(err)
	}
	areas, err := d.Areas(t.Context(), me)
	if err != nil || len(areas) != 2 || areas[0].Name != "North" || len(areas[0].Shape) != 2 || areas[1].Name != "Boundaries" {
		t.Errorf("%+v, %v", areas, err)
	}
	if _, err := d.AreaNamed(t.Context(), me, "A road"); records.CodeOf(err) != records.NotFound {
		t.Errorf("a road is an area: %v", err)
	}
}
