package sqlite

import (
	"bytes"
	"fmt"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// A record is kept as a GeoJSON feature (RFC 7946) whose foreign members hold
// what its properties do not: the position's digits as a file gave them and
// where the record came from.

// appendFeature appends w as a feature. It refuses what could not be read
// back.
func appendFeature(dst []byte, w *records.Well) ([]byte, error) {
	start := len(dst)
	if w.Place.Located {
		if !onEarth(w.Place.Lon, w.Place.Lat) {
			return dst, &records.Error{Code: records.Invalid, Field: "geometry",
				Message: fmt.Sprintf("longitude %g, latitude %g is no position on the earth", w.Place.Lon, w.Place.Lat)}
		}
		dst = append(dst, `{"type":"Feature","geometry":{"type":"Point","coordinates":[`...)
		dst = strconv.AppendFloat(dst, w.Place.Lon, 'g', -1, 64)
		dst = append(dst, ',')
		dst = strconv.AppendFloat(dst, w.Place.Lat, 'g', -1, 64)
		dst = append(dst, `]}`...)
	} else {
		dst = append(dst, `{"type":"Feature","geometry":null`...)
	}
	var err error
	for _, t := range [...]struct{ name, text string }{{`,"lon_text":`, w.Place.LonText}, {`,"lat_text":`, w.Place.LatText}} {
		if t.text == "" {
			continue
		}
		dst = append(dst, t.name...)
		if dst, err = jsontext.AppendQuote(dst, t.text); err != nil {
			return dst, &records.Error{Code: records.Invalid, Field: "geometry", Message: "the digits of the position are not text", Err: err}
		}
	}
	from := &w.Provenance
	if from.Batch != 0 {
		dst = append(dst, `,"batch":`...)
		dst = strconv.AppendInt(dst, from.Batch, 10)
	}
	if from.Row != 0 {
		dst = append(dst, `,"row":`...)
		dst = strconv.AppendInt(dst, from.Row, 10)
	}
	if from.SourceID != "" {
		dst = append(dst, `,"source_id":`...)
		dst = append(dst, from.SourceID...)
	}
	dst = append(dst, `,"properties":`...)
	dst = w.AppendProperties(dst, records.WriteOptions{Private: true})
	dst = append(dst, '}')
	return dst, readable(dst[start:], func(doc []byte) error {
		var back records.Well
		_, err := parseFeature(doc, &back)
		return err
	})
}

// longDoc is the length from which a document is read back before it is
// written: only then can a text in it be longer than what is read.
const longDoc = 64 << 10

// readable refuses a document that is not JSON (a kept property may be
// anything) or, when long, that parse does not accept.
func readable(doc []byte, parse func([]byte) error) error {
	if !jsontext.Value(doc).IsValid() {
		return records.Errorf(records.Invalid, "a property kept from the file it came from is not JSON, or its name stands there twice")
	}
	if len(doc) > longDoc {
		return parse(doc)
	}
	return nil
}

// parseFeature reads what appendFeature wrote. faults are what the domain
// finds to remark on; err, with code Invalid, tells that something could not
// be read (w then holds the rest).
func parseFeature(doc []byte, w *records.Well) (faults []records.Fault, err error) {
	d := jsontext.NewDecoder(bytes.NewBuffer(doc))
	if _, err := d.ReadToken(); err != nil {
		return nil, damaged(err)
	}
	for d.PeekKind() != '}' {
		name, err := d.ReadToken()
		if err != nil {
			return faults, damaged(err)
		}
		key := name.String()
		value, err := d.ReadValue()
		if err != nil {
			return faults, damaged(err)
		}
		switch key {
		case "geometry":
			err = parseGeometry(value, &w.Place)
		case "lon_text":
			w.Place.LonText, err = unquote(value)
		case "lat_text":
			w.Place.LatText, err = unquote(value)
		case "batch":
			w.Provenance.Batch, err = strconv.ParseInt(string(value), 10, 64)
		case "row":
			w.Provenance.Row, err = strconv.ParseInt(string(value), 10, 64)
		case "source_id":
			w.Provenance.SourceID = string(value)
		case "properties":
			faults = w.ParseProperties(value)
		}
		if err != nil {
			return faults, damaged(err)
		}
	}
	return faults, records.FaultError(faults)
}

func damaged(err error) error {
	return records.WrapError(records.Invalid, err, "the record as stored cannot be read")
}

func unquote(value jsontext.Value) (string, error) {
	b, err := jsontext.AppendUnquote(nil, value)
	return string(b), err
}

// parseGeometry reads a point from the fixed form that appendFeature writes.
func parseGeometry(value jsontext.Value, p *records.Place) error {
	if value.Kind() == 'n' {
		return nil
	}
	open, end := bytes.IndexByte(value, '['), bytes.IndexByte(value, ']')
	if open < 0 || end < open {
		return fmt.Errorf("the geometry is not a point")
	}
	first, second, ok := bytes.Cut(value[open+1:end], []byte{','})
	if !ok {
		return fmt.Errorf("the geometry is not a point")
	}
	lon, errLon := strconv.ParseFloat(string(first), 64)
	lat, errLat := strconv.ParseFloat(string(second), 64)
	if errLon != nil || errLat != nil || !onEarth(lon, lat) {
		return fmt.Errorf("the geometry is not a position")
	}
	p.Located, p.Lon, p.Lat = true, lon, lat
	return nil
}
