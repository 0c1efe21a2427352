package exchange

import (
	"math"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// Options say what of the records is written.
type Options struct {
	NDJSON  bool // one feature a line, in place of a FeatureCollection
	Private bool // people's names, addresses and telephone numbers too
	BBox    bool // the extent of the features, behind them
	// Derived adds what is derived from each record (see records.Picks) as the
	// property "derived", with the ground read by this reader; nil adds none.
	Derived records.Reader
	// Ground tells the elevation of the ground that is derived for a well, apart
	// from what its record says; nil tells of none, and there are no columns for it.
	Ground func(*records.Well) (DerivedGround, bool)
}

// DerivedGround is an elevation of the ground that nobody observed: ElevationM
// above Datum, read from the grid From.
type DerivedGround struct {
	ElevationM  float64
	From, Datum string
}

// AppendFeature appends a well as one GeoJSON feature, without a line feed.
// w.Plates become the property "plates".
func AppendFeature(dst []byte, w *records.Well, o Options) []byte {
	dst, _ = appendFeature(dst, w, o)
	return dst
}

// appendFeature tells also how many extra properties were left out because
// their names say that they are about people.
func appendFeature(dst []byte, w *records.Well, o Options) (_ []byte, leftOut int) {
	beside, extra, leftOut := sortExtra(w.Extra, o)
	dst = append(dst, `{"type":"Feature"`...)
	dst = appendID(dst, w)
	dst = append(dst, `,"geometry":`...)
	dst, asGiven := appendGeometry(dst, w, &beside)
	dst = append(dst, `,"properties":`...)
	crew, hidden := extraOfCrew(w, o)
	taken := takenInHere(w)
	if len(extra) != len(w.Extra) || hidden > 0 || taken {
		c := *w
		c.Extra, c.Crew.Extra = extra, crew
		if taken {
			c.Provenance.Source = ""
		}
		w, leftOut = &c, leftOut+hidden
	}
	dst = w.AppendProperties(dst, records.WriteOptions{Private: o.Private})
	dst = dst[:len(dst)-1] // the closing brace
	dst = appendPlates(dst, w.Plates)
	dst = appendDerived(dst, w, o)
	dst = append(dst, '}')
	for _, m := range beside.members {
		switch m.Name {
		case "type", "id", "geometry", "properties":
			continue // never written by the importer; two of a name are no JSON
		case "bbox":
			if !asGiven {
				continue // of the place where the well stood before
			}
		}
		dst = appendMember(dst, m)
	}
	return append(dst, '}'), leftOut
}

// takenInHere says whether the record's source is only that it came here in a
// batch, which says nothing elsewhere and was not in the file.
func takenInHere(w *records.Well) bool {
	return w.Provenance.Batch > 0 && w.Provenance.Source == "batch"
}

// appendID writes the identifier that the record's source gave it, else its
// public name, if it has one yet.
func appendID(dst []byte, w *records.Well) []byte {
	id := w.Provenance.SourceID
	switch {
	case id == "" && w.UID == "":
		return dst
	case id == "":
		return appendText(append(dst, `,"id":`...), w.UID)
	case (id[0] == '"' || id[0] == '-' || id[0] >= '0' && id[0] <= '9') && jsontext.Value(id).IsValid():
		return append(append(dst, `,"id":`...), id...)
	}
	return appendText(append(dst, `,"id":`...), id)
}

// appendGeometry writes the place, longitude first, in the digits that it was
// given in as long as they are the place; asGiven tells whether they are.
func appendGeometry(dst []byte, w *records.Well, beside *besideProperties) (_ []byte, asGiven bool) {
	p := &w.Place
	if !p.Located || !finite(p.Lon) || !finite(p.Lat) {
		return append(dst, "null"...), false
	}
	asGiven = isDigitsOf(p.LonText, p.Lon) && isDigitsOf(p.LatText, p.Lat)
	dst = append(dst, `{"type":"Point","coordinates":[`...)
	if asGiven {
		dst = append(append(append(dst, p.LonText...), ','), p.LatText...)
		dst = append(dst, beside.beyond...)
	} else {
		dst = append(appendDegrees(dst, p.Lon), ',')
		dst = appendDegrees(dst, p.Lat)
	}
	dst = append(dst, ']')
	for _, m := range beside.geometry {
		if m.Name != "type" && m.Name != "coordinates" && (asGiven || m.Name != "bbox") {
			dst = appendMember(dst, m)
		}
	}
	return append(dst, '}'), asGiven
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// isDigitsOf says whether text is a JSON number that reads as v.
func isDigitsOf(text string, v float64) bool {
	read, err := strconv.ParseFloat(text, 64)
	return err == nil && read == v && records.IsJSONNumber(text)
}

// appendDegrees writes the shortest digits that read back as v.
func appendDegrees(dst []byte, v float64) []byte {
	return strconv.AppendFloat(dst, v, 'f', -1, 64)
}

func appendPlates(dst []byte, plates []records.Plate) []byte {
	if len(plates) == 0 {
		return dst
	}
	dst = append(appendName(dst, platesProperty), '[')
	for i := range plates {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = plates[i].AppendPlate(dst)
	}
	return append(dst, ']')
}

func appendMember(dst []byte, m records.Member) []byte {
	return append(appendName(dst, m.Name), m.JSON...)
}

// appendName appends a name and colon, and a comma before it where one
// belongs.
func appendName(dst []byte, name string) []byte {
	if last := dst[len(dst)-1]; last != '{' && last != '[' {
		dst = append(dst, ',')
	}
	return append(appendText(dst, name), ':')
}

// appendText appends a JSON text. What is no UTF-8 in it is replaced, which is
// all that the error would say.
func appendText(dst []byte, s string) []byte {
	out, err := jsontext.AppendQuote(dst, s)
	if err != nil {
		return out
	}
	return out
}
