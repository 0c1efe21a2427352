package importer

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"tallybook/records"
)

// joined reads a source of several tables, or of one in which a well has
// several rows: one row comes out for each well, with what the others add to
// it, then one for each row whose well is not there.
//
// A row of the wells' table is a row of the source, and so is a row that finds
// no well: rows read = rows accepted + rows refused. A well and the rows that
// go with it are taken in or refused together, and come back together.
type joined struct {
	context  func() context.Context
	counted  func(n int64)
	begun    bool
	main     *tablePart
	sides    []*tablePart
	self     bool // the wells' rows are those of their parts
	rows     sheetReader
	aside    *spill
	features *featureDecoder
	limits   limits
	number   int64
	left     func() (*spillRow, error)
	note     func(string)
	tally    []PartTally
}

// PartTally counts the rows of one table of a source.
type PartTally struct {
	Sheet    string
	Role     Role
	Rows     int64 // that hold something
	WithWell int64 // that went to a well, accepted or refused
	Alone    int64 // whose well is not there: each is a refused row
}

// newJoined joins the parts of a source; the first is of the wells.
func newJoined(parts []*tablePart, self bool, o *Options, d *featureDecoder) *joined {
	j := &joined{main: parts[0], sides: parts[1:], self: self, features: d, limits: o.limits()}
	for _, p := range parts {
		j.tally = append(j.tally, PartTally{Sheet: p.name, Role: p.plan.role})
	}
	if self || len(j.sides) > 0 {
		j.aside = newSpill(o.TempDir, spillBytes)
	}
	return j
}

// begin puts the rows aside that go with the wells, and opens the wells.
func (j *joined) begin() error {
	j.begun = true
	if j.aside != nil {
		for i, p := range append([]*tablePart{j.main}, j.sides...) {
			err := p.readAllRows(j.context(), j.counted, func(r *sheetRow) error { return j.putAside(uint16(i), p, r) })
			if err != nil {
				return err
			}
		}
		if err := j.aside.finish(); err != nil {
			return err
		}
	}
	rows, err := j.main.open(j.counted)
	j.rows = rows
	return err
}

// close gives back what is held.
func (j *joined) close() error {
	var err error
	if j.rows != nil {
		err = j.rows.Close()
		j.rows = nil
	}
	if j.aside != nil {
		err = errors.Join(err, j.aside.Close())
	}
	return err
}

// putAside keeps a row of a table; of a row of the wells no more than its key,
// to know whether two have the same.
func (j *joined) putAside(part uint16, p *tablePart, r *sheetRow) error {
	s := spillRow{part: part, line: r.line, key: p.keyOf(r)}
	if part > 0 {
		j.tally[part].Rows++
	}
	if part > 0 || j.self {
		s.raw, s.cells, s.fault, s.mend = r.raw, r.cells, r.fault, r.mend
		if r.again != nil {
			s.raw = r.again
		}
	}
	if part == 0 && s.key == "" {
		return nil // it is a well by itself
	}
	return j.aside.add(&s)
}

// keyOf is the key of a row, "" where it has none or cannot be read.
func (p *tablePart) keyOf(r *sheetRow) string {
	cells := r.cells
	if cells == nil { // what cannot be read as a whole may still say whose it is
		cells = r.loose
	}
	if p.key < 0 || p.key >= len(cells) {
		return ""
	}
	return strings.TrimSpace(cells[p.key])
}

// split gives the next well, or the next row that has none.
func (j *joined) split(row *Row) error {
	if !j.begun {
		if err := j.begin(); err != nil {
			return err
		}
	}
	for j.rows != nil {
		r, err := j.rows.next()
		if errors.Is(err, io.EOF) {
			if err := j.endOfWells(); err != nil {
				return err
			}
			break
		}
		if err != nil {
			return err
		}
		j.tally[0].Rows++
		took, err := j.well(row, &r)
		if err != nil || took {
			return err
		}
	}
	for j.left != nil {
		r, err := j.left()
		if err != nil {
			return err
		}
		if r.part > 0 || j.self {
			j.alone(row, r)
			return nil
		}
	}
	return io.EOF
}

// endOfWells goes over to the rows whose wells did not come.
func (j *joined) endOfWells() (err error) {
	if r, ok := j.rows.(*sheetRows); ok {
		if n := r.rows.formulaNote(); n != "" {
			j.note(n)
		}
	}
	err = j.rows.Close()
	j.rows = nil
	if err == nil && j.aside != nil {
		j.left, err = j.aside.unused()
	}
	return err
}

// well fills a row with a well and what belongs to it; false where the row is
// one of a well that came before.
func (j *joined) well(row *Row, r *sheetRow) (bool, error) {
	key := j.main.keyOf(r)
	var found []spillRow
	whole := true
	if key != "" && j.aside != nil {
		var err error
		if found, whole, err = j.aside.find(key, j.limits.rowBytes); err != nil {
			return false, err
		}
	}
	if j.self && key != "" && len(found) > 0 && found[0].line != r.line {
		return false, nil
	}
	if !j.self {
		found = ofFirst(found, r.line)
	}
	j.fill(row, r)
	row.Sheet = j.main.name
	if r.again != nil {
		row.again = r.again
	}
	if !whole {
		row.scanFault = fmt.Sprintf("the rows of %q are more than %d bytes together", clip(key), j.limits.rowBytes)
		row.scanMend = "look whether the key column is the right one"
	}
	if row.scanFault != "" {
		j.beside(row, found, r.line)
		return true, nil
	}
	row.cells = r.cells
	row.Faults = r.faults
	row.parts = &wellParts{}
	if j.aside == nil {
		return true, nil
	}
	if j.self {
		j.group(row, found, r)
	} else {
		j.join(row, key, found)
	}
	j.beside(row, found, r.line)
	return true, nil
}

// ofFirst leaves the rows of other tables to the first of the wells that have
// one key, so that none is given twice.
func ofFirst(found []spillRow, line int64) []spillRow {
	for i := range found {
		if found[i].part == 0 && found[i].line < line {
			return slices.DeleteFunc(found, func(f spillRow) bool { return f.part > 0 })
		}
	}
	return found
}

// fill gives a row its place in the source.
func (j *joined) fill(row *Row, r *sheetRow) {
	j.number++
	row.Number, row.Line, row.Offset, row.Size, row.Raw = j.number, r.line, r.offset, r.size, r.raw
	row.scanFault, row.scanMend = r.fault, r.mend
}

// beside notes the rows that go with a well, so that they come back with it.
func (j *joined) beside(row *Row, found []spillRow, own int64) {
	for i := range found {
		f := &found[i]
		if f.part == 0 && (!j.self || f.line == own) {
			continue
		}
		part := j.part(f.part)
		row.Beside = append(row.Beside, PartRow{Sheet: part.name, Line: f.line, Raw: f.raw})
		if f.part > 0 {
			j.tally[f.part].WithWell++
		}
	}
	if j.self {
		j.tally[0].WithWell += int64(max(len(found), 1))
	}
}

func (j *joined) part(i uint16) *tablePart {
	if i == 0 {
		return j.main
	}
	return j.sides[i-1]
}

// join adds the rows of the other tables to a well. A key that several wells
// have says of none what is its own.
func (j *joined) join(row *Row, key string, found []spillRow) {
	var same []string
	for i := range found {
		if found[i].part == 0 {
			same = append(same, fmt.Sprint(found[i].line))
		}
	}
	if len(same) > 1 {
		row.refuse(fmt.Sprintf("column %q", j.main.mapping.Key), fmt.Sprintf("%q stands in %d rows of the wells (%s)", clip(key), len(same), clip(strings.Join(same, ", "))),
			"give each well a key of its own, in the other tables too")
	}
	for i := range found {
		if f := &found[i]; f.part > 0 {
			j.add(row, f, nil)
		}
	}
	row.parts.order()
}

// add has an item made of a row's cells. What is wrong with the row refuses its
// well.
func (j *joined) add(row *Row, f *spillRow, varying []int) {
	p := j.part(f.part)
	from := partOrigin{sheet: p.name, line: f.line, plan: p.plan}
	if f.cells == nil {
		row.refuse(strings.TrimSpace(from.words("")), f.fault, f.mend)
		return
	}
	row.parts.pending = append(row.parts.pending, pendingPart{cells: f.cells, varying: varying, from: from})
}

// alone fills a row with one that has no well.
func (j *joined) alone(row *Row, r *spillRow) {
	p := j.part(r.part)
	j.number++
	j.tally[r.part].Alone++
	row.Number, row.Line, row.Raw, row.Size, row.Sheet = j.number, r.line, r.raw, int64(len(r.raw)), p.name
	switch {
	case r.fault != "":
		row.scanFault, row.scanMend = r.fault, r.mend
	case r.key == "":
		row.scanFault, row.scanMend = fmt.Sprintf("column %q is empty: it does not say which well the row belongs to", p.mapping.Key), "write the well's key there"
	default:
		row.scanFault = fmt.Sprintf("there is no well %q in %s", clip(r.key), j.main.title())
		row.scanMend = "mend the key, or add the well; a well whose own row cannot be read has none of its parts either"
	}
}

func (p *tablePart) title() string {
	if p.name == "" {
		return "the table of wells"
	}
	return fmt.Sprintf("%q", p.name)
}

func (j *joined) decode(row *Row) {
	if row.scanFault != "" {
		row.refuse("", row.scanFault, row.scanMend)
		return
	}
	row.parts.make(row)
	j.main.plan.understand(row, row.cells, j.features, row.parts)
}

// noWells is the error for a source whose tables tell of no wells.
func noWells(names []string) error {
	return records.Errorf(records.Invalid, "none of the sheets (%s) looks like one of wells; say in a mapping which is", clip(strings.Join(names, ", ")))
}
