package importer

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/lithology"
)

// plan says what becomes of each column of a table.
type plan struct {
	tableUse
	inItem map[string]bool // names that an item of the role's list may have

	columns   []column
	groups    []group // properties to be written, by the object they stand in
	place     map[string]int
	steps     []step         // what makes further columns of those in the header
	inFile    int            // how many columns the header names; the rest is made
	ditto     bool           // whether a column may say what the row above says
	datum     position.Datum // of the positions, as a mapping states it
	vertDatum string
	notes     []string

	depthColumns []int // of depths, to hold against one another
	logColumn    int   // of free-text logs, -1 for none
	vocabulary   *lithology.Vocabulary
	logUnit      records.Unit // of their depths, NoUnit where nobody said
	legalColumn  int          // of legal land descriptions, -1 for none
	area         *Area        // where the wells lie, nil where that is not known
	statedArea   bool         // whether the mapping says so
	mends        []string     // of positions, as the mapping decides
	semicolons   bool         // the fields are parted by semicolons
	habits       *Habits      // of the source, nil where it was not surveyed

	used map[string]bool // names of properties that a row's object may have
}

// extraColumn is the column in which our own tables hold what the model has no
// place for, as a JSON object.
const extraColumn = "extra"

// column is one column of the table.
type column struct {
	name     string
	property string // as the profile names it, in its group; or the column's own name
	field    string // the field that it gives, "" for none
	kind     fieldKind
	mapped   bool
	left     bool // neither read nor kept: left out, or cut or joined into others
	order    dateOrder
	pivot    int            // of years of two digits
	serials  int            // 1900 or 1904 where day numbers are dates
	decimal  string         // point, comma, "" where nobody said
	unit     records.Unit   // of a quantity
	unsaid   bool           // nobody said the unit
	rule     *ColumnMapping // what a mapping says of it, nil for nothing
	unknown  map[string]bool
}

// group is one object of the record and the columns that go into it.
type group struct {
	name    string // "" for the record itself
	list    bool
	columns []int
}

// tableUse says what the rows of a table are.
type tableUse struct {
	role  Role
	apart bool   // parts of wells whose own rows stand in another table
	key   string // the column that says which well a row belongs to
}

// itemNames are the names that the profile has in the items of a list.
func itemNames(role Role) map[string]bool {
	names := make(map[string]bool)
	for _, p := range records.Profile() {
		tail, ok := strings.CutPrefix(p.Name, string(role)+"[].")
		if !ok {
			continue
		}
		names[tail] = true
		if p.Quantity != nil {
			for _, n := range p.Quantity.Names {
				names[strings.TrimPrefix(n, string(role)+"[].")] = true
			}
		}
	}
	return names
}

// planner settles what becomes of the columns.
type planner struct {
	*plan
	fields  []field
	taken   map[string]int // column by field
	units   map[string]unitChoice
	inGroup map[string]int
}

// newPlan settles the columns of a header: by what a mapping says of them,
// then by the options, and where there is no mapping by their names.
//
// A table of parts of wells (role is not Wells) gives the list of its role; its
// columns are found by their names with and without the role before them.
func newPlan(header []string, o *Options, sheet *SheetMapping, use tableUse) (*plan, error) {
	p := &planner{
		plan:   &plan{columns: make([]column, len(header)), place: make(map[string]int), inFile: len(header), tableUse: use, logColumn: -1, legalColumn: -1, vocabulary: vocabularyOf(o), inItem: itemNames(use.role)},
		fields: tableFields(), taken: make(map[string]int), inGroup: make(map[string]int),
	}
	if err := p.nameColumns(header); err != nil {
		return nil, err
	}
	var err error
	if p.units, err = readUnits(p.fields, o.Units); err != nil {
		return nil, err
	}
	if sheet != nil {
		if err := p.byMapping(sheet); err != nil {
			return nil, err
		}
	}
	if err := p.byOptions(o.Columns); err != nil {
		return nil, err
	}
	if sheet == nil {
		if err := p.byNames(); err != nil {
			return nil, err
		}
	}
	for name := range p.units {
		if _, ok := p.taken[name]; !ok {
			return nil, records.Errorf(records.Invalid, "a unit is given for %s, which no column holds; say which one does (%s=COLUMN)", name, name)
		}
	}
	// A letter, or a list of something else, would make records of nothing.
	if len(p.taken) == 0 {
		return nil, records.Errorf(records.Invalid, "none of the columns (%s) is one that is known; if it is a table of wells, say which column holds what (such as lon=X, lat=Y, depth_to_bedrock=ROCK)", clip(strings.Join(header, ", ")))
	}
	if err := p.checkApart(); err != nil {
		return nil, err
	}
	p.keepRest(p.inGroup)
	return p.plan, nil
}

// byOptions settles the columns that Options.Columns names.
func (p *planner) byOptions(columns map[string]string) error {
	for _, name := range sortedKeys(columns) {
		f, unit, ok := fieldAndUnit(p.fields, name)
		if !ok {
			return unknown("field", name, fieldNames(p.fields))
		}
		i, err := p.find(columns[name])
		if err != nil {
			return err
		}
		if p.columns[i].mapped {
			return records.Errorf(records.Invalid, "the column %q is asked to give two fields, %s among them; a column gives one", p.columns[i].name, f.name)
		}
		if err := p.give(i, f, unit); err != nil {
			return err
		}
	}
	return nil
}

// byNames settles the columns whose names are those of fields.
func (p *planner) byNames() error {
	for i := range p.columns {
		if p.columns[i].mapped {
			continue
		}
		f, unit, ok := field{}, records.NoUnit, false
		if p.role != Wells {
			f, unit, ok = fieldAndUnit(p.fields, string(p.role)+"."+p.columns[i].name)
		}
		if !ok && !p.apart {
			f, unit, ok = fieldAndUnit(p.fields, p.columns[i].name)
		}
		if !ok {
			continue
		}
		if other, already := p.taken[f.name]; already {
			p.notes = append(p.notes, fmt.Sprintf("column %q says %s, which is read from %q; it is kept as it stands and not used", p.columns[i].name, f.name, p.columns[other].name))
			continue
		}
		if err := p.give(i, f, unit); err != nil {
			return err
		}
	}
	return nil
}

// give gives a column to a field that no other gives.
func (p *planner) give(i int, f field, unit records.Unit) error {
	if other, twice := p.taken[f.name]; twice { // asked for under two of its names
		return records.Errorf(records.Invalid, "the field %s is given by two columns, %q and %q; name one of them", f.name, p.columns[other].name, p.columns[i].name)
	}
	p.taken[f.name] = i
	return p.assign(i, f, unit, p.units, p.inGroup)
}

// checkApart refuses what a table of parts alone cannot say.
func (p *planner) checkApart() error {
	if !p.apart {
		return nil
	}
	for i := range p.columns {
		if c := &p.columns[i]; c.mapped && !strings.HasPrefix(c.field, string(p.role)+".") {
			return records.Errorf(records.Invalid, "the column %q gives %s, which a row of %s cannot say; the wells have a table of their own: leave the column as it stands", c.name, c.field, p.role)
		}
	}
	return nil
}

// maxTableColumns is how many columns a table may have. Ours, no source.
const maxTableColumns = 4000

// nameColumns takes over the header's names and refuses what cannot be one.
func (p *plan) nameColumns(header []string) error {
	if len(header) > maxTableColumns {
		return records.Errorf(records.TooLarge, "the table has %d columns, more than %d; it does not look like one of wells", len(header), maxTableColumns)
	}
	seen := make(map[string]int)
	numbers := 0
	for i, h := range header {
		name := strings.TrimSpace(h)
		if name == "" {
			name = fmt.Sprintf("column_%d", i+1)
		}
		if len(name) > 200 {
			return records.Errorf(records.Invalid, "the name of column %d is %d bytes long: the first line does not look like a header", i+1, len(name))
		}
		if first, twice := seen[name]; twice {
			return records.Errorf(records.Invalid, "columns %d and %d are both named %q; give each its own name", first+1, i+1, name)
		}
		seen[name] = i
		if strings.Trim(name, "0123456789.,+- ") == "" {
			numbers++
		}
		p.columns[i].name = name
	}
	if numbers > 0 && numbers*2 >= len(header) {
		return records.Errorf(records.Invalid, "the first line (%s) holds numbers, not the names of columns; put a header above it", clip(strings.Join(header, ", ")))
	}
	return nil
}

// find is the column of a name, to the letter or else by its plain name.
func (p *plan) find(name string) (int, error) {
	if i := slices.IndexFunc(p.columns, func(c column) bool { return c.name == name }); i >= 0 {
		return i, nil
	}
	found, plain := -1, plainName(name)
	for i, c := range p.columns {
		if plainName(c.name) == plain {
			if found >= 0 {
				return 0, records.Errorf(records.Invalid, "column %q could be %q or %q; write it as the header does", name, p.columns[found].name, c.name)
			}
			found = i
		}
	}
	if found >= 0 {
		return found, nil
	}
	var names []string
	for _, c := range p.columns {
		names = append(names, c.name)
	}
	return 0, unknown("column", name, names)
}

// assign gives a column to a field.
func (p *plan) assign(i int, f field, unit records.Unit, units map[string]unitChoice, inGroup map[string]int) error {
	c := &p.columns[i]
	c.mapped, c.left, c.kind, c.field = true, false, f.kind, f.name
	choice, chosen := units[f.name]
	switch f.kind {
	case placeField:
		p.place[f.name] = i
		return nil
	case logField:
		p.logColumn, p.logUnit = i, unit
		if choice.unit != records.NoUnit {
			p.logUnit = choice.unit
		}
		return nil
	case legalField:
		p.legalColumn = i
		return nil
	case dateField:
		if chosen {
			c.order = choice.order
		}
	case quantityField:
		notes := len(p.notes)
		u, err := p.settleUnit(c.name, f, unit, choice.unit)
		if err != nil {
			return err
		}
		if u != records.NoUnit {
			f.name += "_" + u.Suffix()
		}
		c.unit, c.unsaid = u, len(p.notes) > notes
		if depthFields[c.field] {
			p.depthColumns = append(p.depthColumns, i)
		}
	}
	c.property = f.name
	if head, tail, nested := strings.Cut(f.name, "."); nested {
		c.property = tail
		p.join(head, f.list, i, inGroup)
		return nil
	}
	p.join("", false, i, inGroup)
	return nil
}

// depthFields are depths within a hole, none of which can be deeper than it.
var depthFields = wordsOf("total_depth completed_depth depth_to_bedrock static_level casing.to pump.set_depth")

// vocabularyOf is the office's vocabulary where records are read with it, else
// the default one.
func vocabularyOf(o *Options) *lithology.Vocabulary {
	if v, ok := o.Validate.Reader.(*lithology.Vocabulary); ok && v != nil {
		return v
	}
	return lithology.Default()
}

// settleUnit takes the unit that was asked for, else the one that the field's
// or the column's name ends in, else the base unit, and says so.
func (p *plan) settleUnit(columnName string, f field, named, asked records.Unit) (records.Unit, error) {
	header := records.NoUnit
	if name := plainName(columnName); named == records.NoUnit {
		if k := strings.LastIndexByte(name, '_'); k > 0 {
			header, _ = unitOf(f.dimension, name[k+1:])
		}
	}
	if named == records.NoUnit {
		named = header
	}
	switch {
	case asked != records.NoUnit && named != records.NoUnit && asked != named:
		return asked, records.Errorf(records.Invalid, "the column %q says %s and %s=%s was asked for; rename the column or take back the unit",
			columnName, named.Symbol(), f.name, asked.Symbol())
	case asked != records.NoUnit:
		return asked, nil
	case named != records.NoUnit:
		return named, nil
	}
	base := f.dimension.Base()
	if base == records.NoUnit {
		return base, nil
	}
	p.notes = append(p.notes, fmt.Sprintf("no unit is said for column %q (%s): numbers without one are read as %s", columnName, f.name, base.Symbol()))
	return base, nil
}

// join puts a column into the object it belongs to.
func (p *plan) join(name string, list bool, i int, inGroup map[string]int) {
	g, ok := inGroup[name]
	if !ok {
		g = len(p.groups)
		inGroup[name] = g
		p.groups = append(p.groups, group{name: name, list: list})
	}
	p.groups[g].columns = append(p.groups[g].columns, i)
}

// keepRest has the columns that nobody asked for kept as they are, under
// names that no property of the profile has.
func (p *plan) keepRest(inGroup map[string]int) {
	p.used = propertyNames()
	for i := range p.columns {
		c := &p.columns[i]
		if c.mapped || c.left {
			continue
		}
		if c.name == extraColumn {
			c.kind = extraField
		}
		c.property = c.name
		if p.apart {
			if c.name == p.key {
				c.left = true // the well says it
				continue
			}
			for p.inItem[c.property] {
				c.property += "_column"
			}
			p.inItem[c.property] = true
			p.join(string(p.role), true, i, inGroup)
			continue
		}
		for p.used[c.property] {
			c.property += "_column"
		}
		p.used[c.property] = true
		p.join("", false, i, inGroup)
	}
}

// propertyNames are the names that the profile has at its top.
func propertyNames() map[string]bool {
	names := map[string]bool{platesProperty: true, FeatureMember: true, LogProperty: true, LegalProperty: true}
	for _, p := range records.Profile() {
		if strings.ContainsAny(p.Name, ".[") {
			continue
		}
		names[p.Name] = true
		if p.Quantity != nil {
			for _, n := range p.Quantity.Names {
				names[n] = true
			}
		}
	}
	return names
}

func unknown(what, name string, names []string) error {
	message := fmt.Sprintf("there is no %s %q", what, name)
	if near := nearest(name, names); len(near) > 0 {
		message += "; did you mean " + strings.Join(near, " or ") + "? There are: "
	} else {
		message += "; there are: "
	}
	return &records.Error{Code: records.Invalid, Message: message + strings.Join(names, ", ")}
}

func fieldNames(fields []field) []string {
	var names []string
	for _, f := range fields {
		if !f.beside {
			names = append(names, f.name)
		}
	}
	return names
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// unitChoice is what Options.Units says of one field.
type unitChoice struct {
	unit  records.Unit
	order dateOrder
}

func readUnits(fields []field, asked map[string]string) (map[string]unitChoice, error) {
	out := make(map[string]unitChoice)
	for _, name := range sortedKeys(asked) {
		f, named, ok := fieldAndUnit(fields, name)
		if !ok {
			return nil, unknown("field", name, fieldNames(fields))
		}
		choice, err := chooseUnit(f, named, name, asked[name])
		if err != nil {
			return nil, err
		}
		out[f.name] = choice
	}
	return out, nil
}

// chooseUnit reads what is said of a field's unit or, for a date, of the order
// of its parts. named is the unit that the field's name ends in, and name how
// it was written.
func chooseUnit(f field, named records.Unit, name, text string) (choice unitChoice, err error) {
	if text == "" {
		choice.unit = named
		return choice, nil
	}
	ok := false
	switch f.kind {
	case dateField:
		if choice.order, ok = parseDateOrder(text); !ok {
			return choice, records.Errorf(records.Invalid, "the order of %s is %q; use ymd, mdy or dmy", f.name, text)
		}
	case quantityField, logField:
		if choice.unit, ok = unitOf(f.dimension, text); !ok {
			return choice, records.Errorf(records.Invalid, "%q is not a unit of %s; use one of %s", text, f.name, strings.Join(unitSymbols(f.dimension), ", "))
		}
		if named != records.NoUnit && named != choice.unit {
			return choice, records.Errorf(records.Invalid, "%s=%s names two units", name, text)
		}
	default:
		return choice, records.Errorf(records.Invalid, "%s has no unit", f.name)
	}
	return choice, nil
}

func unitSymbols(d records.Dimension) []string {
	var out []string
	for _, u := range d.Units() {
		out = append(out, u.Symbol())
	}
	return out
}
