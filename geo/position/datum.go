package position

import (
	"math"
	"strings"
)

// Datum is the horizontal datum that coordinates were given on. The zero value
// is DatumUnknown.
type Datum int

// The datums that records name.
const (
	DatumUnknown Datum = iota
	DatumWGS84
	DatumNAD83
	DatumNAD27
)

// String is the usual name: "WGS 84", "NAD83", "NAD27", "unknown datum".
func (d Datum) String() string {
	switch d {
	case DatumWGS84:
		return "WGS 84"
	case DatumNAD83:
		return "NAD83"
	case DatumNAD27:
		return "NAD27"
	}
	return "unknown datum"
}

// ParseDatum reads the name of a datum in the spellings that files use ("WGS84",
// "NAD 83", "nad-27", "North American Datum of 1983", "EPSG:4269"). Empty text and "unknown" are
// DatumUnknown; ok is false for any other word.
func ParseDatum(text string) (datum Datum, ok bool) {
	letters := strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9', r >= 'a' && r <= 'z':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return -1
	}, text)
	switch letters {
	case "", "unknown", "unk", "unknowndatum":
		// A text of signs alone is not an empty text.
		return DatumUnknown, letters != "" || strings.TrimSpace(text) == ""
	case "wgs84", "wgs1984", "gps", "worldgeodeticsystem1984", "epsg4326":
		return DatumWGS84, true
	case "nad83", "nad1983", "northamericandatum1983", "northamericandatumof1983", "epsg4269":
		return DatumNAD83, true
	case "nad27", "nad1927", "northamericandatum1927", "northamericandatumof1927", "epsg4267":
		return DatumNAD27, true
	}
	return DatumUnknown, false
}

// GridShiftError reports that coordinates on a datum cannot be brought to
// WGS 84 by this package.
type GridShiftError struct{ Datum Datum }

// Error says what is needed instead.
func (e *GridShiftError) Error() string {
	return e.Datum.String() + " differs from WGS 84 by 10 to 100 m on the ground; bringing it there takes a grid shift, which is not made here"
}

// ToWGS84 brings coordinates on the datum to WGS 84 and gives the accuracy in
// metres that it costs. NAD83 is taken as WGS 84: the two differ by one to two
// metres in North America. Coordinates on an unknown datum are taken as they
// are, at a cost of 100 m, since they may be on NAD27 (10 to 100 m off in the
// conterminous United States, USGS). NAD27 is refused with *GridShiftError;
// see NAD27Roughly.
func (d Datum) ToWGS84(at LonLat) (wgs84 LonLat, accuracyM float64, err error) {
	switch d {
	case DatumWGS84:
		return at, 0, nil
	case DatumNAD83:
		return at, 2, nil
	case DatumNAD27:
		return LonLat{}, 0, &GridShiftError{d}
	}
	return at, 100, nil
}

// NAD27Roughly brings NAD27 coordinates to WGS 84 by the mean shift of a whole
// region, for those who ask for it knowingly: three geocentric translations,
// and the accuracy in metres that the EPSG register states for them (1173 for
// the conterminous United States, 10 m; 1176 for mainland Alaska, 12 m; 1172
// for Canada, 20 m; first published in NIMA TR8350.2). Where the bounding
// boxes of two regions overlap the poorer accuracy is given. The result is
// good enough to find neighbours, not to find a wellhead. Outside these
// regions the error is *GridShiftError.
func NAD27Roughly(at LonLat) (wgs84 LonLat, accuracyM float64, err error) {
	if err := at.Valid(); err != nil {
		return LonLat{}, 0, err
	}
	for _, region := range [...]struct {
		west, south, east, north float64
		dx, dy, dz, accuracyM    float64
	}{
		{-124.79, 24.41, -66.91, 49.38, -8, 160, 176, 10},
		{-168.26, 54.34, -129.99, 71.40, -5, 135, 172, 12},
		{-141.01, 40.00, -44.00, 83.17, -10, 158, 187, 20},
	} {
		if at.Lon < region.west || at.Lon > region.east || at.Lat < region.south || at.Lat > region.north {
			continue
		}
		accuracyM = max(accuracyM, region.accuracyM)
		if wgs84 == (LonLat{}) {
			wgs84 = translate(at, Clarke1866(), WGS84(), region.dx, region.dy, region.dz)
		}
	}
	if accuracyM == 0 {
		return LonLat{}, 0, &GridShiftError{DatumNAD27}
	}
	return wgs84, accuracyM, nil
}

// translate takes a position on one ellipsoid through geocentric coordinates,
// shifted by metres, to another ellipsoid. The height is taken as 0: for a
// site 3,000 m up that moves the result by some 0.1 m, far below the accuracy
// of the shift.
func translate(at LonLat, from, to Ellipsoid, dx, dy, dz float64) LonLat {
	sinLat, cosLat := math.Sincos(at.Lat * degToRad)
	sinLon, cosLon := math.Sincos(at.Lon * degToRad)
	_, n := from.RadiiM(at.Lat)
	x := n*cosLat*cosLon + dx
	y := n*cosLat*sinLon + dy
	z := n*(1-from.eccentricitySquared())*sinLat + dz
	// tan lat = (z + e2 N sin lat) / p converges by a factor e2 each time.
	e2, p := to.eccentricitySquared(), math.Hypot(x, y)
	lat := math.Atan2(z, p*(1-e2))
	for range 8 {
		_, n := to.RadiiM(lat * radToDeg)
		lat = math.Atan2(z+e2*n*math.Sin(lat), p)
	}
	return LonLat{Lon: math.Atan2(y, x) * radToDeg, Lat: lat * radToDeg}
}
