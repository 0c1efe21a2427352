package importer_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/importer"
)

// The ways of writing are common practice, no source; worked by hand.
func TestReadLegal(t *testing.T) {
	for _, c := range []struct {
		text, quarters, section, township, rng string
	}{
		{"NE 1/4 SW 1/4 Sec 14, T12N R5W", "NE SW", "14", "12N", "5W"},
		{"NE¼SW¼ S14, T.12 N., R.5 W.", "NE SW", "14", "12N", "5W"},
		{"NESW 14-12N-5W", "NE SW", "14", "12N", "5W"},
		{"sec. 4, T. 012 N., R. 5 W.", "", "4", "12N", "5W"},
		{"Northeast quarter of the southwest quarter of section 14, township 12 north, range 5 west", "NE SW", "14", "12N", "5W"},
		{"NE/4 SW/4 NW/4 Sec. 14 T12N-R5W", "NE SW NW", "14", "12N", "5W"},
		{"N1/2 SE1/4, Sec 2, T1S, R103E", "N2 SE", "2", "1S", "103E"},
		{"SE SE 36 7S 12E", "SE SE", "36", "7S", "12E"},
	} {
		l, why := importer.ReadLegal(c.text)
		if why != "" || l.Text != c.text || strings.Join(l.Quarters, " ") != c.quarters || l.Section != c.section || l.Township != c.township || l.Range != c.rng {
			t.Errorf("%q: %+v, %s", c.text, l, why)
		}
	}
	for _, c := range []struct{ text, lot, concession, place string }{
		{"Lot 12, Concession 5, Township of Inventedville", "12", "5", "inventedville"},
		{"L12 C5", "12", "5", ""},
		{"lot 7 con. XIV", "7", "14", ""},
	} {
		l, why := importer.ReadLegal(c.text)
		if why != "" || l.Lot != c.lot || l.Concession != c.concession || l.Place != c.place {
			t.Errorf("%q: %+v, %s", c.text, l, why)
		}
	}
	for text, want := range map[string]string{
		"Sec 14 T12N":                  "does not name",
		"Sec 40 T12N R5W":              "thirty-six",
		"Sec 14 & Sec 15 T12N R5W":     "two of one part",
		"off the county road":          "does not name",
		"NE Sec 14 T12N R5W SW corner": "cannot be read",
	} {
		if l, why := importer.ReadLegal(text); !strings.Contains(why, want) {
			t.Errorf("%q: %+v, %q", text, l, why)
		}
	}
}

// grid is an invented survey: section 14 of township 12N, range 5W, a square
// of one mile or so, and its south-west quarter.
func grid() []records.Layer {
	square := func(properties string, west, south, size float64) string {
		e, n := west+size, south+size
		return fmt.Sprintf(`{"type":"Feature","properties":%s,"geometry":{"type":"Polygon","coordinates":[[[%v,%v],[%v,%v],[%v,%v],[%v,%v],[%v,%v]]]}}`,
			properties, west, south, e, south, e, n, west, n, west, south)
	}
	return []records.Layer{
		{Name: "survey", Kind: "parcel", GeoJSON: []byte(`{"type":"FeatureCollection","features":[` + strings.Join([]string{
			square(`{"TWP":"T12N","RNG":"R05W","SEC":14}`, -100, 40, 0.016),
			square(`{"TWP":"T12N","RNG":"R05W","SEC":14,"QTR":"SW"}`, -100, 40, 0.008),
			square(`{"TWP":"T12N","RNG":"R05W","SEC":15}`, -100.016, 40, 0.016),
			square(`{"TWP":"T12N","RNG":"R05W","SEC":15}`, -110.016, 40, 0.016),
			square(`{"lot":12,"con":"V","township_name":"Inventedville"}`, -80, 44, 0.01),
		}, ",") + `]}`)},
		{Name: "roads", Kind: "road", GeoJSON: []byte(`{"type":"FeatureCollection","features":[` + square(`{"TWP":"T1N","RNG":"R1W","SEC":1}`, -90, 40, 1) + `]}`)},
	}
}

func TestLocateLegal(t *testing.T) {
	g := importer.NewLegalGrid(grid())
	locate := func(g *importer.LegalGrid, text string) *importer.Row {
		rows, _ := readFile(t, "number,legal\nA,\""+text+"\"\n", nil)
		g.Locate(rows[0])
		return rows[0]
	}
	for _, c := range []struct {
		text     string
		lon, lat float64
		half     float64 // half of the square's side, in degrees
	}{
		{"Sec 14 T12N R5W", -99.992, 40.008, 0.008},
		{"SW Sec 14 T12N R5W", -99.996, 40.004, 0.004},
		{"NE SW Sec 14 T12N R5W", -99.996, 40.004, 0.004}, // no smaller part is there
		{"NE Sec 14 T12N R5W", -99.992, 40.008, 0.008},
		{"Lot 12, Con 5, Township of Inventedville", -79.995, 44.005, 0.005},
	} {
		r := locate(g, c.text)
		p := r.Well.Place
		// Half the diagonal, by the distance from the middle to a corner.
		want, _ := position.Distance(position.LonLat{Lon: c.lon, Lat: c.lat}, position.LonLat{Lon: c.lon + c.half, Lat: c.lat + c.half})
		if !p.Located || math.Abs(p.Lon-c.lon) > 1e-9 || math.Abs(p.Lat-c.lat) > 1e-9 || math.Abs(float64(p.Accuracy.Value)-want) > 0.002*want ||
			p.Method != "grid" || p.Given != c.text || r.Refused() || strings.Contains(faults(r), "no position") {
			t.Errorf("%q: %+v (want ±%.0f m), %s", c.text, p, want, faults(r))
		}
		if !slices.ContainsFunc(r.Well.Extra, func(m records.Member) bool { return strings.Contains(m.JSON, c.text) }) {
			t.Errorf("%q was not kept: %v", c.text, r.Well.Extra)
		}
	}
	for text, want := range map[string]string{
		"Sec 15 T12N R5W":                "more than one part",
		"Sec 16 T12N R5W":                "no part of that name",
		"Sec 1 T1N R1W":                  "no part of that name", // a layer of roads is no survey
		"Lot 12 Con 5 Township of Other": "no part of that name",
		"behind the barn":                "does not name",
	} {
		if r := locate(g, text); r.Well.Place.Located || r.Refused() || !strings.Contains(faults(r), want) || !strings.Contains(faults(r), "no position") {
			t.Errorf("%q: %+v, %s", text, r.Well.Place, faults(r))
		}
	}
	if r := locate(nil, "Sec 14 T12N R5W"); r.Well.Place.Located || !strings.Contains(faults(r), "no layer of the office") {
		t.Errorf("without a grid: %s", faults(r))
	}
	if importer.NewLegalGrid(grid()[1:]) != nil {
		t.Error("a layer of roads was taken for a survey")
	}
}

func FuzzReadLegal(f *testing.F) {
	for _, s := range []string{"NE 1/4 SW 1/4 Sec 14, T12N R5W", "NESW 14-12N-5W", "Lot 12, Concession V, Township of Inventedville", "N½ s14 t1n r1w", "ne", "\xff¼"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		l, why := importer.ReadLegal(s)
		if l.Text != s {
			t.Fatal("the text was changed")
		}
		if why == "" && (l.Section == "" || l.Township == "" || l.Range == "") && (l.Lot == "" || l.Concession == "") {
			t.Fatalf("%q is located by %+v", s, l)
		}
	})
}
