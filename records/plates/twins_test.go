package plates_test

import (
	"fmt"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/plates"
)

// withTwins adds second records of some wells, as files hold them: the same
// report taken in twice from another source, with its own number, what was
// copied wrongly, or later works in the same hole.
func withTwins(v *invented, seed uint64, share float64) (list, map[[2]int64]bool) {
	r := &inventor{Rand: newRand(seed)}
	out := append(list{}, v.records...)
	for i := range out {
		out[i].Owner = fmt.Sprintf("Invented %s%s", string(rune('A'+i%26)), strings.Repeat("o", 1+i/26%5)) + fmt.Sprintf(" %c. Owner%d", 'A'+i%20, i%997)
	}
	truth := map[[2]int64]bool{}
	n := len(out)
	for i := range n {
		if r.Float64() >= share {
			continue
		}
		c := r.asFiled(out[i])
		c.ID = int64(len(out) + 1)
		if r.Float64() < 0.6 {
			c.Number = fmt.Sprintf("%d", 100000+r.IntN(900000))
		} else if r.Float64() < 0.2 {
			c.Number = r.misread(c.Number)
		}
		switch w := r.Float64(); {
		case w < 0.12: // deepened later, in a record of its own
			c.Depth = exact(float64(int(c.Depth.Value*1.4/ft)) * ft)
			c.Completed.Year += 1 + r.IntN(15)
			c.Yield = records.DigestValue{}
		case w < 0.22 && c.Completed.Day > 0:
			c.Completed.Day = 1 + r.IntN(28)
		case w < 0.30:
			d := records.Of(records.Depth(c.Depth.Value))
			r.mislength(&d, nil)
			c.Depth = exact(float64(d.Value))
		}
		if r.Float64() < 0.3 {
			c.Owner = strings.Fields(c.Owner)[1]
		} else if r.Float64() < 0.2 {
			c.Owner = "Invented Nextowner"
		}
		truth[[2]int64{out[i].ID, c.ID}] = true
		out = append(out, c)
	}
	return out, truth
}

// TestInventedTwins: pairs of records of one well are found among records of
// streets of like wells, and the probability holds.
func TestInventedTwins(t *testing.T) {
	v := invent(41, 9000, 10)
	source, truth := withTwins(v, 42, 0.03)
	found, err := plates.Duplicates(t.Context(), source, plates.Options{Owners: true, Feet: true})
	if err != nil {
		t.Fatal(err)
	}
	var at [3]struct {
		right, wrong int
		expected     float64
	}
	from := [3]float64{found.Threshold, 0.5, 0.01}
	for i := range found.Pairs {
		p := &found.Pairs[i]
		if p.LeftID >= p.RightID || i > 0 && p.Probability > found.Pairs[i-1].Probability {
			t.Errorf("pair %d: %d, %d, %.4f", i, p.LeftID, p.RightID, p.Probability)
		}
		for k := range at {
			if p.Probability < from[k] {
				continue
			}
			at[k].expected += 1 - p.Probability
			if truth[[2]int64{p.LeftID, p.RightID}] {
				at[k].right++
			} else {
				at[k].wrong++
			}
		}
	}
	for k, s := range at {
		t.Logf("from %.3f: %d right of %d, %d wrong, %.1f expected", from[k], s.right, len(truth), s.wrong, s.expected)
	}
	if s := at[0]; s.wrong > 2 || s.right < len(truth)*94/100 {
		t.Errorf("at the default threshold %d right of %d, %d wrong", s.right, len(truth), s.wrong)
	}
	if s := at[2]; float64(s.wrong) > 1.5*s.expected+5 || float64(s.wrong) < s.expected/1.5-5 {
		t.Errorf("of all that are shown %d are wrong, %.1f were expected", s.wrong, s.expected)
	}
	// Owners are told only to those who may see them.
	shy, err := plates.Duplicates(t.Context(), source[:300], plates.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range shy.Pairs {
		for _, f := range p.Fields {
			if f.Name == "owner" || strings.Contains(f.Words, "Owner") {
				t.Fatalf("an owner was told: %s", f.Words)
			}
		}
	}
}

// TestNoTwins: in a file without any, neighbours are not taken for them.
func TestNoTwins(t *testing.T) {
	v := invent(43, 9000, 10)
	found, err := plates.Duplicates(t.Context(), v.records, plates.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if e := found.At(0.5); e.Links > 1 || found.Learned.Matched > 3 {
		t.Errorf("%d pairs are likelier than not, %.1f are taken to be of one well; there are none", e.Links, found.Learned.Matched)
	}
}
