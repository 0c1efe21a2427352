package importer

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"tallybook/geo/position"
	"tallybook/records"
)

// PlateTable reads a table of plates: a row each, with the number, what is
// stamped, and where and when it was seen. The first row names the columns.
type PlateTable struct {
	csv     *csv.Reader
	columns []plateColumn
	row     int64
}

// PlateOptions say how a table of plates is read.
type PlateOptions struct {
	// Lengths, Diameters and Flows are the units of columns whose names bear
	// none and of values that are written without one.
	Lengths, Diameters, Flows records.Unit
	// Order is that of dates such as 6/7/2004: ymd, mdy or dmy; "" for none, and
	// then such a date is refused.
	Order string
}

// PlateRow is one row: a plate, or why it is none.
type PlateRow struct {
	Number int64 // from 1; the row of names is not counted
	Cells  []string
	Plate  *records.Plate
	Faults []records.Fault
}

func (r *PlateRow) refuse(field, message, mend string) {
	r.Faults = append(r.Faults, records.Fault{Severity: records.Refusal, Field: field, Message: message, Mend: mend})
}

// plateColumn is a column with what its cells are taken for.
type plateColumn struct {
	name string
	take func(row *PlateRow, cell string)
}

// mostPlateCell is the longest cell that is taken, bytes.
const mostPlateCell = 4096

// OpenPlateTable reads the first row. Commas, semicolons and tabs part the
// columns; the text is UTF-8.
func OpenPlateTable(r io.Reader, o PlateOptions) (*PlateTable, error) {
	buffered := bufio.NewReaderSize(r, 64<<10)
	if mark, err := buffered.Peek(3); err == nil && bytes.Equal(mark, []byte("\xef\xbb\xbf")) {
		if _, err := buffered.Discard(len(mark)); err != nil {
			return nil, err
		}
	}
	head, err := buffered.Peek(4096)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
		return nil, err
	}
	if bytes.IndexByte(head, 0) >= 0 {
		return nil, records.Errorf(records.Invalid, "this is no text: save the plates as a CSV file in UTF-8 and send that")
	}
	line, _, _ := bytes.Cut(head, []byte("\n"))
	t := &PlateTable{csv: csv.NewReader(buffered)}
	t.csv.Comma = rune(tellDelimiter(line))
	t.csv.FieldsPerRecord, t.csv.TrimLeadingSpace = -1, true
	names, err := t.csv.Read()
	switch {
	case errors.Is(err, io.EOF):
		return nil, records.Errorf(records.Invalid, "the file is empty: its first row names the columns, such as number, depth_ft, date, position")
	case err != nil:
		return nil, records.WrapError(records.Invalid, err, "the first row cannot be read as names of columns")
	}
	return t, t.name(names, o)
}

// plateNames are the columns that are known, in the words that people use.
var plateNames = map[string]string{
	"number": "number", "plate": "number", "plate_number": "number", "tag": "number",
	"authority": "authority", "series": "series", "driller": "driller",
	"date": "date", "stamped_date": "date", "completed": "date", "drilled": "date",
	"depth": "depth", "total_depth": "depth", "casing": "casing", "casing_depth": "casing", "diameter": "diameter",
	"yield": "yield", "static": "static", "static_level": "static", "pump": "pump", "pump_depth": "pump",
	"seen": "seen", "date_seen": "seen", "seen_date": "seen", "by": "by", "seen_by": "by",
	"position": "position", "latitude": "lat", "lat": "lat", "longitude": "lon", "lon": "lon", "lng": "lon", "long": "lon",
	"accuracy": "accuracy", "legible": "legible", "could_be_read": "legible", "note": "note", "notes": "note", "remark": "note",
}

// name takes each column for what its name says.
func (t *PlateTable) name(names []string, o PlateOptions) error {
	order, known := parseDateOrder(o.Order)
	if o.Order != "" && !known {
		return records.Errorf(records.Invalid, "%q is no order of dates; write ymd, mdy or dmy", clip(o.Order))
	}
	taken := map[string]string{}
	var unknown []string
	for i, name := range names {
		plain := strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(strings.TrimSpace(strings.TrimPrefix(name, "\ufeff"))))
		word, unit := plateNames[plain], ""
		if cut := strings.LastIndexByte(plain, '_'); word == "" && cut > 0 {
			word, unit = plateNames[plain[:cut]], plain[cut+1:]
		}
		if word == "" {
			if plain != "" {
				unknown = append(unknown, name)
			}
			t.columns = append(t.columns, plateColumn{name: fmt.Sprintf("column %d", i+1)})
			continue
		}
		if before, twice := taken[word]; twice {
			return records.Errorf(records.Invalid, "the columns %q and %q say the same thing; take one of them out", before, clip(name))
		}
		taken[word] = name
		take, err := plateTaker(word, unit, order, o)
		if err != nil {
			return err
		}
		t.columns = append(t.columns, plateColumn{name: word, take: take})
	}
	switch {
	case len(unknown) > 0:
		return records.Errorf(records.Invalid, "the column %q is not known; name the columns number, authority, series, date, depth, casing, diameter, yield, static, pump, driller, seen, by, position (or latitude and longitude), accuracy, legible, note, with a unit behind such as depth_ft", clip(unknown[0]))
	case taken["number"] == "":
		return records.Errorf(records.Invalid, "no column is named number: it is what a plate is known by")
	case (taken["lat"] == "") != (taken["lon"] == ""):
		return records.Errorf(records.Invalid, "latitude and longitude belong together; one of the columns is missing")
	case taken["lat"] != "" && taken["position"] != "":
		return records.Errorf(records.Invalid, "the place is given twice, as a position and as latitude and longitude; take one out")
	}
	return nil
}

// plateTaker gives what is done with the cells of a column.
func plateTaker(word, unit string, order dateOrder, o PlateOptions) (func(*PlateRow, string), error) {
	of := func(d records.Dimension, otherwise records.Unit) (records.Unit, error) {
		if unit == "" {
			if otherwise == records.NoUnit {
				otherwise = d.Base()
			}
			return otherwise, nil
		}
		u, ok := d.UnitBySymbol(unit)
		if !ok {
			return u, records.Errorf(records.Invalid, "%q is no unit of %s", clip(unit), word)
		}
		return u, nil
	}
	length, errLength := of(records.DimLength, o.Lengths)
	text := func(to func(*records.Plate) *string) func(*PlateRow, string) {
		return func(r *PlateRow, cell string) { *to(r.Plate) = cell }
	}
	seen := func(p *records.Plate) *records.PlateSighting { return &p.Seen[0] }
	switch word {
	case "depth":
		return plateAmount(word, records.DimLength, length, func(p *records.Plate) *records.Amount[records.Depth] { return &p.Stamped.Depth }), errLength
	case "casing":
		return plateAmount(word, records.DimLength, length, func(p *records.Plate) *records.Amount[records.Depth] { return &p.Stamped.Casing }), errLength
	case "static":
		return plateAmount(word, records.DimLength, length, func(p *records.Plate) *records.Amount[records.Depth] { return &p.Stamped.Static }), errLength
	case "pump":
		return plateAmount(word, records.DimLength, length, func(p *records.Plate) *records.Amount[records.Depth] { return &p.Stamped.PumpDepth }), errLength
	case "accuracy":
		return plateAmount(word, records.DimLength, length, func(p *records.Plate) *records.Amount[records.Length] { return &seen(p).Accuracy }), errLength
	case "diameter":
		u, err := of(records.DimDiameter, o.Diameters)
		return plateAmount(word, records.DimDiameter, u, func(p *records.Plate) *records.Amount[records.Diameter] { return &p.Stamped.Diameter }), err
	case "yield":
		u, err := of(records.DimFlow, o.Flows)
		return plateAmount(word, records.DimFlow, u, func(p *records.Plate) *records.Amount[records.Flow] { return &p.Stamped.Yield }), err
	}
	if unit != "" {
		return nil, records.Errorf(records.Invalid, "the column %q bears the unit %q, and has none", word, clip(unit))
	}
	date := func(to func(*records.Plate) *records.Date) func(*PlateRow, string) {
		return func(r *PlateRow, cell string) {
			written, message := readDate(cell, order)
			if message != "" {
				r.refuse(word, message, "write it as 2004-06-15, or say in which order the dates of the file are")
				return
			}
			d, err := records.ParseDate(written)
			if err != nil {
				r.refuse(word, err.Error(), "write it as 2004-06-15")
			}
			*to(r.Plate) = d
		}
	}
	switch word {
	case "number":
		return text(func(p *records.Plate) *string { return &p.Number }), nil
	case "authority":
		return text(func(p *records.Plate) *string { return &p.Authority }), nil
	case "series":
		return text(func(p *records.Plate) *string { return &p.Series }), nil
	case "driller":
		return text(func(p *records.Plate) *string { return &p.Stamped.Driller }), nil
	case "by":
		return text(func(p *records.Plate) *string { return &seen(p).By }), nil
	case "legible":
		return text(func(p *records.Plate) *string { return &seen(p).Legible }), nil
	case "note":
		return text(func(p *records.Plate) *string { return &seen(p).Note }), nil
	case "date":
		return date(func(p *records.Plate) *records.Date { return &p.Stamped.Date }), nil
	case "seen":
		return date(func(p *records.Plate) *records.Date { return &seen(p).Date }), nil
	}
	return nil, nil // the place, which place reads
}

// plateAmount takes a quantity as a person writes it.
func plateAmount[T ~float64](field string, d records.Dimension, u records.Unit, to func(*records.Plate) *records.Amount[T]) func(*PlateRow, string) {
	return func(r *PlateRow, cell string) {
		a, err := records.ParseAmount(cell, d, u)
		if err != nil {
			r.refuse(field, err.Error(), "write it like 62, 62 ft, <1 or 50+")
			return
		}
		*to(r.Plate) = records.Amount[T]{Qualifier: a.Qualifier, Value: T(a.Value), High: T(a.High), Given: a.Given}
	}
}

// Next reads a row; io.EOF where there are no more. A row that cannot be taken
// says why; the rest of the file is read all the same.
func (t *PlateTable) Next() (*PlateRow, error) {
	for {
		cells, err := t.csv.Read()
		var wrong *csv.ParseError
		if err != nil && !errors.As(err, &wrong) {
			return nil, err
		}
		t.row++
		row := &PlateRow{Number: t.row, Cells: cells}
		if wrong != nil {
			row.refuse("", "cannot be cut into cells: "+wrong.Err.Error(), "mend the quotes of this row")
			return row, nil
		}
		if strings.TrimSpace(strings.Join(cells, "")) == "" {
			t.row--
			continue // an empty line is no row
		}
		t.read(row)
		return row, nil
	}
}

// read takes the cells of a row.
func (t *PlateTable) read(row *PlateRow) {
	row.Plate = &records.Plate{Seen: make([]records.PlateSighting, 1)}
	if len(row.Cells) > len(t.columns) {
		row.refuse("", fmt.Sprintf("has %d cells and there are %d columns", len(row.Cells), len(t.columns)), "take out what is too many, or quote the cell that holds the separator")
	}
	at := map[string]string{}
	for i, c := range t.columns {
		if i >= len(row.Cells) {
			break
		}
		cell := strings.TrimSpace(row.Cells[i])
		switch {
		case cell == "":
		case len(cell) > mostPlateCell:
			row.refuse(c.name, fmt.Sprintf("holds %d bytes, more than %d", len(cell), mostPlateCell), "shorten it")
		case !utf8.ValidString(cell):
			row.refuse(c.name, "is not UTF-8", "save the file as UTF-8")
		case c.take != nil:
			c.take(row, cell)
		case c.name == "position" || c.name == "lat" || c.name == "lon":
			at[c.name] = cell
		default:
			row.refuse(c.name, "holds “"+clip(cell)+"” and the column has no name", "name the column in the first row")
		}
	}
	row.place(at)
	if row.Plate.Number == "" {
		row.refuse("number", "is empty", "type what can be read, with ? for each digit that cannot")
	}
	if s := &row.Plate.Seen[0]; !s.Located && s.Date.IsZero() && !s.Accuracy.Known() && s.By == "" && s.Legible == "" && s.Note == "" {
		row.Plate.Seen = nil
	}
	// The same row gives the same public name.
	row.Plate.UID = uuid.NewSHA1(Namespace, append([]byte("plate row "), row.Plate.AppendPlate(nil)...)).String()
}

// place reads where the plate was seen.
func (r *PlateRow) place(at map[string]string) {
	text := at["position"]
	if lat, lon := at["lat"], at["lon"]; lat != "" && lon != "" {
		text = lat + ", " + lon
	} else if lat != lon {
		r.refuse("position", "has a latitude or a longitude and not both", "give both or neither")
		return
	}
	if text == "" {
		return
	}
	reading, err := position.Parse(text)
	if err != nil {
		r.refuse("position", err.Error(), "write it as 44.25, -38.75")
		return
	}
	s := &r.Plate.Seen[0]
	s.Located, s.Lon, s.Lat = true, reading.At.Lon, reading.At.Lat
}

// Refused says whether the row is not to be taken in.
func (r *PlateRow) Refused() bool { return records.Refuses(r.Faults) }
