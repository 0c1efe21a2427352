package review

import (
	"encoding/csv"
	"io"
	"strings"
)

// WriteCSV writes the table, its numbers to the last digit. A text that a
// spreadsheet would run as a formula is guarded by an apostrophe.
func (t *Table) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	if err := c.Write(t.Columns); err != nil {
		return err
	}
	for _, row := range t.Rows {
		line := make([]string, len(row))
		for i, cell := range row {
			line[i] = cell.String()
			if cell.Kind == Textual && line[i] != "" && strings.ContainsRune("=+-@\t\r", rune(line[i][0])) {
				line[i] = "'" + line[i]
			}
		}
		if err := c.Write(line); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// FiguresTable is the figures of an answer as a table.
func (a *Answer) FiguresTable() *Table {
	t := &Table{Name: "figures", Columns: []string{"figure", "value", "more_than"}}
	for _, f := range a.Figures {
		t.Add(T(f.Name), f.Value, yes(f.More))
	}
	return t
}
