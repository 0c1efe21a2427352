package linkage

import (
	"fmt"
	"math"
)

// Missing is the level of a field that cannot be compared, because one side
// does not say. It speaks neither for nor against.
const Missing = 15

// most of what a Pattern holds.
const (
	maxFields = 16
	maxLevels = 15
)

// Field is one thing that is compared.
type Field struct {
	Name   string
	Levels []string // how far two agree, from wholly to not at all; at most 15
	// Given are earlier fields, by their place, on which this one depends both
	// among pairs that belong together and among those that do not.
	Given []int
	// Classes tells for each level what it means to fields that depend on this
	// one, from 0; nil: nothing depends on it. MissingClass is that of Missing.
	Classes      []int
	MissingClass int
}

// Pattern is how a pair agrees: a level for each field.
type Pattern uint64

// NoPattern is that of a pair about which nothing can be said.
const NoPattern Pattern = math.MaxUint64

// Level gives the level of a field.
func (p Pattern) Level(field int) int { return int(p >> (4 * field) & 15) }

// With sets the level of a field.
func (p Pattern) With(field, level int) Pattern {
	return p&^(15<<(4*field)) | Pattern(level&15)<<(4*field)
}

// Table has a probability for each level of a field, one row for each group:
// each combination of classes of the fields that it depends on.
type Table [][]float64

// Model is what is known about how pairs agree.
type Model struct {
	Fields []Field
	M      []Table // of each field, among pairs that belong together
	U      []Table // among pairs that do not
	// Share is how many of the entries on the left have a partner among those
	// on the right, 0 to 1 (in EM: how many of the pairs belong together).
	Share float64
}

// Check says what is wrong with the shape of a model.
func (m *Model) Check() error {
	if len(m.Fields) > maxFields || len(m.M) != len(m.Fields) || len(m.U) != len(m.Fields) {
		return fmt.Errorf("linkage: %d fields, %d tables of m, %d of u", len(m.Fields), len(m.M), len(m.U))
	}
	for i := range m.Fields {
		f := &m.Fields[i]
		if len(f.Levels) == 0 || len(f.Levels) > maxLevels || (f.Classes != nil && len(f.Classes) != len(f.Levels)) {
			return fmt.Errorf("linkage: field %s has %d levels and %d classes", f.Name, len(f.Levels), len(f.Classes))
		}
		for _, g := range f.Given {
			if g < 0 || g >= i || m.Fields[g].Classes == nil {
				return fmt.Errorf("linkage: field %s depends on field %d, which is none before it that has classes", f.Name, g)
			}
		}
		for _, t := range [...]Table{m.M[i], m.U[i]} {
			if len(t) != m.Groups(i) {
				return fmt.Errorf("linkage: field %s has %d rows for %d groups", f.Name, len(t), m.Groups(i))
			}
			for _, row := range t {
				if len(row) != len(f.Levels) {
					return fmt.Errorf("linkage: field %s has a row of %d for %d levels", f.Name, len(row), len(f.Levels))
				}
			}
		}
	}
	return nil
}

// classes is how many classes a field has for those that depend on it.
func (f *Field) classes() int {
	most := f.MissingClass
	for _, c := range f.Classes {
		most = max(most, c)
	}
	return most + 1
}

// Groups is how many rows the tables of a field have.
func (m *Model) Groups(field int) int {
	n := 1
	for _, g := range m.Fields[field].Given {
		n *= m.Fields[g].classes()
	}
	return n
}

// Group is the row of a field's tables that holds for a pattern.
func (m *Model) Group(field int, p Pattern) int {
	n := 0
	for _, g := range m.Fields[field].Given {
		f := &m.Fields[g]
		class := f.MissingClass
		if l := p.Level(g); l < len(f.Classes) {
			class = f.Classes[l]
		}
		n = n*f.classes() + class
	}
	return n
}

// Part is what one field says: log2(m/u), above zero where it speaks for the
// pair; 0 where it is missing.
func (m *Model) Part(field int, p Pattern) float64 {
	l := p.Level(field)
	if l >= len(m.Fields[field].Levels) {
		return 0
	}
	g := m.Group(field, p)
	return math.Log2(m.M[field][g][l] / m.U[field][g][l])
}

// Weight is the sum of what the fields say: log2 of how many times likelier
// the pattern is among pairs that belong together than among others.
func (m *Model) Weight(p Pattern) float64 {
	w := 0.0
	for i := range m.Fields {
		w += m.Part(i, p)
	}
	return w
}

// clone copies a model so that its tables can be written to.
func (m *Model) clone() *Model {
	c := *m
	c.M, c.U = cloneTables(m.M), cloneTables(m.U)
	return &c
}

func cloneTables(ts []Table) []Table {
	out := make([]Table, len(ts))
	for i, t := range ts {
		out[i] = make(Table, len(t))
		for g, row := range t {
			out[i][g] = append([]float64(nil), row...)
		}
	}
	return out
}
