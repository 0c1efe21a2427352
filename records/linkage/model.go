package linkage

import (
	"fmt"
	"math"
	"slices"
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
	// GivenM are earlier fields, by their place, on which this one depends
	// among pairs that belong together (errors that come together), GivenU
	// those on which it depends among others (what is alike without being one).
	GivenM, GivenU []int
	// Silent says that the field has no weight of its own: it is there for
	// others to depend on.
	Silent bool
	// Sum says that where the field is missing, what u is of those that depend
	// on it is summed over its levels, each as likely as its own u and as what
	// the fields before have made it. One field at most; it depends on none.
	Sum bool
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

// Table has a probability for each level of a field, one row for each
// combination of classes of the fields that it depends on, the last of which
// changes fastest.
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
		if f.Sum && (i != m.summed() || len(f.GivenM)+len(f.GivenU) > 0) {
			return fmt.Errorf("linkage: field %s is summed over; only one can be, and it depends on none", f.Name)
		}
		for _, g := range slices.Concat(f.GivenM, f.GivenU) {
			if g < 0 || g >= i || m.Fields[g].Classes == nil {
				return fmt.Errorf("linkage: field %s depends on field %d, which is none before it that has classes", f.Name, g)
			}
		}
		for k, t := range [...]Table{m.M[i], m.U[i]} {
			if n := m.rows([...][]int{f.GivenM, f.GivenU}[k]); len(t) != n {
				return fmt.Errorf("linkage: field %s has %d rows for %d groups", f.Name, len(t), n)
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

// rows is how many rows a table has that depends on some fields.
func (m *Model) rows(given []int) int {
	n := 1
	for _, g := range given {
		n *= m.Fields[g].classes()
	}
	return n
}

// RowsM and RowsU are how many rows the tables of a field have.
func (m *Model) RowsM(field int) int { return m.rows(m.Fields[field].GivenM) }

// RowsU is as RowsM, of u.
func (m *Model) RowsU(field int) int { return m.rows(m.Fields[field].GivenU) }

func (m *Model) row(given []int, p Pattern) int {
	n := 0
	for _, g := range given {
		f := &m.Fields[g]
		class := f.MissingClass
		if l := p.Level(g); l < len(f.Classes) {
			class = f.Classes[l]
		}
		n = n*f.classes() + class
	}
	return n
}

// RowM and RowU are the rows of a field's tables that hold for a pattern.
func (m *Model) RowM(field int, p Pattern) int { return m.row(m.Fields[field].GivenM, p) }

// RowU is as RowM, of u.
func (m *Model) RowU(field int, p Pattern) int { return m.row(m.Fields[field].GivenU, p) }

// Parts gives what each field says: log2(m/u), above zero where it speaks for
// the pair, 0 where it is missing. They are added to buf, and their sum, the
// weight of the pattern, is log2 of how many times likelier it is among pairs
// that belong together than among others.
func (m *Model) Parts(p Pattern, buf []float64) []float64 {
	var h hidden
	h.begin(m, p)
	for i := range m.Fields {
		part := 0.0
		if l := p.Level(i); l < len(m.Fields[i].Levels) && !m.Fields[i].Silent {
			part = math.Log2(m.M[i][m.RowM(i, p)][l] / h.u(m, i, l, p))
		}
		buf = append(buf, part)
	}
	return buf
}

// Weight is the sum of what the fields say.
func (m *Model) Weight(p Pattern) float64 {
	var room [maxFields]float64
	w := 0.0
	for _, part := range m.Parts(p, room[:0]) {
		w += part
	}
	return w
}

// hidden is the field with Sum where it is missing: how likely each of its
// levels is, by what the fields have said so far.
type hidden struct {
	field  int // -1: none is missing
	likely [maxLevels]float64
	levels int
}

func (h *hidden) begin(m *Model, p Pattern) {
	h.field = m.summed()
	if h.field < 0 || p.Level(h.field) < len(m.Fields[h.field].Levels) {
		h.field = -1
		return
	}
	h.levels = copy(h.likely[:], m.U[h.field][0])
}

// u of a field's level, the field being the next in order.
func (h *hidden) u(m *Model, field, level int, p Pattern) float64 {
	if h.field < 0 || !slices.Contains(m.Fields[field].GivenU, h.field) {
		return m.U[field][m.RowU(field, p)][level]
	}
	sum := 0.0
	for s := range h.levels {
		h.likely[s] *= m.U[field][m.RowU(field, p.With(h.field, s))][level]
		sum += h.likely[s]
	}
	if sum > 0 {
		for s := range h.levels {
			h.likely[s] /= sum
		}
	}
	return sum
}

// summed is the field with Sum, -1 where there is none.
func (m *Model) summed() int {
	for i := range m.Fields {
		if m.Fields[i].Sum {
			return i
		}
	}
	return -1
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
