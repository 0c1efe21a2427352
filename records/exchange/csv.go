package exchange

import (
	"bufio"
	"io"
	"slices"
	"strings"

	"tallybook/records"
)

// CSV writes wells as a flat table (RFC 4180, UTF-8, lines ended by CR LF),
// one well a row: its identifier, its position and those properties of the
// profile that are neither lists nor inside one. Strata, casing and the other
// lists have no place in a flat table: GeoJSON carries them, and so does a set
// of tables (CSVSet).
//
// A text that a spreadsheet would run as a formula has an apostrophe before it,
// which the importer takes away again; numbers are as they are.
//
// The last column, "extra", holds what the model has no place for, as one JSON
// object.
type CSV struct {
	w       *bufio.Writer
	o       Options
	columns []string
	place   map[string]int // column by property
	cells   []string
	started bool
	bare    bool // texts are not guarded: no spreadsheet opens what is written
	count   int64
	leftOut int64
	buf     []byte
	err     error
}

const extraColumn = "extra"

// CSVColumns lists the columns that a table may have, in order.
func CSVColumns(private bool) []string {
	out := []string{"id", "lon", "lat"}
	for _, p := range records.Profile() {
		if p.Type == "list" || p.Type == "group" || strings.Contains(p.Name, "[]") || p.Private && !private {
			continue
		}
		out = append(out, p.Name)
	}
	return append(out, extraColumn)
}

// NewCSV begins a table on w. columns chooses among CSVColumns; nil takes all
// of them.
func NewCSV(w io.Writer, columns []string, o Options) (*CSV, error) {
	all := CSVColumns(o.Private)
	if o.Ground != nil {
		all = slices.Insert(all, len(all)-1, derivedColumns()...)
	}
	if columns == nil {
		columns = all
	}
	c := &CSV{w: bufio.NewWriterSize(w, 64<<10), o: o, columns: slices.Clone(columns), place: make(map[string]int), cells: make([]string, len(columns))}
	for i, name := range columns {
		if !slices.Contains(all, name) {
			return nil, records.Errorf(records.Invalid, "there is no column %q; there are: %s", name, strings.Join(all, ", "))
		}
		if _, twice := c.place[name]; twice {
			return nil, records.Errorf(records.Invalid, "the column %q is asked for twice", name)
		}
		c.place[name] = i
	}
	return c, nil
}

// Count is how many wells have been written.
func (c *CSV) Count() int64 { return c.count }

// LeftOut is how many extra properties were not written because their names
// say that they are about people.
func (c *CSV) LeftOut() int64 { return c.leftOut }

// Write writes one well. Once writing has failed, it gives that error again.
func (c *CSV) Write(w *records.Well) error {
	c.begin()
	c.understand(w)
	c.count++
	c.row(c.cells)
	return c.err
}

// understand fills the cells with what is known of a well.
func (c *CSV) understand(w *records.Well) {
	clear(c.cells)
	beside, extra, leftOut := sortExtra(w.Extra, c.o)
	crew, hidden := extraOfCrew(w, c.o)
	c.leftOut += int64(leftOut + hidden)
	c.fillPlace(w, &beside)
	flat := *w
	flat.Extra, flat.Crew.Extra = nil, crew
	if takenInHere(w) {
		flat.Provenance.Source = ""
	}
	c.fill("", flat.AppendProperties(nil, records.WriteOptions{Private: c.o.Private}))
	if ground := derivedGround(w, c.o); ground != nil {
		c.fill(derivedProperty+".", ground)
	}
	if i, ok := c.place[extraColumn]; ok && len(extra) > 0 {
		b := []byte{'{'}
		for _, m := range extra {
			b = appendMember(b, m)
		}
		c.cells[i] = string(append(b, '}'))
	}
}

func (c *CSV) fillPlace(w *records.Well, beside *besideProperties) {
	set := func(name, value string) {
		if i, ok := c.place[name]; ok {
			c.cells[i] = value
		}
	}
	if id := w.Provenance.SourceID; id != "" {
		set("id", c.plain(id))
	} else {
		set("id", w.UID)
	}
	p := &w.Place
	if !p.Located {
		return
	}
	lon, lat := p.LonText, p.LatText
	if !isDigitsOf(lon, p.Lon) || !isDigitsOf(lat, p.Lat) {
		lon, lat = string(appendDegrees(nil, p.Lon)), string(appendDegrees(nil, p.Lat))
	}
	set("lon", lon)
	set("lat", lat)
}

// fill spreads the members of an object over their columns.
func (c *CSV) fill(prefix string, object []byte) {
	for _, m := range readMembers(object) {
		i, ok := c.place[prefix+m.Name]
		switch {
		case ok:
			c.cells[i] = c.plain(m.JSON)
		case prefix == "" && m.JSON[0] == '{':
			c.fill(m.Name+".", []byte(m.JSON))
		}
	}
}

func (c *CSV) plain(value string) string {
	if c.bare {
		return bare(value)
	}
	return plain(value)
}

// bare is what a JSON value says: a text without its quotation marks, else the
// value as it stands.
func bare(value string) string {
	if value == "" || value[0] != '"' {
		return value
	}
	return unquote(value)
}

// plain is what a JSON value says: a text without its quotation marks, guarded
// where a spreadsheet would run it, else the value as it stands.
func plain(value string) string {
	if value == "" || value[0] != '"' {
		return value
	}
	return guarded(unquote(value))
}

func (c *CSV) begin() {
	if !c.started {
		c.started = true
		c.row(c.columns)
	}
}

func (c *CSV) row(cells []string) {
	b := c.buf[:0]
	for i, cell := range cells {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendCell(b, cell)
	}
	c.buf = append(b, "\r\n"...)
	if c.err != nil {
		return
	}
	if _, err := c.w.Write(c.buf); err != nil {
		c.err = writeError(err)
	}
}

// Close flushes the table, which has its header even without a row; it does
// not close the writer.
func (c *CSV) Close() error {
	c.begin()
	if err := c.w.Flush(); err != nil && c.err == nil {
		c.err = writeError(err)
	}
	return c.err
}

// appendCell writes a field, between quotation marks where it needs them.
func appendCell(b []byte, cell string) []byte {
	if !strings.ContainsAny(cell, ",\"\r\n;\t|") && strings.TrimSpace(cell) == cell {
		return append(b, cell...)
	}
	b = append(b, '"')
	for {
		before, after, found := strings.Cut(cell, `"`)
		b = append(b, before...)
		if !found {
			return append(b, '"')
		}
		b = append(b, `""`...)
		cell = after
	}
}
