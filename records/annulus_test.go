package records_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func annulus(hole, outside string, feet string) *records.Well {
	return &records.Well{
		Bores:  []records.Bore{{From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth](feet), Diameter: recordstest.Inches(hole)}},
		Casing: []records.Casing{{From: recordstest.Feet[records.Depth]("-2"), To: recordstest.Feet[records.Depth](feet), OutsideDia: recordstest.Inches(outside)}},
	}
}

// Cubic feet and US gallons a foot between hole and casing, computed from
// pi/4 (D^2 - d^2) with the exact factors and printed to five and four
// places. A supplier's bulletin prints 0.98356 ft3/ft for the 16 in hole, with
// 16 in rounded to 1.33 ft.
func TestAnnulusVolume(t *testing.T) {
	for _, c := range []struct {
		hole, outside  string
		cubicFt, gallo float64
	}{
		{"6.5", "4.500", 0.11999, 0.8976},
		{"8", "4.500", 0.23862, 1.7850},
		{"8", "6.625", 0.10968, 0.8205},
		{"8.5", "5.563", 0.22527, 1.6852},
		{"8.75", "6.625", 0.17820, 1.3330},
		{"9", "6.625", 0.20240, 1.5141},
		{"9.875", "6.625", 0.29248, 2.1879},
		{"10", "4.500", 0.43497, 3.2538},
		{"10", "6.625", 0.30603, 2.2893},
		{"12", "8.625", 0.37966, 2.8401},
		{"12.25", "8.625", 0.41273, 3.0874},
		{"14", "10.750", 0.43872, 3.2818},
		{"16", "8.625", 0.99053, 7.4096},
	} {
		got, ok := annulus(c.hole, c.outside, "100").AnnulusVolume(0, records.Depth(records.Foot.ToBase(1)))
		if !ok {
			t.Errorf("%s in %s: not known", c.outside, c.hole)
			continue
		}
		if v := records.CubicFoot.FromBase(float64(got)); math.Abs(v-c.cubicFt) > 0.0000051 {
			t.Errorf("%s in %s: %.7f ft3/ft, want %v", c.outside, c.hole, v, c.cubicFt)
		}
		if v := records.Gallon.FromBase(float64(got)); math.Abs(v-c.gallo) > 0.000051 {
			t.Errorf("%s in %s: %.6f gal/ft, want %v", c.outside, c.hole, v, c.gallo)
		}
	}
}

// Worked by hand from the table above: 100 ft of 10 in hole with 6.625 in
// casing hold 228.93 gal; 300 gal and 20 more are 1.3978 times that.
func TestGroutOverrun(t *testing.T) {
	w := annulus("10", "6.625", "100")
	g := records.Grout{
		From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth]("100"),
		Placed:   recordstest.Read[records.Volume]("300", records.DimVolume, records.Gallon),
		ToppedUp: recordstest.Read[records.Volume]("20", records.DimVolume, records.Gallon),
	}
	ratio, volume, ok := w.GroutOverrun(&g)
	if !ok || math.Abs(ratio-320/228.93) > 5e-5 || math.Abs(records.Gallon.FromBase(float64(volume))-228.93) > 0.005 {
		t.Errorf("ratio %v of %v L, %v", ratio, volume, ok)
	}
	// Half of it in a 12 in hole: 50 x 2.2893 + 50 x 0.0408 (144 - 43.890625).
	w.Bores = append(w.Bores, records.Bore{From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth]("50"), Diameter: recordstest.Inches("12")})
	_, volume, ok = w.GroutOverrun(&g)
	if want := 50*2.2893 + 50*0.0407999*(144-43.890625); !ok || math.Abs(records.Gallon.FromBase(float64(volume))-want) > 0.01 {
		t.Errorf("two diameters: %v gal, want %v", records.Gallon.FromBase(float64(volume)), want)
	}
	for name, change := range map[string]func(w *records.Well, g *records.Grout){
		"placed not known":   func(_ *records.Well, g *records.Grout) { g.Placed = records.Amount[records.Volume]{} },
		"hole not known":     func(w *records.Well, _ *records.Grout) { w.Bores = nil },
		"hole known in part": func(w *records.Well, _ *records.Grout) { w.Bores[0].To = recordstest.Feet[records.Depth]("60") },
		"no casing":          func(w *records.Well, _ *records.Grout) { w.Casing = nil },
		"nominal size alone": func(w *records.Well, _ *records.Grout) {
			w.Casing[0].OutsideDia, w.Casing[0].Diameter = records.Amount[records.Diameter]{}, recordstest.Inches("6")
		},
		"casing does not fit":  func(w *records.Well, _ *records.Grout) { w.Casing[0].OutsideDia = recordstest.Inches("10") },
		"grout runs backwards": func(_ *records.Well, g *records.Grout) { g.From, g.To = g.To, g.From },
	} {
		w, g := annulus("10", "6.625", "100"), g
		change(w, &g)
		if ratio, _, ok := w.GroutOverrun(&g); ok {
			t.Errorf("%s: ratio %v", name, ratio)
		}
	}
}
