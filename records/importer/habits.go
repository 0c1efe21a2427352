package importer

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"tallybook/records"
)

// Habits are the ways of a source that show only when many of its rows are
// seen together: where its wells lie, in which order its dates are written,
// which numbers stand for 'unknown'. They are proposed to a person and never
// change a value by themselves.
type Habits struct {
	Rows      int64 // how many rows were looked at
	Whole     bool  // whether those are all
	Area      *Area // where the wells lie together; nil where they do not
	Proposals []Proposal

	columns []columnHabits
	place   placeHabits
	depths  [][]float64 // of rows: the depth columns in metres, 0 for none
}

// Proposal is a decision that the source itself speaks for, for a person to
// take: Apply writes it into the mapping of the sheet.
type Proposal struct {
	Sheet  string // the table that it is about, "" for the only one
	Kind   string // order, pivot, serials, decimal, unknown, unit, position
	Column string // the column that it is about; "" for the position
	Rows   int64  // how many rows it would settle
	Why    string // what speaks for it, in a sentence

	value string
	mends []string
	area  *Area
}

// ApplyTo writes the decision into a mapping, and says whether the mapping has
// the sheet that it is about.
func (p Proposal) ApplyTo(m *Mapping) bool {
	s := m.SheetFor(p.Sheet, p.Sheet == "" || len(m.Sheets) == 1)
	if s == nil {
		return false
	}
	p.Apply(s)
	return true
}

// Apply writes the decision into what a mapping says of the sheet.
func (p Proposal) Apply(s *SheetMapping) {
	if p.Kind == "position" {
		s.Area, s.Mend = p.area, p.mends
		return
	}
	for i := range s.Columns {
		c := &s.Columns[i]
		if c.Column != p.Column {
			continue
		}
		switch p.Kind {
		case "order":
			c.Order = p.value
		case "pivot":
			c.Pivot, _ = strconv.Atoi(p.value)
		case "serials":
			c.Serials = p.value
		case "decimal":
			c.Decimal = p.value
		case "unit":
			c.Unit = p.value
		case "unknown":
			if !slices.Contains(c.Unknown, p.value) {
				c.Unknown = append(c.Unknown, p.value)
			}
		}
	}
}

// columnHabits is what is counted of one column.
type columnHabits struct {
	filled                                            int64
	monthFirst, dayFirst, twoWays, shortYears, serial int64 // dates
	commas, points, either                            int64 // 18,9; 18.9; 1,250
	codes                                             map[string]int64
	values                                            []float64              // numbers that are no codes
	named                                             map[records.Unit]int64 // units written behind numbers
}

// placeHabits are positions as they were read, and those that cannot be one.
type placeHabits struct {
	pairs [][2]float64
}

// What a survey reads at most, so that it takes no longer for a million rows
// than for fifty thousand.
const (
	surveyRows   = 50000
	surveySheet  = 5000 // of a sheet of a workbook, or of one of several tables
	surveyValues = 4000
)

// surveyPart is survey for one of the tables of a source.
func surveyPart(p *tablePart) (*Habits, error) {
	rows, err := p.open(nil)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	h := &Habits{columns: make([]columnHabits, len(p.plan.columns))}
	for h.Rows < surveySheet {
		r, err := rows.next()
		if errors.Is(err, io.EOF) {
			h.Whole = true
			break
		}
		if err != nil {
			return nil, err
		}
		if r.cells == nil || blank(r.cells) {
			continue
		}
		h.Rows++
		var row Row
		h.observe(p.plan, p.plan.expand(&row, slices.Clone(r.cells)))
	}
	h.conclude(p.plan, 0)
	for i := range h.Proposals {
		h.Proposals[i].Sheet = p.name
	}
	return h, nil
}

// survey goes through the first rows of a table and counts its habits.
func survey(path string, o Options) (*Habits, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, readError(o.Name, err)
	}
	defer f.Close()
	s, err := NewSource(f, o)
	if err != nil {
		return nil, err
	}
	t, ok := s.rows.(*table)
	if !ok {
		return nil, nil
	}
	h := &Habits{columns: make([]columnHabits, len(t.plan.columns))}
	var row Row
	for h.Rows < surveyRows {
		row = Row{}
		c, err := t.record()
		if errors.Is(err, io.EOF) {
			h.Whole = true
			break
		}
		if err != nil {
			return nil, err
		}
		if c.fault != "" || c.size > int64(len(c.raw)) {
			continue
		}
		row.Raw = c.raw
		text, ok := decodeText(&row, o.Encoding)
		if !ok {
			continue
		}
		cells, problem := appendCells(nil, text, t.delimiter)
		if problem != "" || len(cells) != t.plan.inFile {
			continue
		}
		h.Rows++
		h.observe(t.plan, t.plan.expand(&row, cells))
	}
	h.conclude(t.plan, t.delimiter)
	return h, nil
}

// observe counts one row.
func (h *Habits) observe(p *plan, cells []string) {
	for i := range p.columns {
		c := &p.columns[i]
		if !c.mapped || i >= len(cells) {
			continue
		}
		if text := strings.TrimSpace(cells[i]); text != "" {
			h.columns[i].observe(c, text)
		}
	}
	if lon, lat, ok := p.writtenPair(cells); ok && (lon != 0 || lat != 0) {
		h.place.pairs = append(h.place.pairs, [2]float64{lon, lat})
	}
	if len(h.depths) < surveyValues && len(p.depthColumns) > 1 {
		line := make([]float64, len(p.depthColumns))
		for k, i := range p.depthColumns {
			if a, err := records.ParseAmount(strings.TrimSpace(cells[i]), records.DimLength, p.columns[i].unit); err == nil && a.Qualifier == records.Exact && a.Given.Unit == p.columns[i].unit {
				line[k] = a.Value
			}
		}
		h.depths = append(h.depths, line)
	}
}

// codeTexts are what people write for a number that nobody knows. Common
// practice, no source.
var codeTexts = wordsOf("0 -1 -9 -99 -999 -9999 99 999 9999 99999 999.9 99.9 -99.9 88 888")

func wordsOf(s string) map[string]bool {
	m := make(map[string]bool)
	for _, w := range strings.Fields(s) {
		m[w] = true
	}
	return m
}

func (h *columnHabits) observe(c *column, text string) {
	h.filled++
	switch c.kind {
	case dateField:
		h.date(c, text)
	case quantityField:
		h.number(text)
		h.unit(c, text)
	}
}

func (h *columnHabits) date(c *column, text string) {
	pivot := c.pivot
	if pivot == 0 {
		pivot = usualPivot
	}
	read := func(order dateOrder) bool {
		_, message := dateRule{order, pivot, c.serials}.read(text)
		return message == ""
	}
	if len(text) == 5 && strings.Trim(text, "0123456789") == "" {
		h.serial++
		return
	}
	m, d := read(monthDayYear), read(dayMonthYear)
	switch {
	case m && d:
		if _, message := (dateRule{orderUnknown, pivot, 0}).read(text); message != "" {
			h.twoWays++
		}
	case m:
		h.monthFirst++
	case d:
		h.dayFirst++
	}
	if m || d {
		if _, message := (dateRule{monthDayYear, 0, 0}).read(text); message != "" {
			if _, message = (dateRule{dayMonthYear, 0, 0}).read(text); message != "" {
				h.shortYears++
			}
		}
	}
}

// unit counts the unit that is written behind a number.
func (h *columnHabits) unit(c *column, text string) {
	last := text[len(text)-1]
	if isDigit(last) || c.unit == records.NoUnit || !c.unsaid {
		return
	}
	d := c.unit.Dimension()
	units := d.Units()
	other := units[0]
	if other == c.unit && len(units) > 1 {
		other = units[1]
	}
	a, errA := records.ParseAmount(text, d, c.unit)
	b, errB := records.ParseAmount(text, d, other)
	if errA != nil || errB != nil || !a.Known() || a.Given.Unit != b.Given.Unit {
		return // no unit is written
	}
	if h.named == nil {
		h.named = make(map[records.Unit]int64)
	}
	h.named[a.Given.Unit]++
}

// usualPivot is what is proposed for years of two digits: 1930 to 2029. Ours,
// no source.
const usualPivot = 1930

func (h *columnHabits) number(text string) {
	if codeTexts[text] {
		if h.codes == nil {
			h.codes = make(map[string]int64)
		}
		h.codes[text]++
		return
	}
	comma := strings.IndexByte(text, ',')
	switch {
	case comma < 0 && hasDecimals(text, '.'):
		h.points++
	case comma >= 0 && ambiguousComma(text):
		h.either++
	case comma >= 0 && strings.Count(text, ",") == 1 && hasDecimals(text, ','):
		h.commas++
	}
	if len(h.values) < surveyValues && !ambiguousComma(text) {
		if v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64); err == nil {
			h.values = append(h.values, v)
		}
	}
}

// hasDecimals says whether the sign stands between two digits.
func hasDecimals(text string, mark byte) bool {
	i := strings.IndexByte(text, mark)
	return i > 0 && i+1 < len(text) && isDigit(text[i-1]) && isDigit(text[i+1])
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// ambiguousComma says whether the one comma of a number could part thousands
// or be the decimal sign: 1,250 but neither 18,9 nor 0,125.
func ambiguousComma(text string) bool {
	i := strings.IndexByte(text, ',')
	if i < 1 || strings.Count(text, ",") != 1 || strings.Contains(text, ".") {
		return false
	}
	j := i
	for j > 0 && text[j-1] >= '0' && text[j-1] <= '9' {
		j--
	}
	k := i + 1
	for k < len(text) && text[k] >= '0' && text[k] <= '9' {
		k++
	}
	return k-i == 4 && i-j >= 1 && i-j <= 3 && text[j] != '0'
}

// settleHabits gives the plan what the source's own rows show. It changes no
// value: it lets refusals say what the file itself speaks for.
func (p *plan) settleHabits(h *Habits) {
	p.habits = h
	if p.area == nil {
		p.area = h.Area
	}
}

// mendDate says how to mend a date that was refused with a message.
func (p *plan) mendDate(c *column, message string) string {
	kind, mend := "", "write it as 1987-06-12, 1987-06 or 1987"
	switch {
	case strings.Contains(message, twoWays):
		kind, mend = "order", "say the order of the file's dates: "+c.property+"=ymd, mdy or dmy"
	case strings.Contains(message, twoDigits):
		kind, mend = "pivot", "say in the mapping from which year on two digits count (pivot: 1930), or write the year in full"
	case strings.Contains(message, "day number"):
		kind, mend = "serials", "say in the mapping from which year day numbers count (serials: 1900)"
	}
	if p.habits != nil {
		for _, q := range p.habits.Proposals {
			if q.Column == c.name && q.Kind == kind {
				return q.Why
			}
		}
	}
	return mend
}

// decimalText rewrites a number whose commas and points can be told by what is
// said of its column. refuse is why it cannot be read.
func (p *plan) decimalText(c *column, text string) (_ string, refuse string) {
	switch {
	case strings.IndexByte(text, ',') < 0 && (c.decimal != "comma" || strings.IndexByte(text, '.') < 0):
		return text, ""
	case c.decimal == "comma":
		if i := strings.IndexByte(text, ','); i < 0 || strings.LastIndexByte(text, '.') < i {
			text = strings.ReplaceAll(text, ".", "")
			return strings.Replace(text, ",", ".", 1), ""
		}
		return text, ""
	case c.decimal == "point" || !ambiguousComma(text):
		return text, ""
	}
	if p.semicolons || p.habits != nil && p.columnHabits(c).commas > 0 {
		return text, fmt.Sprintf("the comma in %q can part thousands or be a decimal comma", clip(text))
	}
	return text, ""
}

func (p *plan) columnHabits(c *column) *columnHabits {
	for i := range p.columns {
		if &p.columns[i] == c && i < len(p.habits.columns) {
			return &p.habits.columns[i]
		}
	}
	return &columnHabits{}
}
