package scout_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/scout"
)

// site is an invented pin; east and north are metres from it, along geodesics.
var site = position.LonLat{Lon: -72.5, Lat: 44.25}

func off(east, north float64) position.LonLat {
	return position.Destination(site, math.Atan2(east, north)*180/math.Pi, math.Hypot(east, north))
}

func ring(half, shift float64) []position.LonLat {
	return []position.LonLat{off(shift-half, -half), off(shift+half, -half), off(shift+half, half), off(shift-half, half)}
}

func ownRules() []scout.LocalRule {
	return []scout.LocalRule{
		{Kind: "septic_tank", Distance: records.Of(records.Length(50 * ft)), Regulation: "invented rule", Year: 2020},
		{Kind: "septic_tank", Distance: records.Of(records.Length(75 * ft)), Regulation: "invented stricter rule", Year: 2021},
		{Kind: "leach_field", Distance: records.Of(records.Length(100 * ft)), Regulation: "invented rule", Year: 2020},
		{Kind: "property_line", Distance: records.Of(records.Length(10 * ft)), Regulation: "invented rule", Year: 2020},
		{Kind: scout.OverheadLine, Distance: records.Of(records.Length(10)), Regulation: "invented rule", Year: 2020},
	}
}

func TestSetbacks(t *testing.T) {
	point := func(east, north float64) scout.Shape {
		return scout.Shape{Kind: scout.Points, Parts: [][]position.LonLat{{off(east, north)}}}
	}
	line := func(at ...position.LonLat) scout.Shape {
		return scout.Shape{Kind: scout.Lines, Parts: [][]position.LonLat{at}}
	}
	area := func(rings ...[]position.LonLat) scout.Shape { return scout.Shape{Kind: scout.Areas, Parts: rings} }
	for _, c := range []struct {
		name      string
		hazard    scout.Hazard
		accuracyM float64
		distanceM float64
		verdict   scout.Verdict
		shortM    float64
	}{
		{"a point too near, by the stricter rule", scout.Hazard{Kind: "septic_tank", Shape: point(12, 16)}, 0, 20, scout.TooNear, 75*ft - 20},
		{"a point far enough", scout.Hazard{Kind: "septic_tank", Shape: point(-30, 0)}, 0, 30, scout.FarEnough, 0},
		{"far enough, but for the pin's accuracy", scout.Hazard{Kind: "septic_tank", Shape: point(-30, 0)}, 10, 30, scout.Doubtful, 0},
		{"far enough, but for its own accuracy", scout.Hazard{Kind: "septic_tank", Shape: point(-30, 0), AccuracyM: 9}, 0, 30, scout.Doubtful, 0},
		{"exactly as far", scout.Hazard{Kind: "septic_tank", Shape: point(0, 75*ft)}, 0, 75 * ft, scout.FarEnough, 0},
		{"a line that passes between its ends", scout.Hazard{Kind: "leach_field", Shape: line(off(-100, 40), off(100, 40))}, 0, 40, scout.FarEnough, 0},
		{"a line whose end is nearest", scout.Hazard{Kind: "leach_field", Shape: line(off(3, 4), off(100, 4))}, 0, 5, scout.TooNear, 100*ft - 5},
		{"within an area", scout.Hazard{Kind: "leach_field", Shape: area(ring(50, 0))}, 0, 0, scout.TooNear, 100 * ft},
		{"beside an area", scout.Hazard{Kind: "leach_field", Shape: area(ring(20, 60))}, 0, 40, scout.FarEnough, 0},
		{"in the hole of an area", scout.Hazard{Kind: "leach_field", Shape: area(ring(80, 0), ring(40, 0))}, 0, 40, scout.FarEnough, 0},
		{"within one's own lot: its line counts", scout.Hazard{Kind: "property_line", Shape: area(ring(40, 0))}, 0, 40, scout.FarEnough, 0},
		{"no rule", scout.Hazard{Kind: "building", Shape: point(1, 0)}, 0, 1, scout.NoRule, 0},
		{"an overhead line far away", scout.Hazard{Kind: scout.OverheadLine, Shape: line(off(-500, 300), off(500, 300))}, 0, 300, scout.Look, 0},
		{"an overhead line near", scout.Hazard{Kind: scout.OverheadLine, Shape: line(off(-50, 6), off(50, 6))}, 0, 6, scout.TooNear, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, none := scout.CheckSetbacks(site, c.accuracyM, []scout.Hazard{c.hazard}, ownRules())
			if len(got) != 1 || none != 0 {
				t.Fatalf("%d setbacks, %d without a position", len(got), none)
			}
			s := got[0]
			near(t, "distance", s.DistanceM, c.distanceM, 1e-4)
			near(t, "too near by", s.ShortM, c.shortM, 1e-4)
			if s.Verdict != c.verdict || s.Caution == "" {
				t.Errorf("verdict %v, want %v; caution %q", s.Verdict, c.verdict, s.Caution)
			}
		})
	}
}

// TestOverheadLinesAreNeverFarEnough whatever rules, distance and accuracy.
func TestOverheadLinesAreNeverFarEnough(t *testing.T) {
	for _, rules := range [][]scout.LocalRule{nil, ownRules()} {
		for _, d := range []float64{0, 5, 50, 5000} {
			h := scout.Hazard{Kind: scout.OverheadLine, Shape: scout.Shape{Kind: scout.Points, Parts: [][]position.LonLat{{off(0, d)}}}}
			got, _ := scout.CheckSetbacks(site, 0, []scout.Hazard{h}, rules)
			if v := got[0].Verdict; v != scout.Look && v != scout.TooNear || !strings.Contains(got[0].Caution, "kill") {
				t.Errorf("%g m: %v, %q", d, v, got[0].Caution)
			}
		}
	}
}

func TestSetbacksInOrder(t *testing.T) {
	far := scout.Hazard{Kind: "building", Name: "far", Shape: scout.Shape{Kind: scout.Points, Parts: [][]position.LonLat{{off(90, 0)}}}}
	close := scout.Hazard{Kind: "building", Name: "close", Shape: scout.Shape{Kind: scout.Points, Parts: [][]position.LonLat{{off(9, 0)}}}}
	got, none := scout.CheckSetbacks(site, 0, []scout.Hazard{far, {Kind: "road"}, close}, nil)
	if none != 1 || len(got) != 2 || got[0].Hazard.Name != "close" {
		t.Errorf("%d without a position, %v", none, got)
	}
}

func TestExampleRulesAreExamples(t *testing.T) {
	for _, table := range scout.ExampleRules() {
		if faults := table.Validate(); len(faults) != 0 {
			t.Errorf("%s: %v", table.Name, faults)
		}
		if !strings.Contains(table.Note, "never a default") {
			t.Errorf("%s does not say that it is an example", table.Name)
		}
		again, faults := scout.ParseRules(table.AppendJSON(nil))
		if len(faults) != 0 || len(again.Rules) != len(table.Rules) {
			t.Errorf("%s does not come back from its own text: %v", table.Name, faults)
		}
		for i, r := range again.Rules {
			was := table.Rules[i]
			if math.Abs(float64(r.Distance.Value-was.Distance.Value)) > 1e-9 || r.Kind != was.Kind || r.Year != was.Year {
				t.Errorf("%s: %v came back as %v", table.Name, was, r)
			}
		}
	}
}

func TestWrongRules(t *testing.T) {
	_, faults := scout.ParseRules([]byte(`{"rules":[{"kind":"","distance_m":-1,"year":20.5},{"distance_ft":3,"colour":"red"}]}`))
	var fields []string
	for _, f := range faults {
		if f.Severity == records.Refusal {
			fields = append(fields, f.Field)
		}
	}
	want := []string{"rules[0].year", "rules[1].distance_ft", "rules[1].colour", "units", "rules[0].kind", "rules[0].distance", "rules[0].regulation",
		"rules[1].kind", "rules[1].distance", "rules[1].regulation"}
	if diff := cmp.Diff(want, fields); diff != "" {
		t.Error(diff, faults)
	}
}

// FuzzRules: as FuzzRates.
func FuzzRules(f *testing.F) {
	f.Add(scout.ExampleRules()[0].AppendJSON(nil))
	f.Add([]byte(`{"units":"si","rules":[{"kind":"road","distance_m":1e2,"regulation":"r","year":1.9e3}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, faults := scout.ParseRules(text)
		if len(faults) > 200 {
			t.Fatalf("%d faults", len(faults))
		}
		if records.Refuses(faults) {
			return
		}
		again, faults := scout.ParseRules(r.AppendJSON(nil))
		if records.Refuses(faults) {
			t.Fatal(faults)
		}
		if diff := cmp.Diff(r, again); diff != "" {
			t.Fatal(diff)
		}
	})
}
