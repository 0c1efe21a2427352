package desk_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// TestSpan: the spread of a field is that of its values sorted.
func TestSpan(t *testing.T) {
	d, _ := newDesk(t)
	if s := d.Span(d.Picture(), snapshot.Bedrock, nil); s != (desk.Span{}) {
		t.Errorf("no wells have a spread: %+v", s)
	}
	mustTakeIn(t, d, features(400))
	deep := 75.0
	for _, filter := range []*snapshot.Filter{nil, {}, {Depth: snapshot.Range{Min: &deep}}} {
		for _, f := range snapshot.Fields() {
			m, err := d.Model(t.Context(), f, filter)
			if err != nil {
				t.Fatal(err)
			}
			var values []float64
			for _, r := range m.Selection.Rows {
				values = append(values, r.Value(f).Value)
			}
			slices.Sort(values)
			at := func(p float64) float64 { return values[int(p*float64(len(values)-1))] }
			want := desk.Span{Count: len(values), P3: at(0.03), P5: at(0.05), P50: at(0.5), P95: at(0.95), P97: at(0.97)}
			for range 2 { // read, and kept
				if got := d.Span(d.Picture(), f, filter); got != want {
					t.Errorf("%s %s: %+v, sorted %+v", f, filter.Key(), got, want)
				}
			}
		}
	}
	// What is kept goes when the records change.
	before := d.Span(d.Picture(), snapshot.Bedrock, nil)
	mustTakeIn(t, d, manyFeatures(5))
	if after := d.Span(d.Picture(), snapshot.Bedrock, nil); after.Count != before.Count+5 {
		t.Errorf("five wells more make %d of %d", after.Count, before.Count)
	}
}

// manyFeatures are wells that say how deep the rock is and nothing else.
func manyFeatures(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.4f,%.4f]},"properties":{"number":"M-%d","depth_to_bedrock_m":%d}}`+"\n",
			-39+0.01*float64(i%100), 43+0.01*float64(i/100), i, 3+(i*7)%20)
	}
	return b.String()
}

// TestModelSoon: of a large set it gives nothing at first and does not wait, of a
// small one it is Model.
func TestModelSoon(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(50))
	small, err := d.ModelSoon(t.Context(), snapshot.Bedrock, nil)
	if err != nil || small == nil {
		t.Fatalf("of fifty wells: %v, %v", small, err)
	}
	d, _ = newDesk(t)
	mustTakeIn(t, d, manyFeatures(6100))
	if m, err := d.ModelSoon(t.Context(), snapshot.Bedrock, nil); m != nil || err != nil {
		t.Errorf("of six thousand wells at once: %v, %v", m, err)
	}
	waited, err := d.Model(t.Context(), snapshot.Bedrock, nil)
	if err != nil {
		t.Fatal(err)
	}
	if m, err := d.ModelSoon(t.Context(), snapshot.Bedrock, nil); m != waited || err != nil {
		t.Errorf("made meanwhile: %p, %v; Model gave %p", m, err, waited)
	}
}

func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 60).Draw(t, "values")
		for i := range v {
			v[i] = math.Round(v[i]) // many alike
		}
		k := rapid.IntRange(0, len(v)-1).Draw(t, "place")
		sorted := slices.Sorted(slices.Values(v))
		if got := desk.Nth(v, k); got != sorted[k] || slices.Max(v[:k+1]) > got || slices.Min(v[k:]) < got {
			t.Fatalf("place %d of %v is %g", k, sorted, got)
		}
	})
}
