package position_test

import (
	"errors"
	"math"
	"testing"

	"tallybook/geo/position"
)

func TestParseDatum(t *testing.T) {
	for _, c := range []struct {
		text string
		want position.Datum
		ok   bool
	}{
		{"WGS84", position.DatumWGS84, true}, {"wgs 84", position.DatumWGS84, true}, {"WGS-1984", position.DatumWGS84, true},
		{"NAD83", position.DatumNAD83, true}, {"NAD 83", position.DatumNAD83, true}, {"North American Datum of 1983", position.DatumNAD83, true},
		{"EPSG:4269", position.DatumNAD83, true}, {"nad-27", position.DatumNAD27, true}, {"NAD 1927", position.DatumNAD27, true},
		{"", position.DatumUnknown, true}, {" ", position.DatumUnknown, true}, {"Unknown", position.DatumUnknown, true},
		{"NAD", 0, false}, {"ED50", 0, false}, {"?", 0, false}, {"NAD83(2011)", 0, false},
	} {
		got, ok := position.ParseDatum(c.text)
		if got != c.want || ok != c.ok {
			t.Errorf("%q: %v %v, want %v %v", c.text, got, ok, c.want, c.ok)
		}
	}
	for _, d := range []position.Datum{position.DatumUnknown, position.DatumWGS84, position.DatumNAD83, position.DatumNAD27} {
		if got, ok := position.ParseDatum(d.String()); got != d || !ok {
			t.Errorf("%v is read as %v", d, got)
		}
	}
}

func TestToWGS84(t *testing.T) {
	at := ll(43.2, -71.5)
	for _, c := range []struct {
		datum     position.Datum
		accuracyM float64
		refused   bool
	}{
		{position.DatumWGS84, 0, false}, {position.DatumNAD83, 2, false}, {position.DatumUnknown, 100, false}, {position.DatumNAD27, 0, true},
	} {
		got, accuracyM, err := c.datum.ToWGS84(at)
		var shift *position.GridShiftError
		if errors.As(err, &shift) != c.refused {
			t.Errorf("%v: error %v", c.datum, err)
			continue
		}
		if !c.refused && (got != at || accuracyM != c.accuracyM) {
			t.Errorf("%v: %v within %g m", c.datum, got, accuracyM)
		}
	}
}

// The shift is 10 to 100 m on the ground in the conterminous United States, and
// UTM values change by about 200 m, since the ellipsoid changes too (USGS,
// frequently asked questions; read).
func TestNAD27Roughly(t *testing.T) {
	for lat := 25.0; lat <= 49; lat += 3 {
		for lon := -124.0; lon <= -67; lon += 3 {
			at := ll(lat, lon)
			got, accuracyM, err := position.NAD27Roughly(at)
			if err != nil {
				t.Fatal(err)
			}
			if accuracyM != 10 && accuracyM != 20 {
				t.Errorf("%v: accuracy %g m", at, accuracyM)
			}
			movedM, _ := position.Distance(at, got)
			if movedM > 110 {
				t.Errorf("%v moved %g m", at, movedM)
			}
			zone := position.ZoneOf(at)
			e27, n27 := position.UTMOn(position.Clarke1866(), zone.Number, true).Forward(at)
			e84, n84 := position.UTM(zone.Number, true).Forward(got)
			if d := math.Hypot(e84-e27, n84-n27); d < 150 || d > 300 {
				t.Errorf("%v: UTM values change by %g m", at, d)
			}
		}
	}
	for _, at := range []position.LonLat{ll(51, 0), ll(0, 0), ll(20, -100)} {
		var shift *position.GridShiftError
		if _, _, err := position.NAD27Roughly(at); !errors.As(err, &shift) {
			t.Errorf("%v: error %v", at, err)
		}
	}
	if _, _, err := position.NAD27Roughly(ll(math.NaN(), 0)); err == nil {
		t.Error("no position was shifted")
	}
}
