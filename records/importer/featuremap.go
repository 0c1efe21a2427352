package importer

import (
	"slices"
	"strings"

	"tallybook/records"
)

// featureMap reads the properties of features by a mapping, as the columns of
// a table are read. Properties that the mapping gives no meaning are read as
// without it: those of the profile are known, and the rest is kept.
type featureMap struct {
	plan *plan
	at   map[string]int // cell by property
}

// newFeatureMap settles what the mapped properties mean; nil where the mapping
// names none.
func newFeatureMap(o *Options) (*featureMap, error) {
	sheet, err := o.sheetMapping("", true)
	if err != nil || sheet == nil {
		return nil, err
	}
	if sheet.Role != Wells {
		return nil, records.Errorf(records.Invalid, "the mapping takes the rows for %s, and a feature of GeoJSON is a well", sheet.Role)
	}
	mapped := *sheet
	mapped.Columns = nil
	var names, made []string
	add := func(name string) {
		if !slices.Contains(names, name) && !slices.Contains(made, name) {
			names = append(names, name)
		}
	}
	for _, s := range sheet.Splits {
		add(s.Column)
		made = append(made, s.Into...)
	}
	for _, j := range sheet.Joins {
		for _, c := range j.Columns {
			add(c)
		}
		made = append(made, j.Into)
	}
	for _, c := range sheet.Columns {
		if c.Ditto {
			return nil, records.Errorf(records.Invalid, "%q: a feature does not repeat the one before it; take the ditto rule out", c.Column)
		}
		if c.Field != "" || c.LeaveOut || slices.Contains(names, c.Column) || slices.Contains(made, c.Column) {
			mapped.Columns = append(mapped.Columns, c)
			add(c.Column)
		}
	}
	if len(names) == 0 {
		return nil, nil
	}
	p, err := newPlan(names, &Options{}, &mapped, tableUse{role: Wells})
	if err != nil {
		return nil, err
	}
	m := &featureMap{plan: p, at: make(map[string]int)}
	for i, name := range names {
		m.at[name] = i
	}
	return m, nil
}

// properties gives the properties of a feature as the profile names them, and
// the cells that were made of the mapped ones. A mapped property that is an
// object or a list is no text, and is kept as it stands.
func (m *featureMap) properties(row *Row, raw []byte) (out []byte, cells []string, err error) {
	cells = make([]string, m.plan.inFile, len(m.plan.columns))
	var rest []records.Member
	err = eachMember(raw, func(name, value []byte) {
		n := unquote(name)
		i, mapped := m.at[n]
		switch {
		case mapped && string(value) == "null":
		case mapped && value[0] == '"':
			cells[i] = unquote(value)
		case mapped && value[0] != '{' && value[0] != '[':
			cells[i] = string(value)
		default:
			rest = append(rest, records.Member{Name: n, JSON: string(value)})
		}
	})
	if err != nil {
		return nil, nil, err
	}
	cells = m.plan.expand(row, cells)
	out = m.plan.properties(row, cells, nil)
	taken := make(map[string]bool)
	_ = eachMember(slices.Clone(out), func(name, _ []byte) { taken[unquote(name)] = true }) // it was just written
	out = out[:len(out)-1]
	for _, r := range rest {
		for taken[r.Name] { // the mapping gives it; what the feature says stays beside it
			r.Name += "_column"
		}
		taken[r.Name] = true
		out = append(appendName(out, r.Name), r.JSON...)
	}
	return append(out, '}'), cells, nil
}

// place reads a position from mapped properties where the geometry has none;
// else they are kept.
func (m *featureMap) place(row *Row, cells []string) {
	given := row.Well.Place
	if !given.Located {
		m.plan.readPlace(row, cells)
		m.plan.settleDatum(row)
		return
	}
	for _, name := range placeFields {
		i, ok := m.plan.place[name]
		if !ok || strings.TrimSpace(cells[i]) == "" {
			continue
		}
		if name == "id" {
			if row.Well.Provenance.SourceID == "" {
				row.Well.Provenance.SourceID = idText(strings.TrimSpace(cells[i]))
			}
			continue
		}
		row.Well.Extra = append(row.Well.Extra, records.Member{Name: m.plan.columns[i].name, JSON: quote(cells[i])})
	}
}
