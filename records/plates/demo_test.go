package plates_test

import (
	"context"
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/plates"
)

// list is a source in memory.
type list []records.Compared

func (l list) Compared(_ context.Context, fn func([]records.Compared) error) error { return fn(l) }

// TestTownship matches the plates of the invented township, whose makers know
// which well each was made for. No record there bears a plate's number.
func TestTownship(t *testing.T) {
	town := demo.Make(1)
	var source list
	for i, w := range town.Wells {
		w.ID = int64(i + 1)
		source = append(source, w.Comparison())
	}
	var ps []*records.Plate
	linked := 0
	for i, p := range town.Plates {
		p.Plate.ID = int64(i + 1)
		ps = append(ps, p.Plate)
		if p.Well >= 0 {
			linked++
		}
	}
	r, err := plates.Match(t.Context(), ps, source, plates.Options{Feet: true})
	if err != nil {
		t.Fatal(err)
	}
	right, other := 0, 0
	for i, m := range r.Plates {
		switch well := town.Plates[i].Well; {
		case well < 0 || m.Best == nil || m.Best.Probability < r.Threshold:
		case int(m.Best.WellID) == well+1:
			right++
		default:
			other++
		}
	}
	// Two of the links are exchanged on purpose: the records know better.
	if other != 2 || right < (linked-2)*95/100 {
		t.Errorf("of %d links, %d proposed as they are and %d otherwise; want 2 otherwise", linked, right, other)
	}
	for _, f := range r.Plates[0].Best.Fields {
		t.Log(f.Words)
	}
	t.Logf("%d right, %d otherwise, threshold %.3f, %+v, %+v", right, other, r.Threshold, r.At(r.Threshold), r.Learned)
}
