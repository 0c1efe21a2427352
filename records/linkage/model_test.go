package linkage_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records/linkage"
)

// TestWeightByHand: worked by hand. A field that agrees in 95 of 100 pairs that
// belong together and 1 of 100 others says log2 95 = 6.570; one that differs
// says log2(0.05/0.99) = -4.307; a missing one nothing.
func TestWeightByHand(t *testing.T) {
	field := func(name string) linkage.Field { return linkage.Field{Name: name, Levels: []string{"yes", "no"}} }
	table := func(p float64) linkage.Table { return linkage.Table{{p, 1 - p}} }
	m := &linkage.Model{Fields: []linkage.Field{field("a"), field("b"), field("c")},
		M: []linkage.Table{table(0.95), table(0.95), table(0.9)}, U: []linkage.Table{table(0.01), table(0.01), table(0.1)}, Share: 0.01}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	p := linkage.NoPattern.With(0, 0).With(1, 1)
	parts := m.Parts(p, nil)
	for i, want := range []float64{6.5699, -4.3074, 0} {
		if math.Abs(parts[i]-want) > 5e-5 {
			t.Errorf("part %d is %.4f, want %.4f", i, parts[i], want)
		}
	}
	if got := m.Weight(p); math.Abs(got-2.2625) > 1e-4 {
		t.Errorf("weight %.4f, want 2.2625", got)
	}
	// 2^2.2625 = 4.798; odds 4.798 * 0.01/0.99 = 0.04847; so 0.04622.
	if got := m.Probability(p); math.Abs(got-0.04622) > 1e-5 {
		t.Errorf("probability %.5f, want 0.04622", got)
	}
}

// dependent is a model of three fields: a silent one that is summed over, one
// that depends on it, and one that depends on both.
func dependent() *linkage.Model {
	return &linkage.Model{
		Fields: []linkage.Field{
			{Name: "near", Levels: []string{"near", "far"}, Silent: true, Sum: true, Classes: []int{1, 0}},
			{Name: "date", Levels: []string{"same", "close", "other"}, GivenU: []int{0}, Classes: []int{1, 1, 0}},
			{Name: "depth", Levels: []string{"same", "other"}, GivenM: []int{1}, GivenU: []int{0, 1}},
		},
		M: []linkage.Table{{{0.9, 0.1}}, {{0.8, 0.15, 0.05}}, {{0.7, 0.3}, {0.9, 0.1}}},
		U: []linkage.Table{{{0.02, 0.98}}, {{0.001, 0.01, 0.989}, {0.05, 0.3, 0.65}},
			{{0.01, 0.99}, {0.015, 0.985}, {0.1, 0.9}, {0.2, 0.8}}},
		Share: 0.1,
	}
}

// TestSummedOver: where it is not known whether two stand near, u of all else
// is the mean of both cases, each as likely as it is.
func TestSummedOver(t *testing.T) {
	m := dependent()
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	for date := range 3 {
		for depth := range 2 {
			p := linkage.NoPattern.With(1, date).With(2, depth)
			agrees := 0
			if date < 2 {
				agrees = 1
			}
			far := 0.98 * m.U[1][0][date] * m.U[2][agrees][depth]
			near := 0.02 * m.U[1][1][date] * m.U[2][2+agrees][depth]
			lm := m.M[1][0][date] * m.M[2][agrees][depth]
			if got, want := m.Weight(p), math.Log2(lm/(far+near)); math.Abs(got-want) > 1e-12 {
				t.Errorf("date %d, depth %d: weight %.15f, want %.15f", date, depth, got, want)
			}
		}
	}
}

// simulate draws patterns of pairs from a model, share of them belonging
// together, each field missing now and then.
func simulate(m *linkage.Model, r *rand.Rand, pairs int) []linkage.Count {
	draw := func(row []float64) int {
		v := r.Float64()
		for l, p := range row {
			if v -= p; v < 0 {
				return l
			}
		}
		return len(row) - 1
	}
	n := map[linkage.Pattern]float64{}
	for range pairs {
		p := linkage.NoPattern
		match := r.Float64() < m.Share
		for i := range m.Fields {
			if match {
				p = p.With(i, draw(m.M[i][m.RowM(i, p)]))
			} else {
				p = p.With(i, draw(m.U[i][m.RowU(i, p)]))
			}
		}
		for i := range m.Fields {
			if r.Float64() < 0.1 && !m.Fields[i].Silent {
				p = p.With(i, linkage.Missing)
			}
		}
		n[p]++
	}
	var out []linkage.Count
	for p := linkage.Pattern(0); len(out) < len(n); { // in an order
		least, found := linkage.Pattern(0), false
		for q := range n {
			if (len(out) == 0 || q > p) && (!found || q < least) {
				least, found = q, true
			}
		}
		p = least
		out = append(out, linkage.Count{Pattern: p, N: n[p]})
	}
	return out
}

// plain is a model of four independent fields.
func plain() *linkage.Model {
	return &linkage.Model{
		Fields: []linkage.Field{
			{Name: "a", Levels: []string{"same", "near", "other"}},
			{Name: "b", Levels: []string{"same", "other"}},
			{Name: "c", Levels: []string{"same", "near", "slip", "other"}},
			{Name: "d", Levels: []string{"same", "other"}},
		},
		M:     []linkage.Table{{{0.8, 0.15, 0.05}}, {{0.9, 0.1}}, {{0.7, 0.1, 0.1, 0.1}}, {{0.95, 0.05}}},
		U:     []linkage.Table{{{0.05, 0.15, 0.8}}, {{0.1, 0.9}}, {{0.02, 0.08, 0.1, 0.8}}, {{0.2, 0.8}}},
		Share: 0.2,
	}
}

// startOf is where a learner that knows little starts.
func startOf(m *linkage.Model) *linkage.Model {
	s := *m
	s.M, s.U, s.Share = nil, nil, 0.1
	table := func(rows, levels int, first float64) linkage.Table {
		var t linkage.Table
		for range rows {
			row := []float64{first}
			for range levels - 1 {
				row = append(row, (1-first)/float64(levels-1))
			}
			t = append(t, row)
		}
		return t
	}
	for i := range m.Fields {
		s.M = append(s.M, table(m.RowsM(i), len(m.Fields[i].Levels), 0.7))
		s.U = append(s.U, table(m.RowsU(i), len(m.Fields[i].Levels), 0.2))
	}
	return &s
}

// TestEMFindsTheTruth: from two hundred thousand pairs that were drawn from a
// model, that model comes back within what chance leaves open.
func TestEMFindsTheTruth(t *testing.T) {
	truth := plain()
	counts := simulate(truth, rand.New(rand.NewPCG(3, 5)), 200_000)
	got, rep, err := linkage.EM(counts, startOf(truth), linkage.Options{Steps: 3000})
	if err != nil {
		t.Fatal(err)
	}
	if !rep.Settled || math.Abs(got.Share-truth.Share) > 0.01 || math.Abs(rep.Matched-got.Share*200_000) > 1 {
		t.Errorf("share %.4f, want %.4f; %+v", got.Share, truth.Share, rep)
	}
	for i := range truth.Fields {
		for l := range truth.Fields[i].Levels {
			if dm, du := got.M[i][0][l]-truth.M[i][0][l], got.U[i][0][l]-truth.U[i][0][l]; math.Abs(dm) > 0.02 || math.Abs(du) > 0.01 {
				t.Errorf("field %d, level %d: m off by %.4f, u by %.4f", i, l, dm, du)
			}
		}
	}
}

// TestEMClimbs: no step makes the pairs less likely.
func TestEMClimbs(t *testing.T) {
	counts := simulate(plain(), rand.New(rand.NewPCG(8, 1)), 3000)
	rapid.Check(t, func(t *rapid.T) {
		start := startOf(plain())
		start.Share = rapid.Float64Range(0.01, 0.9).Draw(t, "share")
		before := math.Inf(-1)
		for steps := 1; steps < 30; steps += 4 {
			_, rep, err := linkage.EM(counts, start, linkage.Options{Steps: steps, Tolerance: 1e-300})
			if err != nil {
				t.Fatal(err)
			}
			if rep.LogLikelihood < before-1e-6 {
				t.Fatalf("after %d steps %.9f, before that %.9f", steps, rep.LogLikelihood, before)
			}
			before = rep.LogLikelihood
		}
	})
}

func TestThreshold(t *testing.T) {
	ps := []float64{0.999, 0.99, 0.95, 0.6, 0.2}
	// Worked by hand: wrong are expected 0.001, 0.011, 0.061, 0.461, 1.261 of
	// 1, 2, 3, 4, 5.
	for _, c := range []struct{ wrong, least, want float64 }{
		{0.01, 0, 0.99}, {0.021, 0, 0.95}, {0.0005, 0, 2}, {0.5, 0, 0}, {0.5, 0.5, 0.5}, {0.02, 0.97, 0.97},
	} {
		if got := linkage.Threshold(ps, c.wrong, c.least); got != c.want {
			t.Errorf("at most %g wrong, not below %g: %g, want %g", c.wrong, c.least, got, c.want)
		}
	}
	e := linkage.At(ps, 0.95)
	if e.Links != 3 || math.Abs(e.False-0.061) > 1e-12 || math.Abs(e.Missed-0.8) > 1e-12 || math.Abs(e.Rate()-0.061/3) > 1e-12 {
		t.Errorf("%+v", e)
	}
}
