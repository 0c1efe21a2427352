package position_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/position"
)

// The texts follow from the values: 0.2 degrees are 12 minutes. The UTM ones
// are the computed check values of TestGridCheckValues, rounded.
func TestFormat(t *testing.T) {
	for _, c := range []struct {
		at   position.LonLat
		form position.Form
		want string
	}{
		{ll(43.2, -71.5), position.DecimalDegrees, "43.200000, -71.500000"},
		{ll(43.2, -71.5), position.DegreesMinutes, "43°12.0000′N 71°30.0000′W"},
		{ll(43.2, -71.5), position.DegreesMinutesSeconds, "43°12′00.00″N 71°30′00.00″W"},
		{ll(43.2, -71.5), position.UTMGrid, "19N 296887.1 4786059.2"},
		{ll(43.2, -71.5), 0, "43.200000, -71.500000"},
		{buninyongHill(), position.DegreesMinutesSeconds, "37°39′10.16″S 143°55′35.38″E"},
		{ll(-0.5, -0.25), position.DegreesMinutes, "0°30.0000′S 0°15.0000′W"},
		// Rounding carries into the degree and never writes 60.
		{ll(42.9999999999, -71.9999999999), position.DegreesMinutes, "43°00.0000′N 72°00.0000′W"},
		{ll(42.9999999999, -71.9999999999), position.DegreesMinutesSeconds, "43°00′00.00″N 72°00′00.00″W"},
		// No minus zero, and no letter of a side it is not on.
		{ll(-1e-9, -1e-9), position.DecimalDegrees, "0.000000, 0.000000"},
		{ll(-1e-9, -1e-9), position.DegreesMinutesSeconds, "0°00′00.00″N 0°00′00.00″E"},
		{ll(90, 180), position.DegreesMinutes, "90°00.0000′N 180°00.0000′E"},
		// UTM ends at 84 N and 80 S.
		{ll(85, 10), position.UTMGrid, "85.000000, 10.000000"},
		{ll(-81, 10), position.UTMGrid, "-81.000000, 10.000000"},
		{ll(math.NaN(), 0), position.UTMGrid, "no position"},
		{ll(91, 0), position.DecimalDegrees, "no position"},
	} {
		if got := position.Format(c.at, c.form); got != c.want {
			t.Errorf("%v as %v: %q, want %q", c.at, c.form, got, c.want)
		}
	}
	if got, want := ll(43.2, -71.5).String(), "43.200000, -71.500000"; got != want {
		t.Errorf("String %q, want %q", got, want)
	}
	// In a neighbouring zone, as one writes sites on both sides of a border:
	// the GDA Technical Manual's Buninyong (second hand) in its zone 55.
	if got, want := position.FormatIn(buninyongHill(), position.Zone{Number: 55}), "55 south 228854.1 5828259.0"; got != want {
		t.Errorf("FormatIn %q, want %q", got, want)
	}
}

// Whatever is written is read again as the same form and the same place, to
// half a unit of its last digit on each axis.
func TestFormatRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := position.LonLat{
			Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"),
			Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"),
		}
		for _, form := range forms {
			text := position.Format(at, form)
			r, err := position.Parse(text)
			if err != nil {
				t.Fatal(err)
			}
			if form == position.UTMGrid && !position.HasUTM(at) {
				form = position.DecimalDegrees
			}
			if r.Form != form {
				t.Errorf("%q read as %v", text, r.Form)
			}
			if d, _ := position.Distance(at, r.At); !(d <= 0.71*r.PrecisionM+1e-6) {
				t.Errorf("%v written %q is %g m off, precision %g m", at, text, d, r.PrecisionM)
			}
			if again := position.Format(r.At, form); again != text && form != position.UTMGrid {
				t.Errorf("%q written again is %q", text, again)
			}
		}
	})
}

func TestValid(t *testing.T) {
	for _, c := range []struct {
		at   position.LonLat
		want string
	}{
		{ll(43.2, -71.5), ""},
		{ll(90, 180), ""},
		{ll(-90, -180), ""},
		{ll(90.5, 0), "latitude 90.5 is outside -90 to 90 degrees"},
		{ll(0, -180.25), "longitude -180.25 is outside -180 to 180 degrees"},
		{ll(math.NaN(), 0), "latitude is not a finite number"},
		{ll(0, math.Inf(1)), "longitude is not a finite number"},
	} {
		got := ""
		if err := c.at.Valid(); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%#v: %q, want %q", c.at, got, c.want)
		}
	}
}

func TestNames(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{position.DecimalDegrees.String(), "decimal degrees"},
		{position.DegreesMinutes.String(), "degrees and minutes"},
		{position.DegreesMinutesSeconds.String(), "degrees, minutes and seconds"},
		{position.UTMGrid.String(), "UTM"},
		{position.Form(0).String(), "no form"},
		{position.Latitude.String(), "latitude"},
		{position.Axis(0).String(), "no axis"},
		{position.GRS80().Describe(), "GRS 80 ellipsoid"},
		{position.Clarke1866().Describe(), "Clarke 1866 ellipsoid"},
		{position.Ellipsoid{}.Describe(), "WGS 84 ellipsoid"},
		{position.Ellipsoid{SemiMajorM: 6371000}.Describe(), "ellipsoid of a = 6371000 m, f = 0"},
		{position.TransverseMercator{}.Describe(), "transverse Mercator, central meridian 0°, scale 1 on it, WGS 84 ellipsoid"},
		{position.UTM(31, true).Describe(), "transverse Mercator, central meridian 3°E, scale 0.9996 on it, false easting 500000 m, false northing 0 m, WGS 84 ellipsoid"},
		{(&position.GridShiftError{Datum: position.DatumNAD27}).Error(), "NAD27 differs from WGS 84 by 10 to 100 m on the ground; bringing it there takes a grid shift, which is not made here"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
