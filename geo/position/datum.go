package position

import "strings"

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
// see FromNAD27Roughly.
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
