package review

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"tallybook/geo/spread"
)

// Answer is what one part of a review found, as numbers in base units.
type Answer struct {
	Part string `json:"part"`
	// TooFew says why nothing can be said; "" where it can.
	TooFew  string   `json:"too_few,omitempty"`
	Figures []Figure `json:"figures,omitempty"`
	Tables  []Table  `json:"tables,omitempty"`
}

// Figure is one number with its name, which ends with its unit: 'median_m'.
type Figure struct {
	Name  string `json:"name"`
	Value Cell   `json:"value"`
	// More says that the number is known only to be more than Value.
	More bool `json:"more_than,omitempty"`
}

// Table is one table of an answer; the names of its columns end with their
// units.
type Table struct {
	Name    string   `json:"name"`
	Columns []string `json:"columns"`
	Rows    [][]Cell `json:"rows"`
}

// Cell is a number, a text, or nothing.
type Cell struct {
	Text   string
	Number float64
	Kind   CellKind
}

// CellKind says what a cell holds.
type CellKind uint8

// The kinds of cell.
const (
	Nothing CellKind = iota
	Numeric
	Textual
)

// N is a cell of a number; nothing where it is not finite.
func N(v float64) Cell {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Cell{}
	}
	return Cell{Number: v + 0, Kind: Numeric}
}

// I is a cell of a count.
func I(n int) Cell { return N(float64(n)) }

// T is a cell of a text.
func T(s string) Cell { return Cell{Text: s, Kind: Textual} }

// String writes the cell as a file holds it: a number to its last digit.
func (c Cell) String() string {
	switch c.Kind {
	case Numeric:
		return strconv.FormatFloat(c.Number, 'g', -1, 64)
	case Textual:
		return c.Text
	}
	return ""
}

// Value is the number, NaN where the cell holds none.
func (c Cell) Value() float64 {
	if c.Kind != Numeric {
		return math.NaN()
	}
	return c.Number
}

// MarshalJSON writes a number, a string or null.
func (c Cell) MarshalJSON() ([]byte, error) {
	switch c.Kind {
	case Numeric:
		return json.Marshal(c.Number)
	case Textual:
		return json.Marshal(c.Text)
	}
	return []byte("null"), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (c *Cell) UnmarshalJSON(b []byte) error {
	var v any
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	switch v := v.(type) {
	case nil:
		*c = Cell{}
	case float64:
		*c = N(v)
	case string:
		*c = T(v)
	default:
		return fmt.Errorf("a cell is a number, a text or null, not %s", clip(string(b), 40))
	}
	return nil
}

func clip(s string, n int) string {
	if len(s) <= n {
		return s
	}
	return s[:n] + "…"
}

// figure adds a number.
func (a *Answer) figure(name string, v float64) {
	a.Figures = append(a.Figures, Figure{name, N(v), false})
}

// limit adds a quantile that may be only a limit.
func (a *Answer) limit(name string, l spread.Limit) {
	a.Figures = append(a.Figures, Figure{name, N(l.Value), l.More})
}

// AddFigure adds a number.
func (a *Answer) AddFigure(name string, v float64) { a.figure(name, v) }

// AddText adds a word.
func (a *Answer) AddText(name, text string) {
	a.Figures = append(a.Figures, Figure{name, T(text), false})
}

// Figure finds a number by its name; NaN where there is none.
func (a *Answer) Figure(name string) float64 {
	for i := range a.Figures {
		if a.Figures[i].Name == name {
			return a.Figures[i].Value.Value()
		}
	}
	return math.NaN()
}

// Limit finds a number that may be only a limit.
func (a *Answer) Limit(name string) spread.Limit {
	for i := range a.Figures {
		if f := &a.Figures[i]; f.Name == name {
			return spread.Limit{Value: f.Value.Value(), More: f.More}
		}
	}
	return spread.Limit{Value: math.NaN()}
}

// Word finds a text by its name.
func (a *Answer) Word(name string) string {
	for i := range a.Figures {
		if a.Figures[i].Name == name {
			return a.Figures[i].Value.Text
		}
	}
	return ""
}

// Count finds a whole number by its name; 0 where there is none.
func (a *Answer) Count(name string) int {
	v := a.Figure(name)
	if math.IsNaN(v) {
		return 0
	}
	return int(v)
}

// Table finds a table by its name; an empty one where there is none.
func (a *Answer) Table(name string) *Table {
	for i := range a.Tables {
		if a.Tables[i].Name == name {
			return &a.Tables[i]
		}
	}
	return &Table{}
}

// Add adds a row.
func (t *Table) Add(cells ...Cell) { t.Rows = append(t.Rows, cells) }

// Column gives the place of a column, -1 where it is not there.
func (t *Table) Column(name string) int {
	for i, c := range t.Columns {
		if c == name {
			return i
		}
	}
	return -1
}

// Numbers gives a column as numbers, NaN where a row has none.
func (t *Table) Numbers(name string) []float64 {
	at := t.Column(name)
	out := make([]float64, len(t.Rows))
	for i, r := range t.Rows {
		out[i] = math.NaN()
		if at >= 0 && at < len(r) {
			out[i] = r[at].Value()
		}
	}
	return out
}

// Texts gives a column as texts.
func (t *Table) Texts(name string) []string {
	at := t.Column(name)
	out := make([]string, len(t.Rows))
	for i, r := range t.Rows {
		if at >= 0 && at < len(r) {
			out[i] = r[at].String()
		}
	}
	return out
}
