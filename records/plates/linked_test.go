package plates_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/plates"
)

// score is how a result stands against the truth.
type score struct {
	links, right int
	expected     float64 // wrong links that were expected
	withRecord   int     // plates whose record is in the file
}

func (s score) wrong() int         { return s.links - s.right }
func (s score) precision() float64 { return float64(s.right) / max(1, float64(s.links)) }
func (s score) recall() float64    { return float64(s.right) / max(1, float64(s.withRecord)) }

func (v *invented) score(r *plates.Result, threshold float64) score {
	var s score
	for i, m := range r.Plates {
		if v.truth[i] != 0 {
			s.withRecord++
		}
		if m.Best == nil || m.Best.Probability < threshold {
			continue
		}
		s.links++
		s.expected += 1 - m.Best.Probability
		if m.Best.WellID == v.truth[i] {
			s.right++
		}
	}
	return s
}

func (s *score) plus(o score) {
	s.links, s.right, s.expected, s.withRecord = s.links+o.links, s.right+o.right, s.expected+o.expected, s.withRecord+o.withRecord
}

func match(t *testing.T, v *invented) *plates.Result {
	t.Helper()
	r, err := plates.Match(t.Context(), v.plates, v.records, plates.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if e := r.At(r.Threshold); e.Links != v.score(r, r.Threshold).links || math.Abs(e.False-v.score(r, r.Threshold).expected) > 1e-6 {
		t.Errorf("the result says %+v of its own threshold, counted are %+v", e, v.score(r, r.Threshold))
	}
	return r
}

// TestInventedPlates: what is offered at the default threshold is right, and
// little is missed, from a handful of plates to many more than the half of all
// records.
func TestInventedPlates(t *testing.T) {
	for name, c := range map[string]struct {
		seed            uint64
		records, plates int
	}{
		"few of few":   {6, 900, 60},
		"most of few":  {7, 1000, 800},
		"few of many":  {8, 20_000, 200},
		"most of many": {9, 5000, 4500},
		"some of many": {1, 20_000, 2000},
	} {
		t.Run(name, func(t *testing.T) {
			v := invent(c.seed, c.records, c.plates)
			r := match(t, v)
			s := v.score(r, r.Threshold)
			t.Logf("from %.3f: %d links, %d wrong, %.2f expected; precision %.4f, recall %.4f; share %.3f",
				r.Threshold, s.links, s.wrong(), s.expected, s.precision(), s.recall(), r.Model.Share)
			// One wrong link may always happen: of sixty it is more than one in
			// two hundred.
			if s.wrong() > 1 && s.precision() < 0.995 || s.recall() < 0.95 {
				t.Errorf("precision %.4f, recall %.4f", s.precision(), s.recall())
			}
			if math.Abs(r.Model.Share-0.9) > 0.03 {
				t.Errorf("%.3f of the plates are taken to have their record here; nine in ten have", r.Model.Share)
			}
		})
	}
}

// TestWrongLinksAreAsExpected: over many plates as many links are wrong as were
// expected, within a factor of 1.5, at the default threshold and below it.
func TestWrongLinksAreAsExpected(t *testing.T) {
	if testing.Short() {
		t.Skip("a hundred thousand plates")
	}
	var first, all, bare score
	for seed := range uint64(3) {
		v := invent(21+seed, 150_000, 35_000)
		r := match(t, v)
		first.plus(v.score(r, r.Threshold))
		all.plus(v.score(r, 0.5))
		bare.plus(v.score(r, 0))
	}
	for _, c := range []struct {
		name string
		s    score
	}{{"at the default threshold", first}, {"from one half on", all}, {"all that are proposed", bare}} {
		t.Logf("%s: %d links, %d wrong, %.1f expected; precision %.5f, recall %.4f", c.name, c.s.links, c.s.wrong(), c.s.expected, c.s.precision(), c.s.recall())
		if ratio := c.s.expected / float64(c.s.wrong()); ratio < 1/1.5 || ratio > 1.5 {
			t.Errorf("%s: %d wrong, %.1f expected", c.name, c.s.wrong(), c.s.expected)
		}
	}
	if first.precision() < 0.995 || first.recall() < 0.95 {
		t.Errorf("at the default threshold precision %.5f, recall %.4f", first.precision(), first.recall())
	}
}

// TestReasonsAddUp: the reasons of a suggestion add up to its weight, and the
// probabilities of a plate to no more than one.
func TestReasonsAddUp(t *testing.T) {
	v := invent(3, 3000, 300)
	r := match(t, v)
	shown := 0
	for i := range r.Plates {
		m := &r.Plates[i]
		all := m.Others
		if m.Best != nil {
			all = append([]plates.Suggestion{*m.Best}, all...)
		}
		sum := m.None
		for _, s := range all {
			sum += s.Probability
			total := 0.0
			for _, f := range s.Fields {
				total += f.Weight
				if f.Words == "" || (f.Agreement == plates.Missing) != (f.Level == "") {
					t.Errorf("plate %d: a reason without words: %+v", m.PlateID, f)
				}
			}
			if math.Abs(total-s.Weight) > 1e-4 {
				t.Errorf("plate %d, well %d: the reasons add up to %.6f, the weight is %.6f", m.PlateID, s.WellID, total, s.Weight)
			}
			shown++
		}
		if sum > 1+1e-6 {
			t.Errorf("plate %d: the probabilities add up to %.9f", m.PlateID, sum)
		}
		if len(all) == 0 {
			continue
		}
		for _, f := range r.FieldsIn(&all[0], true) {
			if f.Name == "depth" && f.Left != "" && f.Left[len(f.Left)-2:] != "ft" {
				t.Errorf("a depth in feet is told as %q", f.Left)
			}
		}
	}
	if shown < 290 {
		t.Errorf("only %d were looked at", shown)
	}
}

// TestOneToOne: no record is the best of two plates, refused pairs are not
// proposed, and records that are taken are not offered.
func TestOneToOne(t *testing.T) {
	v := invent(4, 2500, 1100)
	free := match(t, v)
	refused := map[[2]int64]bool{}
	taken := map[int64]bool{}
	for i, m := range free.Plates {
		if m.Best != nil && i%10 == 0 {
			refused[[2]int64{m.PlateID, m.Best.WellID}] = true
		}
		if m.Best != nil && i%10 == 1 {
			taken[m.Best.WellID] = true
		}
	}
	r, err := plates.Match(t.Context(), v.plates, v.records, plates.Options{
		Refused: func(p, w int64) bool { return refused[[2]int64{p, w}] },
		Taken:   func(w int64) bool { return taken[w] },
	})
	if err != nil {
		t.Fatal(err)
	}
	used := map[int64]bool{}
	for _, m := range r.Plates {
		if m.Best == nil {
			continue
		}
		if w := m.Best.WellID; used[w] || taken[w] || refused[[2]int64{m.PlateID, w}] {
			t.Errorf("plate %d: well %d again %v, taken %v, refused %v", m.PlateID, w, used[w], taken[w], refused[[2]int64{m.PlateID, w}])
		}
		used[m.Best.WellID] = true
	}
	if len(refused) < 80 || len(taken) < 80 {
		t.Errorf("%d refused, %d taken: the test is weaker than it says", len(refused), len(taken))
	}
}

// TestSame: the same input gives the same answer, whatever the order in which
// processors come to it.
func TestSame(t *testing.T) {
	v := invent(5, 2500, 200)
	a, b := match(t, v), match(t, v)
	for i := range a.Plates {
		x, y := a.Plates[i].Best, b.Plates[i].Best
		if (x == nil) != (y == nil) || x != nil && (x.WellID != y.WellID || math.Abs(x.Probability-y.Probability) > 1e-9) {
			t.Fatalf("plate %d: %+v, then %+v", i, x, y)
		}
	}
}

// TestNothing: no plates, no records, plates that say nothing.
func TestNothing(t *testing.T) {
	v := invent(2, 50, 10)
	if r, err := plates.Match(t.Context(), nil, v.records, plates.Options{}); err != nil || len(r.Plates) != 0 || r.At(r.Threshold).Links != 0 {
		t.Errorf("no plates: %+v, %v", r, err)
	}
	if r, err := plates.Match(t.Context(), v.plates, list{}, plates.Options{}); err != nil || len(r.Plates) != 10 || r.Plates[0].Best != nil || r.Plates[0].None != 1 {
		t.Errorf("no records: %+v, %v", r, err)
	}
	blank := invent(2, 50, 10)
	for _, p := range blank.plates {
		*p = records.Plate{ID: p.ID}
	}
	r, err := plates.Match(t.Context(), blank.plates, v.records, plates.Options{})
	if err != nil || r.At(r.Threshold).Links != 0 {
		t.Errorf("plates that say nothing: %+v, %v", r.At(r.Threshold), err)
	}
	if d, err := plates.Duplicates(t.Context(), list{}, plates.Options{}); err != nil || len(d.Pairs) != 0 {
		t.Errorf("no records: %+v, %v", d, err)
	}
}

// TestAbsent: where most plates, or all, belong to holes of which there is no
// record, their neighbours' records are not taken for theirs.
func TestAbsent(t *testing.T) {
	for _, absent := range []int{600, 400, 240} {
		v := inventWith(43, 6000, 600, absent)
		r := match(t, v)
		s := v.score(r, r.Threshold)
		t.Logf("%d of 600 absent: %d links, %d wrong, %.1f expected, recall %.3f, share %.3f", absent, s.links, s.wrong(), s.expected, s.recall(), r.Model.Share)
		if s.wrong() > 2 || s.withRecord > 0 && s.recall() < 0.95 || math.Abs(r.Model.Share-float64(s.withRecord)/600) > 0.04 {
			t.Errorf("%d of 600 absent: %d links, %d wrong, recall %.3f, share %.3f", absent, s.links, s.wrong(), s.recall(), r.Model.Share)
		}
	}
}
