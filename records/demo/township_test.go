package demo_test

import (
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
)

func TestTownshipIsAsSaid(t *testing.T) {
	town := demo.Make(1)
	if n := len(town.Wells); n != 900 {
		t.Fatalf("%d wells", n)
	}
	vocabulary := lithology.Default()
	var unread, strata, dry, bounds int
	for _, w := range town.Wells {
		for _, f := range w.Validate(records.ValidateOptions{Today: records.Date{Year: 2026, Month: 1, Day: 1}, Reader: vocabulary}) {
			if f.Severity == records.Refusal {
				t.Errorf("%s would be refused: %s", w.Number, f)
			}
		}
		for i := range w.Strata {
			strata++
			if vocabulary.Ground(&w.Strata[i]).Class == records.ClassUnknown {
				unread++
				t.Logf("%s: not read: %q", w.Number, w.Strata[i].Description)
			}
		}
		switch {
		case w.Yield.Qualifier.IsBound():
			bounds++
		case w.Yield.Known() && w.Yield.Value == 0:
			dry++
		}
	}
	if unread > 0 {
		t.Errorf("%d of %d strata were not read", unread, strata)
	}
	if dry < 10 || dry > 120 || bounds < 10 {
		t.Errorf("%d dry holes and %d yields that are bounds", dry, bounds)
	}
	linked, loose := 0, 0
	for _, p := range town.Plates {
		if p.Well >= 0 {
			linked++
		} else {
			loose++
		}
	}
	if linked < 200 || loose < 30 {
		t.Errorf("%d plates linked, %d not", linked, loose)
	}
	for _, l := range town.Layers {
		if _, err := desk.LayerLines(l.GeoJSON); err != nil {
			t.Errorf("layer %s: %v", l.Name, err)
		}
	}
}

func TestSameSeedSameTownship(t *testing.T) {
	a, b := demo.Make(7), demo.Make(7)
	for i := range a.Wells {
		x := string(a.Wells[i].AppendProperties(nil, records.WriteOptions{Private: true}))
		if y := string(b.Wells[i].AppendProperties(nil, records.WriteOptions{Private: true})); x != y {
			t.Fatalf("well %d differs:\n%s\n%s", i, x, y)
		}
	}
}

// The plates that were met in the field are valid, say that they are invented,
// and are the same each time.
func TestFieldPlates(t *testing.T) {
	today := records.Date{Year: 2026, Month: 11, Day: 25}
	list := demo.Make(9).FieldPlates(today)
	again := demo.Make(9).FieldPlates(today)
	if len(list) < 8 || len(again) != len(list) {
		t.Fatalf("%d plates, then %d", len(list), len(again))
	}
	for i, p := range list {
		if faults := p.Validate(records.ValidateOptions{Today: today}); records.Refuses(faults) || len(p.Seen) != 1 || p.Seen[0].By != "invented walker" {
			t.Errorf("plate %s: %v", p.Number, faults)
		}
		if string(p.AppendPlate(nil)) != string(again[i].AppendPlate(nil)) {
			t.Errorf("plate %d is another one each time", i)
		}
	}
}
