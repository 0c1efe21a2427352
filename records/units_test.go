package records_test

import (
	"math"
	"strconv"
	"testing"

	"tallybook/records"
)

// Exact by definition: the international yard and pound (1959): 1 ft =
// 0.3048 m, 1 in = 25.4 mm, 1 lb = 0.45359237 kg; the US gallon of 231 cubic
// inches = 3.785411784 L; the imperial gallon of 4.54609 L (UK, 1985);
// standard gravity 9.80665 m/s2 (CGPM 1901). Factors below are written out
// from these, not from the code.
func TestUnitsAreExact(t *testing.T) {
	for _, c := range []struct {
		unit records.Unit
		want float64 // base units in one
	}{
		{records.Metre, 1}, {records.Foot, 0.3048}, {records.Inch, 0.0254}, {records.Centimetre, 0.01}, {records.Fathom, 1.8288},
		{records.Millimetre, 1}, {records.InchDiameter, 25.4}, {records.CentimetreDiameter, 10}, {records.FootDiameter, 304.8},
		{records.LitrePerSecond, 1}, {records.GallonPerMinute, 0.0630901964}, {records.GallonPerHour, 3.785411784 / 3600},
		{records.ImperialGallonPerMinute, 4.54609 / 60}, {records.LitrePerMinute, 1.0 / 60}, {records.CubicMetrePerHour, 1 / 3.6},
		{records.CubicMetrePerDay, 1 / 86.4}, {records.CubicFootPerSecond, 28.316846592},
		{records.Litre, 1}, {records.Gallon, 3.785411784}, {records.ImperialGallon, 4.54609}, {records.CubicFoot, 28.316846592}, {records.CubicMetre, 1000},
		{records.Minute, 1}, {records.Second, 1.0 / 60}, {records.Hour, 60}, {records.Day, 1440},
		{records.Kilopascal, 1}, {records.Bar, 100},
		{records.PoundPerSquareInch, 0.45359237 * 9.80665 / (0.0254 * 0.0254) / 1000},
		{records.Kilowatt, 1}, {records.Horsepower, 550 * 0.3048 * 0.45359237 * 9.80665 / 1000},
		{records.Kilogram, 1}, {records.Pound, 0.45359237},
	} {
		if got := c.unit.ToBase(1); math.Abs(got/c.want-1) > 1e-15 {
			t.Errorf("1 %s = %.17g, want %.17g", c.unit.Symbol(), got, c.want)
		}
		if got := c.unit.FromBase(c.unit.ToBase(7)); math.Abs(got-7) > 1e-14 {
			t.Errorf("7 %s there and back: %v", c.unit.Symbol(), got)
		}
	}
}

// Whole and simple decimal numbers of feet, inches and gallons must come to
// the float64 nearest to the exact decimal, so that they print as it, and
// back to what was given.
func TestConversionsPrintAsTheirExactDecimals(t *testing.T) {
	for _, c := range []struct {
		unit records.Unit
		v    string
		want string
	}{
		{records.Foot, "18", "5.4864"}, {records.Foot, "22", "6.7056"}, {records.Foot, "203", "61.8744"}, {records.Foot, "188", "57.3024"},
		{records.InchDiameter, "6", "152.4"}, {records.InchDiameter, "6.625", "168.275"}, {records.GallonPerMinute, "6", "0.3785411784"},
		{records.Gallon, "120", "454.24941408"}, {records.ImperialGallon, "3", "13.63827"}, {records.Pound, "94", "42.63768278"},
	} {
		v, err := strconv.ParseFloat(c.v, 64)
		if err != nil {
			t.Fatal(err)
		}
		base := c.unit.ToBase(v)
		if got := strconv.FormatFloat(base, 'f', -1, 64); got != c.want {
			t.Errorf("%s %s = %s, want %s", c.v, c.unit.Symbol(), got, c.want)
		}
		if got := strconv.FormatFloat(c.unit.FromBase(base), 'f', -1, 64); got != c.v {
			t.Errorf("%s %s came back as %s", c.v, c.unit.Symbol(), got)
		}
	}
	for feet := range 5000 {
		want := strconv.FormatInt(int64(feet)*3048, 10) // ten-thousandths of a metre
		if got := strconv.FormatFloat(records.Foot.ToBase(float64(feet))*10000, 'f', 0, 64); got != want {
			t.Fatalf("%d ft = %s", feet, got)
		}
		if back := records.Foot.FromBase(records.Foot.ToBase(float64(feet))); back != float64(feet) {
			t.Fatalf("%d ft came back as %v", feet, back)
		}
	}
}

// Rounded factors that tables print: 1 cfs = 448.831 gpm; 1 ft3 = 7.480519
// gal; 1 gpm = 5.450993 m3/d; 1 psi = 6.894757 kPa (NIST SP 811, Appendix B,
// from memory); 1 hp = 0.7456999 kW (likewise).
func TestUnitsAgreeWithPrintedTables(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
		half      float64 // of the last digit printed
	}{
		{"gpm in 1 cfs", records.GallonPerMinute.FromBase(records.CubicFootPerSecond.ToBase(1)), 448.831, 0.0005},
		{"gal in 1 ft3", records.Gallon.FromBase(records.CubicFoot.ToBase(1)), 7.480519, 0.0000005},
		{"m3/d in 1 gpm", records.CubicMetrePerDay.FromBase(records.GallonPerMinute.ToBase(1)), 5.450993, 0.0000005},
		{"kPa in 1 psi", records.PoundPerSquareInch.ToBase(1), 6.894757, 0.0000005},
		// As the laws count them, from memory: see MinersInch40.
		{"miner's inches of 1/40 in 1 cfs", records.MinersInch40.FromBase(records.CubicFootPerSecond.ToBase(1)), 40, 1e-9},
		{"miner's inches of 1/50 in 1 cfs", records.MinersInch50.FromBase(records.CubicFootPerSecond.ToBase(1)), 50, 1e-9},
		{"miner's inches of Colorado in 1 cfs", records.MinersInchColorado.FromBase(records.CubicFootPerSecond.ToBase(1)), 38.4, 1e-9},
		{"kW in 1 hp", records.Horsepower.ToBase(1), 0.7456999, 0.00000005},
	} {
		if math.Abs(c.got-c.want) > c.half {
			t.Errorf("%s: %.9g, printed %v", c.name, c.got, c.want)
		}
	}
}

func TestEveryUnitCanBeFound(t *testing.T) {
	seen := 0
	for d := range records.DimMass + 1 {
		units := d.Units()
		if d == records.DimNone {
			continue
		}
		if len(units) == 0 || units[0] != d.Base() {
			t.Errorf("dimension %d: the base unit does not come first", d)
		}
		for _, u := range units {
			seen++
			if u.Dimension() != d || u.Symbol() == "" || u.Suffix() == "" {
				t.Errorf("unit %d of dimension %d is not described", u, d)
			}
			for _, s := range []string{u.Symbol(), u.Suffix()} {
				if got, ok := d.UnitBySymbol(s); !ok || got != u {
					t.Errorf("%q finds %v, want %v", s, got, u)
				}
			}
		}
	}
	if seen != 36 {
		t.Errorf("%d units have a dimension; the tests above know 36", seen)
	}
	if _, ok := records.DimLength.UnitBySymbol("gpm"); ok {
		t.Error("a depth can be given in gpm")
	}
	if u := records.Unit(255); u.Symbol() != "" || u.ToBase(2) != 2 {
		t.Error("a unit that does not exist is taken for one")
	}
}

func TestEveryCodeHasAWord(t *testing.T) {
	words := map[string]bool{}
	for _, c := range records.Codes() {
		w := c.String()
		if w == "" || words[w] || (w == "internal") != (c == records.Internal) {
			t.Errorf("code %d has the word %q", c, w)
		}
		words[w] = true
		if got := records.CodeOf(records.Errorf(c, "x")); got != c {
			t.Errorf("an error of code %v has code %v", c, got)
		}
	}
	if records.Code(200).String() != "internal" || words[records.Code(len(words)).String()] && records.Code(len(words)).String() != "internal" {
		t.Error("Codes does not list every code")
	}
}
