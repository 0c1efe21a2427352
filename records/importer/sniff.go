package importer

import (
	"bytes"
	"fmt"

	"tallybook/records"
)

// magic are the first bytes of kinds of files that are no text, so that the
// error can say what somebody tried to take in.
var magic = []struct {
	at   int
	sign string
	kind string
	mend string
}{
	{0, "\x1f\x8b", "a gzip-compressed file", "unpack it first (gunzip)"},
	{0, "PK\x03\x04", "a ZIP archive (spreadsheets in .xlsx and .ods, KMZ and zipped shapefiles are such too)", "unpack it, or save the sheet as CSV"},
	{0, "PK\x05\x06", "an empty ZIP archive", "look for the file that was meant"},
	{0, "BZh", "a bzip2-compressed file", "unpack it first (bunzip2)"},
	{0, "\xfd7zXZ\x00", "an xz-compressed file", "unpack it first (unxz)"},
	{0, "\x28\xb5\x2f\xfd", "a zstd-compressed file", "unpack it first (unzstd)"},
	{0, "7z\xbc\xaf\x27\x1c", "a 7z archive", "unpack it first"},
	{0, "Rar!", "a RAR archive", "unpack it first"},
	{257, "ustar", "a tar archive", "unpack it first"},
	{0, "SQLite format 3\x00", "an SQLite database (GeoPackage and SpatiaLite files are such too)", "export its table to GeoJSON first (ogr2ogr -f GeoJSONSeq wells.geojsonl FILE)"},
	{0, "%PDF-", "a PDF document", "type the logs in, or ask for the data as a table"},
	{0, "\x89PNG", "a PNG picture", "attach it to its well instead"},
	{0, "\xff\xd8\xff", "a JPEG picture", "attach it to its well instead"},
	{0, "GIF8", "a GIF picture", "attach it to its well instead"},
	{0, "II*\x00", "a TIFF picture", "attach it to its well instead"},
	{0, "MM\x00*", "a TIFF picture", "attach it to its well instead"},
	{0, "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old office document (.xls, .doc)", "save the sheet as CSV"},
	{0, "\x00\x00\x27\x0a", "an ESRI shapefile", "convert it first (ogr2ogr -f GeoJSONSeq wells.geojsonl FILE)"},
	{0, "PAR1", "a Parquet file", "convert it to CSV or GeoJSON first"},
	{0, "fgb", "a FlatGeobuf file", "convert it to GeoJSON first (ogr2ogr)"},
	{0, "{\\rtf", "a rich-text document", "save the table as CSV"},
	{0, "\x7fELF", "a program", "look for the file that was meant"},
	{0, "MZ\x90", "a program", "look for the file that was meant"},
	{0, "\xff\xfe\x00\x00", "text in UTF-32", "save it as UTF-8"},
	{0, "\x00\x00\xfe\xff", "text in UTF-32", "save it as UTF-8"},
}

// otherKind is an error naming what the source is, where its first bytes tell
// that it is nothing that is read here.
func otherKind(name string, head []byte) error {
	wrong := func(kind, mend string) error {
		return records.Errorf(records.Invalid, "%s is %s, not GeoJSON or CSV; %s", name, kind, mend)
	}
	if len(head) == 0 {
		return wrong("empty", "look for the file that was meant")
	}
	for _, m := range magic {
		if len(head) >= m.at && bytes.HasPrefix(head[m.at:], []byte(m.sign)) {
			return wrong(m.kind, m.mend)
		}
	}
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head[:min(len(head), 1024)], utf8BOM), " \t\r\n"))
	if len(text) > 0 && text[0] == '<' {
		for _, x := range []struct{ sign, kind, mend string }{
			{"<html", "a web page", "download the data itself; the server may have sent an error or a log-in page"},
			{"<!doctype html", "a web page", "download the data itself; the server may have sent an error or a log-in page"},
			{"<kml", "a KML file", "convert it to GeoJSON first (ogr2ogr)"},
			{"<gpx", "a GPX file", "convert it to GeoJSON first (ogr2ogr)"},
			{"featurecollection", "a GML file", "convert it to GeoJSON first (ogr2ogr)"},
			{"<", "an XML document", "convert it to GeoJSON or CSV first"},
		} {
			if bytes.Contains(text, []byte(x.sign)) {
				return wrong(x.kind, x.mend)
			}
		}
	}
	return nil
}

var utf8BOM = []byte("\xef\xbb\xbf")

// utf16Order tells whether the source is UTF-16 by its mark, or by every
// second byte of an ASCII beginning being zero.
func utf16Order(head []byte) (bigEndian, is bool) {
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return false, true
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return true, true
	case len(head) >= 4 && head[0] == 0 && head[1] != 0 && head[2] == 0 && head[3] != 0:
		return true, true
	case len(head) >= 4 && head[0] != 0 && head[1] == 0 && head[2] != 0 && head[3] == 0:
		return false, true
	}
	return false, false
}

// notText is an error for a source that holds bytes no text holds.
func notText(name string, head []byte) error {
	if i := bytes.IndexByte(head, 0); i >= 0 {
		return records.Errorf(records.Invalid, "%s is not text: byte %d is zero; GeoJSON or CSV is read here", name, i)
	}
	return nil
}

// Format is a kind of source.
type Format uint8

// The formats. Auto tells them by their content.
const (
	Auto Format = iota
	GeoJSON
	CSV
	XLSX
)

// String gives the format's word.
func (f Format) String() string {
	switch f {
	case GeoJSON:
		return "geojson"
	case CSV:
		return "csv"
	case XLSX:
		return "xlsx"
	}
	return "auto"
}

// ParseFormat reads the words that String writes.
func ParseFormat(s string) (Format, error) {
	for _, f := range []Format{Auto, GeoJSON, CSV, XLSX} {
		if s == f.String() {
			return f, nil
		}
	}
	return Auto, fmt.Errorf("format %q is not one of auto, geojson, csv, xlsx", s)
}

// framing is how the features of a GeoJSON source are put together.
type framing uint8

const (
	framedUnknown framing = iota
	framedCollection
	framedValues
	framedLines
	framedSequence
)

// Layout says how the rows of the source stand in it.
func (f framing) String() string {
	return [...]string{"", "FeatureCollection", "features one after another", "newline-delimited features", "GeoJSON text sequence"}[f]
}

// tellFraming looks at the beginning of a source that starts with a brace.
func tellFraming(w *window, hold int) (framing, error) {
	var l look
	for {
		l = lookAtObject(w.rest())
		if l.known || len(w.rest()) > hold || !w.double() {
			break
		}
	}
	switch {
	case l.collection:
		return framedCollection, nil
	case l.kind != "" && l.kind != `"Feature"`:
		return framedUnknown, w.syntaxError("the object is of type "+clip(l.kind)+", not a FeatureCollection or Feature",
			`give each well as a "Feature" with a geometry and properties`)
	case l.whole && l.kind == "" && !l.feature:
		return framedUnknown, w.syntaxError("the object is no GeoJSON: it does not say its type", `give each well as a "Feature" with a geometry and properties`)
	}
	end := -1
	for {
		if end = bytes.IndexByte(w.rest(), '\n'); end >= 0 || len(w.rest()) > hold || !w.double() {
			break
		}
	}
	if end < 0 {
		return framedLines, nil
	}
	first := bytes.TrimSpace(w.rest()[:end])
	if _, whole := nesting(first); whole {
		return framedLines, nil
	}
	// A first line that is broken, with another feature right below it.
	for len(w.rest()) < end+3 && w.more() {
	}
	if len(first) > 1 && bytes.HasPrefix(w.rest()[end+1:], []byte(`{"`)) {
		return framedLines, nil
	}
	return framedValues, nil
}

// look is what the first object of a source has shown of itself.
type look struct {
	known      bool // nothing more need be read
	whole      bool // the object was seen to its end
	collection bool
	feature    bool   // it has members that a feature has
	kind       string // raw value of "type"
}

func lookAtObject(b []byte) look {
	var l look
	var s bracketScan
	i := 1
	skip := func(more string) {
		for i < len(b) && bytes.IndexByte([]byte(" \t\r\n"+more), b[i]) >= 0 {
			i++
		}
	}
	value := func() ([]byte, bool) {
		if i >= len(b) {
			return nil, false
		}
		s.reset()
		n, done, err := s.feed(b[i:])
		start := i
		i += n
		return b[start:i], done && err == nil && n > 0
	}
	for {
		skip(",")
		if i < len(b) && b[i] == '}' {
			l.known, l.whole = true, true
			return l
		}
		name, ok := value()
		if !ok || name[0] != '"' {
			l.known = i < len(b)
			return l
		}
		skip(":")
		if i >= len(b) {
			return l
		}
		switch string(name) {
		case `"features"`:
			l.known, l.collection = true, b[i] == '['
			if l.collection {
				return l
			}
		case `"geometry"`, `"properties"`:
			l.known, l.feature = true, true
			return l
		}
		v, ok := value()
		if !ok {
			l.known = i < len(b)
			return l
		}
		if string(name) == `"type"` {
			l.known, l.kind = true, string(v)
			l.collection = l.kind == `"FeatureCollection"`
			return l
		}
	}
}
