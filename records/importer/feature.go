package importer

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// FeatureMember is the name of the extra property that holds what a GeoJSON
// feature carried outside its properties and the model has no place for, so
// that an export can give it back: PROFILE.md of records/exchange describes it.
const FeatureMember = "@feature"

// featureDecoder understands features. Its methods may be called at once from
// several goroutines.
type featureDecoder struct {
	source   string
	encoding string
	limits   limits
	validate records.ValidateOptions
	mapped   *featureMap // what a mapping says of the properties, nil for nothing
}

func (d *featureDecoder) decode(row *Row) {
	if row.scanFault != "" {
		row.refuse("", row.scanFault, row.scanMend)
		return
	}
	text, ok := decodeText(row, d.encoding)
	if !ok {
		return
	}
	// Brackets are counted first, which is fast: few features have so many
	// that they could nest too deep.
	if row.depth == 0 && bytes.Count(text, openList)+bytes.Count(text, openObject) > d.limits.nesting {
		row.depth, _ = nesting(text)
	}
	if row.depth > d.limits.nesting {
		row.refuse("", fmt.Sprintf("brackets nest %d deep, more than %d", row.depth, d.limits.nesting), "no well needs that: mend the feature")
		return
	}
	var f feature
	if err := eachMember(text, f.member); err != nil {
		refuseSyntax(row, text, err)
		return
	}
	if text[0] != '{' {
		row.refuse("", "is "+kindOf(text)+", not a feature", `give an object with "type": "Feature"`)
		return
	}
	d.build(row, &f)
}

var openList, openObject = []byte{'['}, []byte{'{'}

// feature is a feature cut into its members.
type feature struct {
	kind, id, geometry, properties []byte
	beside                         []records.Member // members of other names
}

func (f *feature) member(name, value []byte) {
	switch string(name) {
	case `"type"`:
		f.kind = value
	case `"id"`:
		f.id = value
	case `"geometry"`:
		f.geometry = value
	case `"properties"`:
		f.properties = value
	default:
		f.beside = append(f.beside, records.Member{Name: unquote(name), JSON: oneLine(value)})
	}
}

func (d *featureDecoder) build(row *Row, f *feature) {
	switch kind := string(f.kind); kind {
	case `"Feature"`:
	case "":
		row.refuse("type", `the object does not say its type`, `write "type": "Feature" in it`)
		return
	default:
		row.refuse("type", "the object is of type "+clip(kind)+", not a Feature", `give one "Feature" for each well`)
		return
	}
	w := &records.Well{}
	row.Well = w
	var beside besideProperties
	for _, m := range f.beside {
		if m.Name == "crs" {
			if message, mend := judgeCRS([]byte(m.JSON)); message != "" {
				row.refuse("crs", message, mend)
			}
			continue
		}
		beside.Members = append(beside.Members, m)
	}
	readGeometry(row, f.geometry, &beside)
	readID(row, f.id)
	switch {
	case f.properties == nil:
		row.warn("properties", "the feature has no properties", `RFC 7946 asks for them: write "properties": {} where there is nothing to say`)
	case d.mapped != nil && f.properties[0] == '{':
		d.readMapped(row, f.properties)
	case string(f.properties) != "null":
		row.Faults = append(row.Faults, w.ParseProperties(f.properties)...)
	}
	takeOwn(row)
	for _, m := range w.Extra {
		if m.Name == FeatureMember {
			row.refuse(FeatureMember, "is a name that this program uses itself", "give the property another name")
		}
	}
	if extra, ok := beside.member(); ok {
		w.Extra = append(w.Extra, extra)
	}
	d.finish(row)
}

// readMapped reads the properties by the mapping.
func (d *featureDecoder) readMapped(row *Row, raw []byte) {
	properties, cells, err := d.mapped.properties(row, bytes.Clone(raw))
	if err != nil { // the feature was read before: it is JSON
		row.refuse("properties", err.Error(), "mend the feature there")
		return
	}
	before := len(row.Faults)
	row.Faults = append(row.Faults, row.Well.ParseProperties(properties)...)
	d.mapped.place(row, cells)
	for i := range row.Faults[before:] {
		f := &row.Faults[before+i]
		f.Field = d.mapped.plan.withColumn(f.Field)
	}
}

// finish gives the record its public name and has it checked.
func (d *featureDecoder) finish(row *Row) {
	nameRow(row, d.source)
	row.Well.Provenance.Row = row.Number
	row.Faults = append(row.Faults, row.Well.Validate(d.validate)...)
	for i, p := range row.Plates {
		for _, f := range p.Validate(d.validate) {
			row.Faults = append(row.Faults, onPlate(i, f))
		}
	}
}

// readID keeps the feature's identifier as it was written.
func readID(row *Row, id []byte) {
	if id == nil {
		return
	}
	switch id[0] {
	case '"', '-', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9':
		row.Well.Provenance.SourceID = string(id)
	case 'n':
		row.warn("id", "the feature's id is null", "leave it out where there is none")
	default:
		row.refuse("id", "the feature's id is "+kindOf(id), "RFC 7946 allows a text or a number")
	}
}

// memberReader cuts an object by a jsontext decoder, which also refuses what
// is no JSON, names that stand twice and broken UTF-8.
type memberReader struct {
	decoder *jsontext.Decoder
	buffer  bytes.Buffer
}

var memberReaders = sync.Pool{New: func() any { return &memberReader{decoder: jsontext.NewDecoder(strings.NewReader(""))} }}

var errTwoValues = errors.New("more follows behind the end of the feature")

// eachMember calls fn with the raw name and value of each member of the one
// object in text, or only checks text where it holds another value.
func eachMember(text []byte, fn func(name, value []byte)) error {
	m := memberReaders.Get().(*memberReader)
	defer memberReaders.Put(m)
	m.buffer = *bytes.NewBuffer(text)
	m.decoder.Reset(&m.buffer)
	d := m.decoder
	if d.PeekKind() != '{' {
		if _, err := d.ReadValue(); err != nil {
			return err
		}
		return nothingFollows(d)
	}
	if _, err := d.ReadToken(); err != nil {
		return err
	}
	for d.PeekKind() != '}' {
		name, err := d.ReadValue()
		if err != nil {
			return err
		}
		value, err := d.ReadValue()
		if err != nil {
			return err
		}
		fn(name, value)
	}
	if _, err := d.ReadToken(); err != nil {
		return err
	}
	return nothingFollows(d)
}

func nothingFollows(d *jsontext.Decoder) error {
	if _, err := d.ReadToken(); !errors.Is(err, io.EOF) {
		return errTwoValues
	}
	return nil
}

// refuseSyntax says why the text of a row is not JSON, and where.
func refuseSyntax(row *Row, text []byte, err error) {
	message, mend := "is not JSON: "+err.Error(), "mend the feature there"
	at, field := len(text), ""
	var s *jsontext.SyntacticError
	if errors.As(err, &s) {
		at = min(int(s.ByteOffset), len(text))
		field = strings.ReplaceAll(strings.TrimPrefix(string(s.JSONPointer), "/"), "/", ".")
		message = "is not JSON: " + s.Err.Error()
	}
	word := text[at:]
	switch {
	case errors.Is(err, errTwoValues):
		message, mend = err.Error(), "write one feature a line"
	case errors.Is(err, jsontext.ErrDuplicateName):
		message, mend = "the same name stands twice in one object", "keep the one that holds"
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		message, mend = "breaks off before it is closed", "fetch or write it again whole"
	case hasAnyPrefix(word, "NaN", "nan", "Infinity", "-Infinity", "inf", "-inf"):
		message, mend = "holds a number that is none ("+string(word[:min(3, len(word))])+"…)", "JSON has no NaN or Infinity: write null, or leave the property out"
	}
	before := text[:at]
	line := row.Line + int64(bytes.Count(before, newline))
	row.refuse(clip(field), fmt.Sprintf("%s (line %d, byte %d)", message, line, row.Offset+int64(at)), mend)
}

func hasAnyPrefix(b []byte, prefixes ...string) bool {
	for _, p := range prefixes {
		if bytes.HasPrefix(b, []byte(p)) {
			return true
		}
	}
	return false
}
