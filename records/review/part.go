package review

import (
	"cmp"
	"context"
	"slices"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/lithology"
	"tallybook/records/snapshot"
)

// Part is one question of a review.
type Part struct {
	Name  string // in addresses and files
	Title string // the question
	// Slow parts are worked apart, so that quick ones need not wait for them.
	Slow bool
	Work func(ctx context.Context, in *Input) (*Answer, error)
}

// Parts are the questions of every review, in their order; the desk adds those
// that need its models.
func Parts() []Part {
	return []Part{
		{Name: "completeness", Title: "What do the records hold?", Work: completeness},
		{Name: "distribution", Title: "How does it spread?", Work: distribution},
		{Name: "depth", Title: "Do deeper holes give more?", Work: depthAgainstYield},
		{Name: "years", Title: "Has it changed through the years?", Work: years},
		{Name: "neighbours", Title: "How much do neighbours differ?", Work: neighbours},
		{Name: "materials", Title: "In which ground does the water come?", Work: materials, Slow: true},
		{Name: "intervals", Title: "At what depth does the water come?", Work: intervals, Slow: true},
	}
}

// Input is what a part is worked from.
type Input struct {
	Settings   *Settings
	Picture    *snapshot.Picture
	Filter     *snapshot.Filter
	Vocabulary *lithology.Vocabulary
	// Rows are the wells chosen, in the order of their keys. Sightings are not
	// among them. What a row says is asked of Filter.Value and Filter.Digest, which
	// know what is marked unreliable and whose picks count.
	Rows []snapshot.Row
	// Logs gives what the whole records of the wells chosen say of water and
	// ground; the first who asks waits while they are read.
	Logs func(ctx context.Context) (*Logs, error)
	// Progress tells how far a part is; never nil.
	Progress func(step string, done, total int)
}

// From how many values on a middle is told, and a shape.
const (
	LeastForMiddle = 10
	LeastForShape  = 20
)

// Choose gathers the wells that a filter takes, in the order of their keys.
func Choose(p *snapshot.Picture, f *snapshot.Filter) []snapshot.Row {
	rows := make([]snapshot.Row, 0, p.Len())
	p.Each(func(r snapshot.Row) bool {
		if f.Takes(r) {
			rows = append(rows, r)
		}
		return true
	})
	slices.SortFunc(rows, func(a, b snapshot.Row) int {
		if c := cmp.Compare(a.Key(), b.Key()); c != 0 {
			return c
		}
		return cmp.Compare(a.ID(), b.ID())
	})
	return rows
}

// sampleOf turns a value of a record into one to be summed up; ok is false
// where nothing is known, or it is no quantity.
func sampleOf(v records.DigestValue) (predict.Sample, bool) {
	if v.Qualifier == records.Missing || v.Value < 0 || v.Qualifier == records.LessThan && v.Value == 0 {
		return predict.Sample{}, false
	}
	s := predict.Sample{Value: v.Value, Bound: snapshot.BoundOf(v.Qualifier), Weight: 1}
	if s.Bound == predict.Between {
		if s.High = v.High; s.High < s.Value {
			return s, false
		}
		if s.High == s.Value {
			s.Bound = predict.Exact
		}
	}
	return s, true
}

// sample is what a well says of a field, as far as the filter trusts it.
func (in *Input) sample(r snapshot.Row, f snapshot.Field) (predict.Sample, bool) {
	return sampleOf(in.Filter.Value(r, f))
}

// samples are the values of a field among the rows.
func (in *Input) samples(f snapshot.Field) []predict.Sample {
	out := make([]predict.Sample, 0, len(in.Rows))
	for _, r := range in.Rows {
		if s, ok := in.sample(r, f); ok {
			out = append(out, s)
		}
	}
	return out
}

// suffix ends the names of a field's numbers with its base unit.
func suffix(f snapshot.Field) string {
	if f == snapshot.Yield {
		return "_lps"
	}
	return "_m"
}
