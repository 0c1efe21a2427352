package snapshot

import (
	"fmt"
	"math"
	"strings"

	"tallybook/records"
)

// Filter says which wells are shown or used. The zero Filter takes all. A
// limit on a quantity takes only wells whose value or bound is sure to be
// within it.
type Filter struct {
	Depth     Range // total depth, m
	Yield     Range // L/s
	Years     Range // decimal years completed
	Purpose   uint8 // position in records.PurposeWords + 1; 0: any
	Materials uint64
	Plate     Tri
	Area      Area   // nil: everywhere
	Only      Chosen // nil: whatever else is said of them
	// Trust says whose word counts of those taken: see Value. What is marked
	// unreliable is left out unless it says otherwise.
	records.Trust
}

// Chosen are wells of a picture that were chosen by other means. Two of one
// picture that are not the same have different Keys.
type Chosen interface {
	Has(id int64) bool
	Key() string
}

// Range is a closed range; a nil end is open.
type Range struct{ Min, Max *float64 }

// Tri is yes, no, or either.
type Tri uint8

// The answers of a Tri.
const (
	Either Tri = iota
	Yes
	No
)

func (r Range) open() bool { return r.Min == nil && r.Max == nil }

// takes says whether an amount surely lies in the range.
func (r Range) takes(v records.DigestValue) bool {
	if r.open() {
		return true
	}
	low, high := v.Value, v.Value
	switch v.Qualifier {
	case records.Missing:
		return false
	case records.LessThan:
		low = 0
	case records.GreaterThan:
		high = math.Inf(1)
	case records.Between:
		high = v.High
	}
	return (r.Min == nil || low >= *r.Min) && (r.Max == nil || high <= *r.Max)
}

// Takes says whether a well passes the filter; a nil Filter takes all.
func (f *Filter) Takes(r Row) bool {
	if f == nil {
		return true
	}
	c, i := r.c, r.i
	if f.Only != nil && !f.Only.Has(c.id[i]) {
		return false
	}
	if f.Purpose != 0 && c.purpose[i] != f.Purpose {
		return false
	}
	if f.Materials != 0 && c.materials[i]&f.Materials == 0 {
		return false
	}
	if f.Area != nil && (math.IsNaN(c.lon[i]) || !f.Area.Has(c.lon[i], c.lat[i])) {
		return false
	}
	if f.Plate != Either && (c.flags[i]&records.HasPlate != 0) != (f.Plate == Yes) {
		return false
	}
	if !f.Years.open() {
		y := records.DigestValue{Value: float64(c.year[i]), Qualifier: records.Exact}
		if y.Value == 0 || !f.Years.takes(y) {
			return false
		}
	}
	if !f.Depth.open() && !f.Depth.takes(c.totalDepth.at(i)) {
		return false
	}
	return f.Yield.open() || f.Yield.takes(c.yield.at(i))
}

// IsZero says whether the filter takes every well, and goes by the driller's
// logs but for what is marked unreliable.
func (f *Filter) IsZero() bool { return f == nil || f.Area == nil && f.Only == nil && *f == Filter{} }

// Key is a text that two filters share exactly when they take the same wells.
func (f *Filter) Key() string {
	if f == nil {
		f = &Filter{}
	}
	var b strings.Builder
	for _, r := range []Range{f.Depth, f.Yield, f.Years} {
		for _, end := range []*float64{r.Min, r.Max} {
			if end != nil {
				fmt.Fprintf(&b, "%g", *end)
			}
			b.WriteByte('|')
		}
	}
	fmt.Fprintf(&b, "%d|%x|%d|%t|%q", f.Purpose, f.Materials, f.Plate, f.Marked, f.Picks)
	if f.Area != nil {
		b.WriteString("|" + f.Area.Key())
	}
	if f.Only != nil {
		b.WriteString("|only " + f.Only.Key())
	}
	return b.String()
}
