package review

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"tallybook/records"
)

// Format is the first line of a review's file.
const Format = "tallybook review 1"

// Document is a review as a whole: what was asked, of which data, and what came
// of it. It is what a file of it holds, and what is kept.
type Document struct {
	Format   string    `json:"format"`
	Title    string    `json:"title,omitempty"`
	Author   string    `json:"author,omitempty"`
	Note     string    `json:"note,omitempty"`
	Settings *Settings `json:"settings"`
	Data     Data      `json:"data"`
	Answers  []*Answer `json:"answers"`
}

// Data says which records a review stands on.
type Data struct {
	Commit  int64     `json:"commit"` // the state of that database
	Wells   int       `json:"wells"`  // chosen
	Of      int       `json:"of"`     // on record
	Digest  string    `json:"digest"` // of what the picture says of the wells chosen
	Logs    string    `json:"logs_digest,omitempty"`
	Words   string    `json:"vocabulary"` // the words by which logs are read
	Program string    `json:"program"`
	At      time.Time `json:"at"`
}

// Parse reads a review's file. A file of settings alone is read too.
func Parse(text []byte) (*Document, error) {
	d := &Document{}
	dec := json.NewDecoder(bytes.NewReader(text))
	if err := dec.Decode(d); err != nil {
		return nil, records.WrapError(records.Invalid, err, "this is no file of a review: it cannot be read as JSON")
	}
	if d.Format != Format {
		return nil, records.Errorf(records.Invalid, "this is no file of a review: its format is %q and not %q", clip(d.Format, 40), Format)
	}
	if d.Settings == nil {
		return nil, records.Errorf(records.Invalid, "the file of the review holds no settings")
	}
	d.Settings.Defaults()
	seen := map[string]bool{}
	for i, a := range d.Answers {
		if a == nil || a.Part == "" {
			return nil, records.Errorf(records.Invalid, "answer %d of the review's file is empty", i+1)
		}
		if seen[a.Part] {
			return nil, records.Errorf(records.Invalid, "the review's file answers %q twice", clip(a.Part, 40))
		}
		seen[a.Part] = true
		for _, t := range a.Tables {
			for k, row := range t.Rows {
				if len(row) != len(t.Columns) {
					return nil, records.Errorf(records.Invalid, "row %d of %s, table %s, has %d cells under %d columns", k+1, clip(a.Part, 40), clip(t.Name, 40), len(row), len(t.Columns))
				}
			}
		}
	}
	return d, d.Settings.Check(nil)
}

// Bytes writes the document down.
func (d *Document) Bytes() ([]byte, error) { return json.MarshalIndent(d, "", " ") }

// Answer finds the answer of a part; nil where there is none.
func (d *Document) Answer(part string) *Answer {
	for _, a := range d.Answers {
		if a.Part == part {
			return a
		}
	}
	return nil
}

// Difference is where two reviews first differ.
type Difference struct {
	Part  string
	Where string // table, row and column, or figure
	Was   string
	Is    string
}

// String says it in words.
func (d Difference) String() string {
	return fmt.Sprintf("%s, %s: %s before, %s now", d.Part, d.Where, orNothing(d.Was), orNothing(d.Is))
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

// near is how little two numbers may differ and count as the same: other
// processors round other last digits.
const nearlySame = 1e-9

func (c Cell) same(o Cell) bool {
	if c.Kind != o.Kind || c.Text != o.Text {
		return false
	}
	return c.Kind != Numeric || math.Abs(c.Number-o.Number) <= nearlySame*max(math.Abs(c.Number), math.Abs(o.Number), 1e-3)
}

// Compare holds the answers of a review against those that it had before, and
// gives what differs, part by part the first thing. Parts that only one of them
// has are told too.
func Compare(before, now []*Answer) []Difference {
	var out []Difference
	rest := map[string]*Answer{}
	for _, a := range now {
		rest[a.Part] = a
	}
	for _, b := range before {
		n := rest[b.Part]
		delete(rest, b.Part)
		if n == nil {
			out = append(out, Difference{b.Part, "the whole part", "an answer", ""})
			continue
		}
		if d, differs := firstDifference(b, n); differs {
			out = append(out, d)
		}
	}
	for _, n := range now {
		if rest[n.Part] != nil {
			out = append(out, Difference{n.Part, "the whole part", "", "an answer"})
		}
	}
	return out
}

func firstDifference(b, n *Answer) (Difference, bool) {
	if b.TooFew != n.TooFew {
		return Difference{b.Part, "whether it can be said", b.TooFew, n.TooFew}, true
	}
	for i := range max(len(b.Figures), len(n.Figures)) {
		var x, y Figure
		if i < len(b.Figures) {
			x = b.Figures[i]
		}
		if i < len(n.Figures) {
			y = n.Figures[i]
		}
		if x.Name != y.Name {
			return Difference{b.Part, "its figures", x.Name, y.Name}, true
		}
		if !x.Value.same(y.Value) || x.More != y.More {
			return Difference{b.Part, x.Name, moreThan(x), moreThan(y)}, true
		}
	}
	for i := range max(len(b.Tables), len(n.Tables)) {
		var x, y Table
		if i < len(b.Tables) {
			x = b.Tables[i]
		}
		if i < len(n.Tables) {
			y = n.Tables[i]
		}
		if d, differs := tableDifference(b.Part, &x, &y); differs {
			return d, true
		}
	}
	return Difference{}, false
}

func moreThan(f Figure) string {
	if f.More {
		return "more than " + f.Value.String()
	}
	return f.Value.String()
}

func tableDifference(part string, x, y *Table) (Difference, bool) {
	if x.Name != y.Name {
		return Difference{part, "its tables", x.Name, y.Name}, true
	}
	if fmt.Sprint(x.Columns) != fmt.Sprint(y.Columns) {
		return Difference{part, x.Name + ", its columns", fmt.Sprint(x.Columns), fmt.Sprint(y.Columns)}, true
	}
	for k := range min(len(x.Rows), len(y.Rows)) {
		for c := range x.Columns {
			if !x.Rows[k][c].same(y.Rows[k][c]) {
				return Difference{part, fmt.Sprintf("%s, row %d, %s", x.Name, k+1, x.Columns[c]), x.Rows[k][c].String(), y.Rows[k][c].String()}, true
			}
		}
	}
	if len(x.Rows) != len(y.Rows) {
		return Difference{part, x.Name + ", number of rows", fmt.Sprint(len(x.Rows)), fmt.Sprint(len(y.Rows))}, true
	}
	return Difference{}, false
}
