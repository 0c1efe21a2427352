package importer

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// MappingVersion is the version of the form in which mappings are written.
const MappingVersion = 1

// Mapping says what the sheets and columns of a source mean. It is made by
// Guess, by a person or by an earlier intake, is written as JSON, and is
// strict: members that are not known are refused, so that a misspelt rule is
// not passed over.
//
// Columns that it does not name are kept with each record as they stand.
type Mapping struct {
	Version int            `json:"version"`        // MappingVersion
	Name    string         `json:"name,omitempty"` // under which it is remembered
	Sheets  []SheetMapping `json:"sheets"`
}

// SheetMapping is what one table means: a sheet of a workbook, or a file.
type SheetMapping struct {
	// Sheet is the sheet's name, or that of the file's part (strata for
	// --with strata=FILE); "" is the only table of a source.
	Sheet string `json:"sheet,omitempty"`
	// Role says what a row of it is: a well, or a part of one.
	Role Role `json:"role"`
	// Key is the column that says which well a row belongs to: the same in all
	// sheets. Not needed where wells stand in the only sheet, one a row.
	Key string `json:"key,omitempty"`
	// Header is the row that names the columns, from 1; 0: told by itself.
	Header int `json:"header,omitzero"`

	Columns []ColumnMapping `json:"columns,omitempty"`
	// Splits cut columns into several, and Joins make one of several; what
	// they make may be named in Columns like any other column.
	Splits []ColumnSplit `json:"splits,omitempty"`
	// Area is where the wells lie. A position outside of it that would lie
	// within with longitude and latitude changed about ("swap"), or with a sign
	// that was lost put back ("sign"), is refused, or mended where Mend names
	// what to mend.
	Area  *Area        `json:"area,omitempty"`
	Mend  []string     `json:"mend,omitempty"`
	Joins []ColumnJoin `json:"joins,omitempty"`
}

// ColumnMapping is what one column means.
type ColumnMapping struct {
	Column string `json:"column"` // its name in the header, or as a split or join made it
	// Field is the property that it holds (total_depth, strata.top, lon, id…);
	// "" keeps the column as it stands. FieldList lists them.
	Field string `json:"field,omitempty"`
	// Unit is what numbers without a unit are in.
	Unit string `json:"unit,omitempty"`
	// Datum is the horizontal datum of a column of coordinates, the vertical
	// one of an elevation.
	Datum string `json:"datum,omitempty"`
	// Order is the order of the parts of a date: ymd, mdy or dmy.
	Order string `json:"order,omitempty"`
	// Pivot is the first year of the hundred that years of two digits lie in:
	// with 1930, 87 is 1987 and 05 is 2005. Without it they are refused.
	Pivot int `json:"pivot,omitzero"`
	// Serials says from which year a spreadsheet's day numbers count, "1900" or
	// "1904". Without it they are refused.
	Serials string `json:"serials,omitempty"`
	// Decimal says how decimals are written, "point" or "comma", so that 1,250
	// can be read.
	Decimal string `json:"decimal,omitempty"`
	// Unknown are the texts that stand for a value that nobody knows (99, 0,
	// N/A), compared without regard to case and to space around them.
	Unknown []string `json:"unknown,omitempty"`
	// Ditto has marks of repetition (", do., ditto, same) stand for what the
	// row above says.
	Ditto bool `json:"ditto,omitzero"`
	// LeaveOut has the column neither read nor kept.
	LeaveOut bool `json:"leave_out,omitzero"`
}

// ColumnSplit cuts one column into several, by what parts them or by a
// pattern.
type ColumnSplit struct {
	Column string `json:"column"`
	// By parts the pieces; the last takes what is left. Fewer pieces than
	// names leave the last names empty.
	By string `json:"by,omitempty"`
	// Pattern is a regular expression (RE2 syntax) whose groups are the
	// pieces; a text that does not match is refused.
	Pattern string   `json:"pattern,omitempty"`
	Into    []string `json:"into"` // names of the columns that it makes
}

// ColumnJoin makes one column of several, leaving out those that are empty.
type ColumnJoin struct {
	Columns []string `json:"columns"`
	With    string   `json:"with,omitempty"` // what stands between them
	Into    string   `json:"into"`
}

// Role says what a row of a table is.
type Role string

// The roles. All but Wells and Skip are lists of a well's record, named as
// the profile names them.
const (
	Wells       Role = "wells"
	StrataRows  Role = "strata"
	CasingRows  Role = "casing"
	ScreenRows  Role = "screens"
	GroutRows   Role = "grout"
	BoreRows    Role = "bores"
	StrikeRows  Role = "strikes"
	LevelRows   Role = "static_levels"
	TestRows    Role = "yield_tests"
	QualityRows Role = "quality"
	TreatRows   Role = "treatments"
	RodRows     Role = "rods"
	WorkRows    Role = "works"
	ShiftRows   Role = "shifts"
	PickRows    Role = "own_picks"
	DoubtRows   Role = "unreliable"
	Skip        Role = "skip" // a sheet that is not read
)

// Roles lists the roles, Wells first.
func Roles() []Role {
	return []Role{Wells, StrataRows, CasingRows, StrikeRows, LevelRows, ScreenRows, GroutRows, BoreRows,
		TestRows, QualityRows, TreatRows, RodRows, WorkRows, ShiftRows, PickRows, DoubtRows, Skip}
}

// Label says the role in words, for a person who chooses.
func (r Role) Label() string {
	switch r {
	case Wells:
		return "wells, one a row"
	case StrataRows:
		return "strata (the ground as logged)"
	case StrikeRows:
		return "water strikes"
	case PickRows:
		return "own picks of a reviewer"
	case DoubtRows:
		return "what is marked unreliable"
	case LevelRows:
		return "water levels"
	case BoreRows:
		return "hole sizes"
	case TestRows:
		return "yield tests"
	case QualityRows:
		return "water quality"
	case TreatRows:
		return "treatments"
	case WorkRows:
		return "works done"
	case Skip:
		return "not read"
	}
	return string(r)
}

// maxMappingBytes bounds the text of a mapping, and maxMappingParts the number
// of its sheets, columns and so on together.
const (
	maxMappingBytes = 1 << 20
	maxMappingParts = 20000
)

// ReadMapping reads a mapping from JSON and checks that it holds together. It
// says what is wrong where it does not.
func ReadMapping(text []byte) (*Mapping, error) {
	if len(text) > maxMappingBytes {
		return nil, records.Errorf(records.TooLarge, "the mapping is %d bytes long; at most %d are read", len(text), maxMappingBytes)
	}
	var m Mapping
	if err := json.Unmarshal(bytes.TrimPrefix(text, utf8BOM), &m, json.RejectUnknownMembers(true)); err != nil {
		return nil, records.Errorf(records.Invalid, "the mapping cannot be read: %s", mappingFault(err))
	}
	if err := m.Check(); err != nil {
		return nil, err
	}
	return &m, nil
}

// mappingFault says in one line where the JSON of a mapping is wrong.
func mappingFault(err error) string {
	s := err.Error()
	var wrong *json.SemanticError
	switch {
	case !errors.As(err, &wrong):
	case wrong.Err != nil:
		s = fmt.Sprintf("%v at %s", wrong.Err, orWhole(wrong.JSONPointer))
	default:
		s = fmt.Sprintf("a %s stands at %s, where it cannot", wrong.JSONKind, orWhole(wrong.JSONPointer))
	}
	if i := strings.IndexByte(s, '\n'); i >= 0 {
		s = s[:i]
	}
	return strings.TrimPrefix(s, "json: ")
}

func orWhole(at jsontext.Pointer) string {
	if at == "" {
		return "its beginning"
	}
	return string(at)
}

// JSON writes the mapping so that a person can read and edit it.
func (m *Mapping) JSON() []byte {
	b, err := json.Marshal(m, jsontext.WithIndent("  "), json.Deterministic(true))
	if err != nil {
		return nil // texts and numbers alone always have a JSON
	}
	return append(b, '\n')
}

// Check says what is wrong with the mapping by itself, whatever the source.
func (m *Mapping) Check() error {
	switch {
	case m.Version != MappingVersion:
		return records.Errorf(records.Invalid, `the mapping is of version %d; write "version": %d, the one that is read here`, m.Version, MappingVersion)
	case len(m.Sheets) == 0:
		return records.Errorf(records.Invalid, `the mapping has no sheets; give one with "role": "wells" and its columns`)
	}
	seen, wells, parts := make(map[string]bool), 0, 0
	for i := range m.Sheets {
		s := &m.Sheets[i]
		parts += 1 + len(s.Columns) + len(s.Splits) + len(s.Joins)
		if parts > maxMappingParts {
			return records.Errorf(records.TooLarge, "the mapping has more than %d parts", maxMappingParts)
		}
		if seen[s.Sheet] {
			return records.Errorf(records.Invalid, "the mapping has two sheets named %q; each is said once", s.Sheet)
		}
		seen[s.Sheet] = true
		if s.Role == Wells {
			wells++
		}
		if err := s.check(); err != nil {
			return records.Errorf(records.Invalid, "%s: %s", s.title(), records.MessageOf(err))
		}
	}
	return m.checkTogether(wells)
}

// checkTogether judges the sheets beside each other.
func (m *Mapping) checkTogether(wells int) error {
	read := 0
	for i := range m.Sheets {
		if m.Sheets[i].Role != Skip {
			read++
		}
	}
	switch {
	case wells > 1:
		return records.Errorf(records.Invalid, "the mapping has %d sheets of wells; take them in one after the other", wells)
	case read == 0:
		return records.Errorf(records.Invalid, "the mapping reads no sheet: every role is skip")
	case wells == 0 && read > 1:
		return records.Errorf(records.Invalid, `none of the sheets is of wells; give the one with a well a row "role": "wells"`)
	}
	for i := range m.Sheets {
		s := &m.Sheets[i]
		if s.Role != Skip && s.Key == "" && (read > 1 || s.Role != Wells) {
			return records.Errorf(records.Invalid, `%s: no column is said to tell which well a row belongs to; give it as "key"`, s.title())
		}
	}
	return nil
}

func (s *SheetMapping) title() string {
	if s.Sheet == "" {
		return "the table"
	}
	return fmt.Sprintf("sheet %q", s.Sheet)
}

// check judges one sheet.
func (s *SheetMapping) check() error {
	if !slices.Contains(Roles(), s.Role) {
		var words []string
		for _, r := range Roles() {
			words = append(words, string(r))
		}
		return unknown("role", string(s.Role), words)
	}
	if s.Header < 0 || s.Header > maxHeaderRow {
		return records.Errorf(records.Invalid, "the header is said to be row %d; it must be one of the first %d", s.Header, maxHeaderRow)
	}
	if s.Area != nil {
		if err := s.Area.check(); err != nil {
			return err
		}
	}
	for _, m := range s.Mend {
		if m != mendSwap && m != mendSign {
			return records.Errorf(records.Invalid, "there is no mend %q; use swap or sign", m)
		}
	}
	if len(s.Mend) > 0 && s.Area == nil {
		return records.Errorf(records.Invalid, `positions are to be mended and it is not said where the wells lie; give "area" with west, south, east and north`)
	}
	fields := tableFields()
	columns, taken := make(map[string]bool), make(map[string]string)
	for i := range s.Columns {
		c := &s.Columns[i]
		if c.Column == "" {
			return records.Errorf(records.Invalid, "column %d of the list has no name", i+1)
		}
		if columns[c.Column] {
			return records.Errorf(records.Invalid, "the column %q is said twice; a column gives one field, and where the file names two columns alike each needs a name of its own in its header", c.Column)
		}
		columns[c.Column] = true
		f, err := s.checkColumn(fields, c)
		if err != nil {
			return err
		}
		if other, twice := taken[f.name]; twice && f.name != "" {
			return records.Errorf(records.Invalid, "the field %s is given by two columns, %q and %q; name one of them", f.name, other, c.Column)
		}
		taken[f.name] = c.Column
	}
	for i := range s.Splits {
		if _, err := s.Splits[i].compile(); err != nil {
			return err
		}
	}
	for i := range s.Joins {
		if j := &s.Joins[i]; len(j.Columns) < 1 || j.Into == "" {
			return records.Errorf(records.Invalid, `a join needs the columns that it joins and a name for what it makes ("into")`)
		}
	}
	return nil
}

// checkColumn judges what is said of one column by itself.
func (s *SheetMapping) checkColumn(fields []field, c *ColumnMapping) (field, error) {
	if c.Field == "" {
		if c.Unit != "" || c.Order != "" || c.Datum != "" || c.Pivot != 0 || c.Serials != "" || c.Decimal != "" {
			return field{}, records.Errorf(records.Invalid, "the column %q has a unit, an order or a datum and no field", c.Column)
		}
		return field{}, nil
	}
	if c.LeaveOut {
		return field{}, records.Errorf(records.Invalid, "the column %q is to be left out and to give %s; one of the two", c.Column, c.Field)
	}
	f, named, ok := fieldAndUnit(fields, c.Field)
	if !ok {
		return f, unknown("field", c.Field, fieldNames(fields))
	}
	if _, err := chooseUnit(f, named, c.Field, c.unitText()); err != nil {
		return f, err
	}
	if err := c.checkHabits(f); err != nil {
		return f, err
	}
	if c.Datum != "" {
		if err := checkDatum(f, c.Datum); err != nil {
			return f, err
		}
	}
	return f, nil
}

// unitText is what is said of a column's unit or, for a date, of its order.
func (c *ColumnMapping) unitText() string {
	if c.Unit == "" {
		return c.Order
	}
	return c.Unit
}

// SheetFor is what the mapping says of a sheet: the one of its name, else the
// one of its role (as --with strata=FILE names it), else what it says of the
// only table or of the wells where alone says that the source has one table;
// nil where it says nothing.
func (m *Mapping) SheetFor(name string, alone bool) *SheetMapping {
	for i := range m.Sheets {
		if m.Sheets[i].Sheet == name {
			return &m.Sheets[i]
		}
	}
	for i := range m.Sheets {
		if s := &m.Sheets[i]; name != "" && (strings.EqualFold(s.Sheet, name) || string(s.Role) == strings.ToLower(name)) {
			return s
		}
	}
	if !alone {
		return nil
	}
	for i := range m.Sheets {
		if s := &m.Sheets[i]; s.Role == Wells || s.Sheet == "" || len(m.Sheets) == 1 {
			return s
		}
	}
	return nil
}

// maxHeaderRow is how far down a header is looked for.
const maxHeaderRow = 50

// checkHabits judges what is said of how a column's values are written.
func (c *ColumnMapping) checkHabits(f field) error {
	switch {
	case (c.Pivot != 0 || c.Serials != "") && f.kind != dateField:
		return records.Errorf(records.Invalid, "%s is no date: a pivot or serials belong to dates", f.name)
	case c.Pivot != 0 && (c.Pivot < 1700 || c.Pivot > 2100):
		return records.Errorf(records.Invalid, "the pivot %d of %s is no year; with 1930, 87 is read as 1987 and 05 as 2005", c.Pivot, f.name)
	case c.Serials != "" && c.Serials != "1900" && c.Serials != "1904":
		return records.Errorf(records.Invalid, "the serials of %s are %q; use 1900 or 1904", f.name, c.Serials)
	case c.Decimal != "" && f.kind != quantityField:
		return records.Errorf(records.Invalid, "%s is no quantity: a decimal sign belongs to quantities", f.name)
	case c.Decimal != "" && c.Decimal != "point" && c.Decimal != "comma":
		return records.Errorf(records.Invalid, "the decimal sign of %s is %q; use point or comma", f.name, c.Decimal)
	}
	return nil
}
