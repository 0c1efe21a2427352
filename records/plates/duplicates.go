package plates

import (
	"context"
	"slices"

	"tallybook/records/linkage"
)

// Duplicates proposes pairs of records that may be of one well.
func Duplicates(ctx context.Context, source Source, o Options) (*Pairs, error) {
	f, err := readFile(ctx, source, &o)
	if err != nil {
		return nil, err
	}
	m := &matcher{f: f, o: &o, b: newBlocks(f), twins: true, owners: o.Owners}
	m.b.plain = true
	m.r = newRarity(f, m.b.numbers)
	m.ids = func(i int32) int64 { return f.id[i] }
	out := &Pairs{Model: startRecords(o.Owners), m: m, Threshold: 2}
	out.Learned.Records = f.len()
	if f.len() < 2 {
		return out, nil
	}
	s, err := m.solve(ctx, out.Model)
	if err != nil {
		return nil, err
	}
	out.Model, out.Learned = s.model, s.learned
	const leastShown = 0.01
	for k := range s.problem.Candidates {
		c := &s.problem.Candidates[k]
		if s.probabilities[k] < leastShown {
			continue
		}
		out.Pairs = append(out.Pairs, Pair{
			LeftID: f.id[c.Left], RightID: f.id[c.Right], LeftRevision: int64(f.row[c.Left].revision), RightRevision: int64(f.row[c.Right].revision),
			Probability: s.probabilities[k], Weight: s.model.Weight(c.Pattern) + float64(c.Adjust),
			left: c.Left, right: c.Right, adjust: float64(c.Adjust),
		})
	}
	slices.SortStableFunc(out.Pairs, func(a, b Pair) int {
		switch {
		case a.Probability > b.Probability:
			return -1
		case a.Probability < b.Probability:
			return 1
		}
		return 0
	})
	for i := range out.Pairs[:min(len(out.Pairs), explainUpTo)] {
		out.Explain(&out.Pairs[i])
	}
	out.Threshold = linkage.Threshold(out.probabilities(), o.wrong(), leastOffered)
	return out, nil
}
