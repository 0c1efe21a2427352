package plates_test

import (
	"testing"

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

func TestInventedPlates(t *testing.T) {
	v := invent(1, 30_000, 3000)
	r, err := plates.Match(t.Context(), v.plates, v.records, plates.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []float64{r.Threshold, 0.5, 0} {
		s := v.score(r, at)
		t.Logf("from %.4f: %d links, %d wrong, %.1f expected; precision %.4f, recall %.4f", at, s.links, s.wrong(), s.expected, s.precision(), s.recall())
	}
	t.Logf("%+v share %.4f", r.Learned, r.Model.Share)
	n := 0
	for i, m := range r.Plates {
		if n < 6 && m.Best != nil && m.Best.WellID != v.truth[i] && m.Best.Probability > r.Threshold {
			n++
			t.Logf("WRONG %.5f (truth %d, wrong fields %d)", m.Best.Probability, v.truth[i], v.wrong[i])
			r.Explain(m.Best)
			for _, f := range m.Best.Fields {
				t.Log("    ", f.Words)
			}
			for _, o := range m.Others {
				if o.WellID == v.truth[i] {
					t.Log("   true one", o.Probability)
					for _, f := range o.Fields {
						t.Log("    ", f.Words)
					}
				}
			}
		}
	}
	for i, m := range r.Plates {
		if n < 12 && v.truth[i] != 0 && (m.Best == nil || m.Best.Probability < r.Threshold) {
			n++
			t.Logf("MISSED (truth %d, wrong fields %d)", v.truth[i], v.wrong[i])
			if m.Best != nil {
				t.Log(m.Best.Probability, m.Best.WellID == v.truth[i])
				for _, f := range m.Best.Fields {
					t.Log("    ", f.Words)
				}
			}
		}
	}
}
