package exchange

import (
	"bufio"
	"encoding/xml"
	"io"
	"strings"

	"tallybook/records"
)

// KML writes wells as placemarks (OGC 12-007r2, KML 2.3, in the elements that
// KML 2.2 has too), named by their number, with the properties that a flat
// table has (see CSV) as typed data under the same names. A well that nobody
// has located is a placemark without a point. Heights are not written: the
// points lie on the ground.
type KML struct {
	w     *bufio.Writer
	flat  *CSV
	types []string // of each column
	begun bool
	count int64
	err   error
	buf   strings.Builder
}

// NewKML begins a document on w.
func NewKML(w io.Writer, o Options) (*KML, error) {
	flat, types, err := newFlat(o)
	if err != nil {
		return nil, err
	}
	return &KML{w: bufio.NewWriterSize(w, 64<<10), flat: flat, types: types}, nil
}

// newFlat makes the cells of a flat table, unguarded, with the type of each
// column as the profile has it.
func newFlat(o Options) (*CSV, []string, error) {
	flat, err := NewCSV(io.Discard, nil, o)
	if err != nil {
		return nil, nil, err
	}
	flat.bare = true
	known := make(map[string]string)
	for _, p := range records.Profile() {
		known[p.Name] = p.Type
	}
	known["lon"], known["lat"] = "number", "number"
	known[derivedColumns()[0]] = "number"
	types := make([]string, len(flat.columns))
	for i, name := range flat.columns {
		types[i] = known[name] // "" is a text
	}
	return flat, types, nil
}

// Count is how many wells have been written.
func (k *KML) Count() int64 { return k.count }

// LeftOut is how many extra properties were not written because their names
// say that they are about people.
func (k *KML) LeftOut() int64 { return k.flat.LeftOut() }

// Write writes one well. Once writing has failed, it gives that error again.
func (k *KML) Write(w *records.Well) error {
	k.begin()
	k.flat.understand(w)
	k.buf.WriteString("<Placemark>")
	name := w.Number
	if name == "" {
		name = w.UID
	}
	k.element("name", name)
	k.buf.WriteString(`<ExtendedData><SchemaData schemaUrl="#well">`)
	for i, cell := range k.flat.cells {
		if cell == "" {
			continue
		}
		k.buf.WriteString(`<SimpleData name="` + kmlName(k.flat.columns[i]) + `">`)
		if k.types[i] == "flag" {
			cell = kmlFlag(cell)
		}
		k.text(cell)
		k.buf.WriteString("</SimpleData>")
	}
	k.buf.WriteString("</SchemaData></ExtendedData>")
	if p := &w.Place; p.Located && finite(p.Lon) && finite(p.Lat) {
		b := appendDegrees([]byte("<Point><coordinates>"), p.Lon)
		b = appendDegrees(append(b, ','), p.Lat)
		k.buf.Write(append(b, "</coordinates></Point>"...))
	}
	k.buf.WriteString("</Placemark>\n")
	k.count++
	k.put()
	return k.err
}

// kmlFlag writes a truth as a digit, which XML Schema allows as it does a word
// (W3C XML Schema part 2, second edition, 3.2.2.1) and which readers of KML take
// that make nothing of the word.
func kmlFlag(cell string) string {
	if cell == "true" {
		return "1"
	}
	return "0"
}

// kmlName is a column's name as one word.
func kmlName(column string) string { return strings.ReplaceAll(column, ".", "_") }

// begin declares the columns and their types.
func (k *KML) begin() {
	if k.begun {
		return
	}
	k.begun = true
	k.buf.WriteString(xml.Header + `<kml xmlns="http://www.opengis.net/kml/2.2"><Document id="root"><name>wells</name>` + "\n" + `<Schema name="well" id="well">`)
	for i, name := range k.flat.columns {
		kind := "string"
		switch k.types[i] {
		case "number":
			kind = "double"
		case "whole":
			kind = "int"
		case "flag":
			kind = "bool"
		}
		k.buf.WriteString("\n" + `<SimpleField name="` + kmlName(name) + `" type="` + kind + `"></SimpleField>`)
	}
	k.buf.WriteString("</Schema>\n<Folder><name>wells</name>\n")
	k.put()
}

func (k *KML) element(name, text string) {
	k.buf.WriteString("<" + name + ">")
	k.text(text)
	k.buf.WriteString("</" + name + ">")
}

// text writes a text for XML; a character that XML cannot hold becomes U+FFFD.
func (k *KML) text(s string) {
	if err := xml.EscapeText(&k.buf, []byte(s)); err != nil && k.err == nil {
		k.err = writeError(err)
	}
}

func (k *KML) put() {
	if k.err == nil {
		if _, err := k.w.WriteString(k.buf.String()); err != nil {
			k.err = writeError(err)
		}
	}
	k.buf.Reset()
}

// Close ends the document and flushes it; it does not close the writer.
func (k *KML) Close() error {
	k.begin()
	k.buf.WriteString("</Folder></Document></kml>\n")
	k.put()
	if err := k.w.Flush(); err != nil && k.err == nil {
		k.err = writeError(err)
	}
	return k.err
}
