package ogc_test

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// The requirements of OGC API - Features, Part 2 (18-058r1), each by its name
// below http://www.opengis.net/spec/ogcapi-features-2/1.0 (names from memory).

const (
	crs84URI = "http://www.opengis.net/def/crs/OGC/1.3/CRS84"
	epsg     = "http://www.opengis.net/def/crs/EPSG/0/"
)

func TestCRS(t *testing.T) {
	w := newWorld(t)
	for name, test := range map[string]func(*testing.T, *world){
		"req/crs/crs-uri": func(t *testing.T, w *world) {
			for _, c := range crsOf(t, w, "wells") {
				if !strings.HasPrefix(c, "http://www.opengis.net/def/crs/") {
					t.Errorf("%s is no address of a system", c)
				}
			}
		},
		"req/crs/fc-md-crs-list":               crsListed,
		"req/crs/fc-md-storageCrs-valid-value": storedIn,
		"req/crs/fc-bbox-crs-definition":       boxCRS,
		"req/crs/bbox-crs-action":              boxAcrossSystems,
		"req/crs/fc-bbox-crs-valid-value":      func(t *testing.T, w *world) { unknownCRS(t, w, "bbox=-80,40,-70,50&bbox-crs") },
		"req/crs/fc-crs-definition":            answersIn,
		"req/crs/fc-crs-valid-value":           func(t *testing.T, w *world) { unknownCRS(t, w, "crs") },
		"req/crs/fc-crs-default-value":         defaultCRS,
		"req/crs/fc-crs-action":                farPlaces,
		"req/crs/ogc-crs-header":               headerCRS,
		"links keep the system":                linksKeepCRS,
	} {
		t.Run(name, func(t *testing.T) {
			w.t = t
			test(t, w)
		})
	}
}

func crsOf(t *testing.T, w *world, collection string) []string {
	t.Helper()
	var c struct {
		CRS        []string
		StorageCRS string `json:"storageCrs"`
	}
	w.get("/collections/"+collection, 200).read(t, &c)
	return c.CRS
}

// crsListed: each that is listed is answered in, and none is listed twice.
func crsListed(t *testing.T, w *world) {
	list := crsOf(t, w, "wells")
	if len(list) != 123 || list[0] != crs84URI || len(slices.Compact(slices.Sorted(slices.Values(list)))) != len(list) {
		t.Fatalf("%d systems: %v", len(list), list)
	}
	for _, c := range list {
		if s := w.get("/collections/wells/items?limit=1&crs="+url.QueryEscape(c), 200); s.header.Get("Content-Crs") != "<"+c+">" {
			t.Errorf("%s is answered in %s", c, s.header.Get("Content-Crs"))
		}
	}
}

func storedIn(t *testing.T, w *world) {
	var c struct {
		StorageCRS string `json:"storageCrs"`
	}
	for _, name := range []string{"wells", "strata", "plates"} {
		if w.get("/collections/"+name, 200).read(t, &c); c.StorageCRS != crs84URI {
			t.Errorf("%s is stored in %q", name, c.StorageCRS)
		}
	}
}

// boxCRS: a box in each system picks the same wells as in degrees. All of zone
// 18's wells lie in one box there.
func boxCRS(t *testing.T, w *world) {
	want := w.page("/collections/wells/items?limit=100&bbox=-73,44,-72.3,44.2")
	if len(want.Features) == 0 || len(want.Features) > wellsHere-5 {
		t.Fatalf("%d wells in degrees", len(want.Features))
	}
	for _, c := range []struct{ box, crs string }{
		{"44,-73,44.2,-72.3", epsg + "4326"},
		{"-73,44,-72.3,44.2", crs84URI},
		{mercatorBox(-73, 44, -72.3, 44.2), epsg + "3857"},
	} {
		got := w.page("/collections/wells/items?limit=100&bbox=" + c.box + "&bbox-crs=" + url.QueryEscape(c.crs))
		if !slices.Equal(got.ids(), want.ids()) {
			t.Errorf("%s in %s: %d wells, want %d", c.box, c.crs, len(got.Features), len(want.Features))
		}
	}
	w.get("/collections/wells/items?bbox=44.2,-73,44,-72.3&bbox-crs="+url.QueryEscape(epsg+"4326"), 400)
	w.get("/collections/wells/items?bbox=9,0,0,9&bbox-crs="+url.QueryEscape(epsg+"32618"), 400)
	if got := w.page("/collections/wells/items?bbox=-90,179,90,-179&bbox-crs=" + url.QueryEscape(epsg+"4326")); len(got.Features) != 2 {
		t.Errorf("over the antimeridian lie %d wells, want 2", len(got.Features))
	}
}

func mercatorBox(west, south, east, north float64) string {
	x1, y1 := position.WebMercator{}.Forward(position.LonLat{Lon: west, Lat: south})
	x2, y2 := position.WebMercator{}.Forward(position.LonLat{Lon: east, Lat: north})
	return fmt.Sprintf("%f,%f,%f,%f", x1-1e-3, y1-1e-3, x2+1e-3, y2+1e-3)
}

// boxAcrossSystems: a box is straight in its own system. In zone 18 one of its
// sides is no parallel: of two wells as far north, the one farther from the
// zone's meridian has the greater northing.
func boxAcrossSystems(t *testing.T, w *world) {
	zone := position.UTM(18, true)
	picked := 0
	for _, top := range []float64{4_875_000, 4_880_000, 4_890_000, 4_900_000} {
		box := fmt.Sprintf("500000,4800000,760000,%f", top)
		got := w.page("/collections/wells/items?limit=100&bbox=" + box + "&bbox-crs=" + url.QueryEscape(epsg+"32618")).ids()
		var want []string
		for _, x := range w.wells {
			if e, n := zone.Forward(position.LonLat{Lon: x.Place.Lon, Lat: x.Place.Lat}); x.Place.Located && x.Place.Lon > -75 && x.Place.Lon < -70 && e <= 760000 && n <= top {
				want = append(want, x.UID)
			}
		}
		picked += len(want)
		if !slices.Equal(got, want) {
			t.Errorf("up to %.0f: %d wells, want %d", top, len(got), len(want))
		}
	}
	if picked < 10 {
		t.Errorf("only %d wells lay in the boxes", picked)
	}
}

func unknownCRS(t *testing.T, w *world, parameter string) {
	for _, c := range []string{"EPSG:4326", epsg + "2154", epsg + "32661", epsg + "032618", "x", epsg, crs84URI + "x"} {
		s := w.get("/collections/wells/items?"+parameter+"="+url.QueryEscape(c), 400)
		if said := problemOf(t, s); !strings.Contains(said, epsg+"32601 to 32660") || !strings.Contains(said, crs84URI) {
			t.Errorf("%s: the systems are not listed: %s", c, said)
		}
	}
	w.get("/collections/wells/items?"+parameter+"=", 400)
}

// answersIn: positions come in the order of each system's axes.
func answersIn(t *testing.T, w *world) {
	x := w.wells[10]
	for _, c := range []struct {
		crs    string
		a, b   float64
		within float64
	}{
		{crs84URI, x.Place.Lon, x.Place.Lat, 0},
		{epsg + "4326", x.Place.Lat, x.Place.Lon, 0},
		// By GDAL 3.6 (gdaltransform): -72.1 44.05.
		{epsg + "3857", -8026135.28619502, 5473183.06162324, 1e-6},
		{epsg + "32618", 732313.004919458, 4881515.77184528, 1e-6},
	} {
		for _, path := range []string{"/collections/wells/items/" + x.UID + "?", "/collections/wells/items?limit=100&number=N10&"} {
			s := w.get(path+"crs="+url.QueryEscape(c.crs), 200)
			var one struct {
				Geometry *struct{ Coordinates []float64 }
				Features []struct {
					Geometry *struct{ Coordinates []float64 }
				}
			}
			s.read(t, &one)
			if one.Geometry == nil {
				one.Geometry = one.Features[0].Geometry
			}
			if p := one.Geometry.Coordinates; math.Abs(p[0]-c.a) > c.within || math.Abs(p[1]-c.b) > c.within {
				t.Errorf("%s in %s: %v, want %v %v", path, c.crs, p, c.a, c.b)
			}
			if s.header.Get("Content-Crs") != "<"+c.crs+">" {
				t.Errorf("%s: the header says %s", path, s.header.Get("Content-Crs"))
			}
		}
	}
	if s := w.get("/collections/wells/download?f=ndjson&number=N10&crs="+url.QueryEscape(epsg+"4326"), 200); !strings.Contains(string(s.body), `"coordinates":[44.05,-72.1]`) || s.header.Get("Content-Crs") != "<"+epsg+"4326>" {
		t.Errorf("the download: %.200s", s.body)
	}
}

func defaultCRS(t *testing.T, w *world) {
	plain, named := w.page("/collections/wells/items?limit=5"), w.page("/collections/wells/items?limit=5&crs="+url.QueryEscape(crs84URI))
	for i := range plain.Features {
		a, b := plain.Features[i].Geometry, named.Features[i].Geometry
		if (a == nil) != (b == nil) || a != nil && !slices.Equal(a.Coordinates, b.Coordinates) {
			t.Errorf("%v, named %v", a, b)
		}
	}
}

// farPlaces: what a system has no place for lies nowhere, and is there.
func farPlaces(t *testing.T, w *world) {
	for crs, at := range map[string]position.LonLat{"3857": {Lon: 10, Lat: 90}, "32618": {Lon: 15, Lat: 0}} {
		x := recordstest.Plain()
		x.UID, x.Number, x.Place.Lon, x.Place.Lat = "", "far "+crs, at.Lon, at.Lat
		if err := w.desk.AddAll(t.Context(), desk.LocalPerson(), []*records.Well{x}, nil, nil); err != nil {
			t.Fatal(err)
		}
		path := "/collections/wells/items?number=" + url.QueryEscape(x.Number)
		if p := w.page(path + "&crs=" + url.QueryEscape(epsg+crs)); len(p.Features) != 1 || p.Features[0].Geometry != nil {
			t.Errorf("%s: %+v", crs, p.Features)
		}
		if p := w.page(path); len(p.Features) != 1 || p.Features[0].Geometry == nil {
			t.Errorf("in degrees: %+v", p.Features)
		}
	}
}

func headerCRS(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items", "/collections/strata/items", "/collections/wells/items/" + w.wells[3].UID, "/collections/wells/download"} {
		if s := w.get(path, 200); s.header.Get("Content-Crs") != "<"+crs84URI+">" {
			t.Errorf("%s: %q", path, s.header.Get("Content-Crs"))
		}
	}
	if s := w.get("/collections/wells/items?crs=x", 400); s.header.Get("Content-Crs") != "" {
		t.Error("an error is in a system")
	}
}

func linksKeepCRS(t *testing.T, w *world) {
	p := w.page("/collections/wells/items?limit=7&filter=" + url.QueryEscape("yield_lps >= 0") + "&crs=" + url.QueryEscape(epsg+"4326"))
	next := p.Links.to("next")
	if len(next) != 1 || queryOf(t, next[0].Href).Get("crs") != epsg+"4326" || queryOf(t, next[0].Href).Get("filter") != "yield_lps >= 0" {
		t.Errorf("%v", next)
	}
}
