package importer

import (
	"fmt"
	"slices"
	"strings"
)

// group makes one well of its rows: what they say of the well itself must
// agree, what they say of its parts is one item each, and columns that nobody
// asked for go to the well where all rows agree and to the items otherwise.
func (j *joined) group(row *Row, found []spillRow, own *sheetRow) {
	p := j.main.plan
	if len(found) == 0 {
		found = []spillRow{{line: own.line, cells: own.cells}}
	}
	cells := slices.Clone(own.cells)
	var varying []int
	for i := range p.inFile {
		c := &p.columns[i]
		if c.left && !p.made(i) || p.ofItem(i) {
			continue
		}
		first := &found[0]
		for k := range found {
			f := &found[k]
			if f.cells == nil || strings.TrimSpace(f.cells[i]) == "" {
				continue
			}
			if text := strings.TrimSpace(cells[i]); text == "" {
				cells[i], first = f.cells[i], f
			} else if text != strings.TrimSpace(f.cells[i]) {
				if c.mapped || p.made(i) {
					row.refuse(fmt.Sprintf("%s (column %q)", c.field, c.name), fmt.Sprintf("row %d says %q and row %d says %q of the same well", first.line, clip(text), f.line, clip(f.cells[i])),
						"write the same in every row of the well, or leave it out of all but the first; or have the mapping keep the column as it stands")
				} else {
					varying = append(varying, i)
				}
				break
			}
		}
	}
	for _, i := range varying {
		cells[i] = ""
	}
	for k := range found {
		j.add(row, &found[k], varying)
	}
	row.parts.order()
	for i := range p.inFile { // what the items say is no part of the well's own row
		if p.ofItem(i) {
			cells[i] = ""
		}
	}
	row.cells = cells
}

// made says whether other columns are made of one.
func (p *plan) made(i int) bool {
	return slices.ContainsFunc(p.steps, func(s step) bool { return slices.Contains(s.from, i) })
}

// ofItem says whether a column gives something of the list of the table's
// role, by itself or by what is made of it.
func (p *plan) ofItem(i int) bool {
	is := func(i int) bool { return strings.HasPrefix(p.columns[i].field, string(p.role)+".") }
	if is(i) {
		return true
	}
	found := false
	for _, s := range p.steps {
		if !slices.Contains(s.from, i) {
			continue
		}
		for _, k := range s.into {
			if p.columns[k].mapped && !is(k) {
				return false
			}
			found = found || is(k)
		}
	}
	return found
}
