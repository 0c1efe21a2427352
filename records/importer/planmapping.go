package importer

import (
	"fmt"
	"regexp"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
)

// step makes further columns of those that stand in the file: it cuts one
// into several, or joins several to one.
type step struct {
	from    []int // one for a split
	into    []int
	by      string // what parts, or what stands between
	pattern *regexp.Regexp
	joins   bool
}

// byMapping settles the columns that a mapping names, after those that its
// splits and joins make.
func (p *planner) byMapping(sheet *SheetMapping) error {
	p.area, p.statedArea, p.mends = sheet.Area, sheet.Area != nil, sheet.Mend
	if err := p.addSteps(sheet); err != nil {
		return err
	}
	for i := range sheet.Columns {
		rule := &sheet.Columns[i]
		at, err := p.find(rule.Column)
		if err != nil {
			return err
		}
		if err := p.rule(at, rule); err != nil {
			return err
		}
	}
	return nil
}

// rule gives one column what the mapping says of it.
func (p *planner) rule(at int, rule *ColumnMapping) error {
	c := &p.columns[at]
	if c.rule != nil {
		return records.Errorf(records.Invalid, "the mapping names the column %q twice, once as %q", c.name, rule.Column)
	}
	c.rule = rule
	if len(rule.Unknown) > 0 {
		c.unknown = make(map[string]bool, len(rule.Unknown))
		for _, u := range rule.Unknown {
			c.unknown[codeText(u)] = true
		}
	}
	c.pivot, c.decimal = rule.Pivot, rule.Decimal
	switch rule.Serials {
	case "1900":
		c.serials = 1900
	case "1904":
		c.serials = 1904
	}
	if rule.Ditto {
		if at >= p.inFile {
			return records.Errorf(records.Invalid, "the column %q is made of others: give the ditto rule to those it is made of", c.name)
		}
		p.ditto = true
	}
	if rule.LeaveOut {
		c.left = true
		return nil
	}
	if rule.Field == "" {
		return nil
	}
	f, named, ok := fieldAndUnit(p.fields, rule.Field)
	if !ok {
		return unknown("field", rule.Field, fieldNames(p.fields))
	}
	choice, err := chooseUnit(f, named, rule.Field, rule.unitText())
	if err != nil {
		return err
	}
	if _, asked := p.units[f.name]; !asked && rule.unitText() != "" {
		p.units[f.name] = choice
	}
	if rule.Datum != "" {
		if err := checkDatum(f, rule.Datum); err != nil {
			return err
		}
		p.setDatum(f, rule.Datum)
	}
	return p.give(at, f, named)
}

// addSteps adds the columns that splits and joins make.
func (p *planner) addSteps(sheet *SheetMapping) error {
	for i := range sheet.Splits {
		s := &sheet.Splits[i]
		pattern, err := s.compile()
		if err != nil {
			return err
		}
		from, err := p.find(s.Column)
		if err != nil {
			return err
		}
		made := step{from: []int{from}, by: s.By, pattern: pattern}
		for _, name := range s.Into {
			at, err := p.make(name)
			if err != nil {
				return err
			}
			made.into = append(made.into, at)
		}
		p.steps = append(p.steps, made)
	}
	for i := range sheet.Joins {
		j := &sheet.Joins[i]
		made := step{by: j.With, joins: true}
		for _, name := range j.Columns {
			from, err := p.find(name)
			if err != nil {
				return err
			}
			made.from = append(made.from, from)
		}
		at, err := p.make(j.Into)
		if err != nil {
			return err
		}
		made.into = []int{at}
		p.steps = append(p.steps, made)
	}
	return nil
}

// make adds a column that the file does not have.
func (p *planner) make(name string) (int, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return 0, records.Errorf(records.Invalid, `a split or join makes a column without a name; name it in "into"`)
	}
	for i := range p.columns {
		if p.columns[i].name == name {
			return 0, records.Errorf(records.Invalid, "a split or join makes a column %q, and there is one of that name; give it another", name)
		}
	}
	// What a split or join made is kept by the columns that it was made of,
	// so that it is not kept twice where no field takes it.
	p.columns = append(p.columns, column{name: name, left: true})
	return len(p.columns) - 1, nil
}

// codeText makes texts that stand for unknown comparable.
func codeText(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// expand gives the row's cells with those that are made of them, after the
// codes for unknown were taken out. The row is refused where a text does not
// fit the pattern that is to cut it.
func (p *plan) expand(row *Row, cells []string) []string {
	p.clean(cells, 0, p.inFile)
	for _, s := range p.steps {
		if s.joins {
			var parts []string
			for _, from := range s.from {
				if text := strings.TrimSpace(cells[from]); text != "" {
					parts = append(parts, text)
				}
			}
			cells = append(cells, strings.Join(parts, s.by))
			continue
		}
		pieces, ok := cutPieces(cells[s.from[0]], s.by, s.pattern, len(s.into))
		if !ok {
			row.refuse(fmt.Sprintf("column %q", p.columns[s.from[0]].name),
				fmt.Sprintf("%q does not fit the pattern that is to cut it", clip(cells[s.from[0]])), "mend the text, or the pattern in the mapping")
		}
		cells = append(cells, pieces...)
	}
	p.clean(cells, p.inFile, len(cells))
	return cells
}

// clean empties the cells whose text stands for unknown.
func (p *plan) clean(cells []string, from, to int) {
	for i := from; i < to; i++ {
		if u := p.columns[i].unknown; u != nil && u[codeText(cells[i])] {
			cells[i] = ""
		}
	}
}

// positionFields are those of the fields that a horizontal datum belongs to.
var positionFields = map[string]bool{"lon": true, "lat": true, "coordinates": true, "easting": true, "northing": true, "utm_zone": true, "coordinates_given": true}

// checkDatum says what is wrong with a datum for a field.
func checkDatum(f field, text string) error {
	switch {
	case f.name == "ground_elevation":
		return nil
	case !positionFields[f.name]:
		return records.Errorf(records.Invalid, "%s has no datum; say it for the columns of the position, or of the ground's elevation", f.name)
	}
	if _, ok := position.ParseDatum(text); !ok {
		return records.Errorf(records.Invalid, "the datum %q is not known; use WGS 84, NAD83 or NAD27", text)
	}
	return nil
}

func (p *planner) setDatum(f field, text string) {
	if f.name == "ground_elevation" {
		p.vertDatum = text
		return
	}
	p.datum, _ = position.ParseDatum(text)
}

// settleDatum gives the record the datums that the mapping states, and brings
// a position on an older one to WGS 84, which is told.
func (p *plan) settleDatum(row *Row) {
	place := &row.Well.Place
	if p.vertDatum != "" && place.VertDatum == "" && place.Elevation.Known() {
		place.VertDatum = p.vertDatum
	}
	if p.datum == position.DatumUnknown || !place.Located {
		return
	}
	at := position.LonLat{Lon: place.Lon, Lat: place.Lat}
	if place.Datum == "" {
		place.Datum = p.datum.String()
	}
	if place.Given == "" {
		place.Given = place.LonText + ", " + place.LatText
	}
	if p.datum != position.DatumNAD27 {
		return
	}
	moved, accuracyM, err := position.NAD27Roughly(at)
	if err != nil {
		row.refuse("coordinates", "are on NAD27 and outside the regions for which it can be brought to WGS 84", "give them on WGS 84 or NAD83")
		return
	}
	place.Lon, place.Lat, place.LonText, place.LatText = moved.Lon, moved.Lat, "", ""
	row.warn("coordinates", fmt.Sprintf("were moved from NAD27 to WGS 84, which is good to about %.0f m", accuracyM), "good enough to find neighbours, not to find a wellhead")
	if !place.Accuracy.Known() {
		place.Accuracy = records.Roughly(records.Length(accuracyM))
	}
}
