package importer

import (
	"errors"
	"fmt"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
)

// decode reads one row of the table.
func (t *table) decode(row *Row) {
	if row.scanFault != "" {
		row.refuse("", row.scanFault, row.scanMend)
		return
	}
	cells := row.cells
	if cells == nil {
		var fault, mend string
		if cells, fault, mend = t.cells(row); fault != "" {
			row.refuse("", fault, mend)
			return
		}
	}
	t.plan.understand(row, cells, t.features, nil)
}

// understand makes a record of a row's cells: its fields become the properties
// of a record, which the record itself reads, so that a quantity in a table
// means what it means in GeoJSON. parts are what other rows add to it.
func (p *plan) understand(row *Row, cells []string, d *featureDecoder, parts *wellParts) {
	if blank(cells) {
		row.refuse("", "all of its fields are empty", "take the row out")
		return
	}
	if cells = p.expand(row, cells); row.Faults != nil && records.Refuses(row.Faults) {
		return
	}
	row.Well = &records.Well{}
	properties := p.properties(row, cells, parts)
	row.Faults = append(row.Faults, row.Well.ParseProperties(properties)...)
	takeOwn(row)
	p.readPlace(row, cells)
	p.judgePlace(row, cells)
	p.readLog(row, cells)
	p.readLegal(row, cells)
	p.settleDatum(row)
	d.finish(row)
	for i := range row.Faults {
		f := &row.Faults[i]
		if !parts.name(f) {
			f.Field = p.withColumn(f.Field)
		}
	}
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func blank(cells []string) bool {
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// properties writes the row as a JSON object of the profile.
func (p *plan) properties(row *Row, cells []string, parts *wellParts) []byte {
	out := make([]byte, 0, 64+2*len(row.Raw))
	out = append(out, '{')
	if parts != nil {
		parts.own = make(map[Role]bool)
	}
	for _, g := range p.groups {
		mark := len(out)
		if g.name != "" {
			out = appendName(out, g.name)
			if g.list {
				out = append(out, '[')
			}
			out = append(out, '{')
		}
		open := len(out)
		for _, i := range g.columns {
			out = p.property(out, row, &p.columns[i], cells[i])
		}
		if more := parts.of(Role(g.name)); g.list && len(more) > 0 {
			if len(out) == open {
				out = out[:open-1] // the brace of an object that is not there
			} else {
				out = append(out, "},"...)
				parts.own[Role(g.name)] = true
			}
			out = append(append(out, more...), ']')
			continue
		}
		switch {
		case g.name == "":
		case len(out) == open:
			out = out[:mark]
		case g.list:
			out = append(out, "}]"...)
		default:
			out = append(out, '}')
		}
	}
	return append(parts.rest(out, p), '}')
}

func (p *plan) property(out []byte, row *Row, c *column, cell string) []byte {
	value := cell
	if c.mapped {
		value = strings.TrimSpace(cell)
	}
	if value == "" {
		return out
	}
	switch c.kind {
	case quantityField, numberField:
		if c.kind == quantityField {
			plain, message := p.decimalText(c, value)
			if message != "" {
				row.refuse(p.withColumn(c.property), message, "say how the file writes decimals (decimal: point or comma)")
				return out
			}
			value = plain
		}
		if records.IsJSONNumber(value) {
			return append(appendName(out, c.property), value...)
		}
	case extraField:
		if members, ok := p.extra(value); ok {
			return appendAll(out, members)
		}
	case flagField:
		value = flagWord(value)
	case dateField:
		written, message := dateRule{c.order, c.pivot, c.serials}.read(value)
		if message != "" {
			row.refuse(p.withColumn(c.property), message, p.mendDate(c, message))
			return out
		}
		value = written
	}
	return append(appendName(out, c.property), quote(value)...)
}

// extra reads the members of a JSON object; ok is false where the text is none,
// or holds a name that the row has otherwise. The column's own name is free,
// since its members take its place.
func (p *plan) extra(text string) (members []records.Member, ok bool) {
	if text[0] != '{' {
		return nil, false
	}
	ok = true
	err := eachMember([]byte(text), func(name, value []byte) {
		n := unquote(name)
		ok = ok && (n == extraColumn || !p.used[n])
		members = append(members, records.Member{Name: n, JSON: oneLine(value)})
	})
	if deepest, _ := nesting([]byte(text)); deepest >= defaultNesting {
		ok = false
	}
	return members, ok && err == nil
}

func appendAll(out []byte, members []records.Member) []byte {
	for _, m := range members {
		out = append(appendName(out, m.Name), m.JSON...)
	}
	return out
}

func flagWord(s string) string {
	switch strings.ToLower(s) {
	case "y", "yes", "true", "t", "1", "x":
		return "true"
	case "n", "no", "false", "f", "0":
		return "false"
	}
	return s
}

// withColumn names the column beside the property that a fault is about.
func (p *plan) withColumn(path string) string {
	if path == "" {
		return path // of the row as a whole
	}
	if strings.Contains(path, "(column ") {
		return path
	}
	tail := path
	if k := strings.LastIndexByte(path, '.'); k >= 0 {
		tail = path[k+1:]
	}
	for i := range p.columns {
		c := &p.columns[i]
		if c.property == tail && c.name != tail {
			return fmt.Sprintf("%s (column %q)", path, c.name)
		}
	}
	return path
}

// readPlace reads the identifier and the position of a row.
func (p *plan) readPlace(row *Row, cells []string) {
	cell := func(name string) string {
		if i, ok := p.place[name]; ok {
			return strings.TrimSpace(cells[i])
		}
		return ""
	}
	if id := cell("id"); id != "" {
		row.Well.Provenance.SourceID = idText(id)
	}
	lon, lat := cell("lon"), cell("lat")
	whole := cell("coordinates")
	if grid := strings.TrimSpace(cell("utm_zone") + " " + cell("easting") + " " + cell("northing")); whole == "" && grid != "" && lon == "" && lat == "" {
		whole = grid
	}
	place := &row.Well.Place
	switch {
	case lon != "" && lat != "":
		if whole != "" && place.Given == "" {
			place.Given = whole
		}
		if x, y, ok := decimalPair(lon, lat); ok {
			locate(row, "lon, lat", x, y)
			if !records.IsJSONNumber(x) || !records.IsJSONNumber(y) {
				place.LonText, place.LatText = "", ""
			}
			return
		}
		readPosition(row, lat+", "+lon)
	case lon != "" || lat != "":
		row.refuse("lon, lat", "one of longitude and latitude is given without the other", "give both, or none")
	case whole != "":
		readPosition(row, whole)
	}
}

// idText is an identifier as JSON text.
func idText(id string) string {
	if records.IsJSONNumber(id) {
		return id
	}
	return quote(id)
}

// decimalPair takes degrees written as numbers, with a decimal comma too.
func decimalPair(lon, lat string) (x, y string, ok bool) {
	x, y = strings.Replace(lon, ",", ".", 1), strings.Replace(lat, ",", ".", 1)
	for _, s := range []string{x, y} {
		if strings.Trim(s, "0123456789.+-eE") != "" {
			return "", "", false
		}
	}
	return strings.TrimPrefix(x, "+"), strings.TrimPrefix(y, "+"), true
}

// readPosition reads coordinates in any of the forms that people write.
func readPosition(row *Row, text string) {
	place := &row.Well.Place
	r, err := position.Parse(text)
	if err != nil {
		message, mend := err.Error(), ""
		var e *position.ParseError
		if errors.As(err, &e) {
			message, mend = fmt.Sprintf("%q: %s", clip(text), e.Problem), e.Mend
		}
		row.refuse("coordinates", message, mend)
		return
	}
	place.Located, place.Lon, place.Lat = true, r.At.Lon, r.At.Lat
	if place.Given == "" {
		place.Given = text
	}
	if place.Datum == "" && r.Datum != position.DatumUnknown {
		place.Datum = r.Datum.String()
	}
	if r.Note != "" {
		row.warn("coordinates", fmt.Sprintf("%q: %s", clip(text), r.Note), "write it out if that is wrong")
	}
}
