package records_test

import (
	"math"
	"strings"
	"testing"

	"tallybook/records"
)

// Exact factors: the international foot (0.3048 m), the US gallon of 231
// cubic inches (3.785411784 L).
const (
	foot = 0.3048
	gpm  = 3.785411784 / 60
)

func TestParseAmount(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  records.Dimension
		unit records.Unit
		q    records.Qualifier
		want float64 // base units
		high float64
		in   records.Unit // the unit it was given in
	}{
		{"62", records.DimLength, records.Foot, records.Exact, 62 * foot, 0, records.Foot},
		{"62'", records.DimLength, records.Metre, records.Exact, 62 * foot, 0, records.Foot},
		{"62 ft", records.DimLength, records.Metre, records.Exact, 62 * foot, 0, records.Foot},
		{"62 FT.", records.DimLength, records.Metre, records.Exact, 62 * foot, 0, records.Foot},
		{"62 feet", records.DimLength, records.Metre, records.Exact, 62 * foot, 0, records.Foot},
		{"18.9m", records.DimLength, records.Foot, records.Exact, 18.9, 0, records.Metre},
		{"62'6\"", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62' 6\"", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62' 6", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62 ft 6 in", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62 feet 6 inches", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62′ 6½″", records.DimLength, records.Metre, records.Exact, (62 + 6.5/12) * foot, 0, records.Foot},
		{"62'-6\"", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62 ft - 6 in", records.DimLength, records.Metre, records.Exact, 62.5 * foot, 0, records.Foot},
		{"62 1/2", records.DimLength, records.Foot, records.Exact, 62.5 * foot, 0, records.Foot},
		{"10 fathoms", records.DimLength, records.Metre, records.Exact, 60 * foot, 0, records.Fathom},
		{"-2'6\"", records.DimLength, records.Metre, records.Exact, -2.5 * foot, 0, records.Foot},
		{"30 in", records.DimLength, records.Metre, records.Exact, 30 * 0.0254, 0, records.Inch},
		{"-0.5", records.DimLength, records.Metre, records.Exact, -0.5, 0, records.Metre},
		{"−0.5", records.DimLength, records.Metre, records.Exact, -0.5, 0, records.Metre},
		{".5", records.DimLength, records.Metre, records.Exact, 0.5, 0, records.Metre},
		{"5.", records.DimLength, records.Metre, records.Exact, 5, 0, records.Metre},
		{"1e3", records.DimLength, records.Metre, records.Exact, 1000, 0, records.Metre},
		{"1e-3 m", records.DimLength, records.Metre, records.Exact, 0.001, 0, records.Metre},

		{"<1", records.DimFlow, records.GallonPerMinute, records.LessThan, gpm, 0, records.GallonPerMinute},
		{"< 1 gpm", records.DimFlow, records.LitrePerSecond, records.LessThan, gpm, 0, records.GallonPerMinute},
		{"<.5", records.DimFlow, records.LitrePerSecond, records.LessThan, 0.5, 0, records.LitrePerSecond},
		{"less than .5", records.DimFlow, records.LitrePerSecond, records.LessThan, 0.5, 0, records.LitrePerSecond},
		{"≤ 2", records.DimFlow, records.LitrePerSecond, records.LessThan, 2, 0, records.LitrePerSecond},
		{"50+", records.DimFlow, records.GallonPerMinute, records.GreaterThan, 50 * gpm, 0, records.GallonPerMinute},
		{"50+ gpm", records.DimFlow, records.LitrePerSecond, records.GreaterThan, 50 * gpm, 0, records.GallonPerMinute},
		{"50 gpm+", records.DimFlow, records.LitrePerSecond, records.GreaterThan, 50 * gpm, 0, records.GallonPerMinute},
		{">100", records.DimFlow, records.GallonPerMinute, records.GreaterThan, 100 * gpm, 0, records.GallonPerMinute},
		{"over 100", records.DimFlow, records.GallonPerMinute, records.GreaterThan, 100 * gpm, 0, records.GallonPerMinute},
		{"~5", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"5+/-", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"5±", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"5?", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"approx. 5", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"est .5", records.DimFlow, records.GallonPerMinute, records.About, 0.5 * gpm, 0, records.GallonPerMinute},
		{"approximately 5", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"3-5", records.DimFlow, records.GallonPerMinute, records.Between, 3 * gpm, 5 * gpm, records.GallonPerMinute},
		{"3 – 5 gpm", records.DimFlow, records.LitrePerSecond, records.Between, 3 * gpm, 5 * gpm, records.GallonPerMinute},
		{"3 to 5", records.DimFlow, records.GallonPerMinute, records.Between, 3 * gpm, 5 * gpm, records.GallonPerMinute},
		{"60'-65'", records.DimLength, records.Metre, records.Between, 60 * foot, 65 * foot, records.Foot},
		{"0-1/2", records.DimFlow, records.GallonPerMinute, records.Between, 0, 0.5 * gpm, records.GallonPerMinute},

		{"abt 5", records.DimFlow, records.GallonPerMinute, records.About, 5 * gpm, 0, records.GallonPerMinute},
		{"5-7 gpm", records.DimFlow, records.LitrePerSecond, records.Between, 5 * gpm, 7 * gpm, records.GallonPerMinute},
		{"5 gpm to 7 gpm", records.DimFlow, records.LitrePerSecond, records.Between, 5 * gpm, 7 * gpm, records.GallonPerMinute},
		// California Water Code section 24: a miner's inch is 1.5 cubic feet a
		// minute; a cubic foot is 28.316846592 L (0.3048 m cubed). The section
		// is from memory, the product worked by hand.
		{"2 miner's inches (1/40 cfs)", records.DimFlow, records.LitrePerSecond, records.Exact, 2 * 1.5 * 28.316846592 / 60, 0, records.MinersInch40},
		{"10 miners inches (1/50)", records.DimFlow, records.LitrePerSecond, records.Exact, 0.2 * 28.316846592, 0, records.MinersInch50},
		{"384 miner's inches", records.DimFlow, records.MinersInchColorado, records.Exact, 10 * 28.316846592, 0, records.MinersInchColorado},

		{"1/2", records.DimFlow, records.GallonPerMinute, records.Exact, 0.5 * gpm, 0, records.GallonPerMinute},
		{"2 1/2", records.DimFlow, records.GallonPerMinute, records.Exact, 2.5 * gpm, 0, records.GallonPerMinute},
		{"½", records.DimFlow, records.GallonPerMinute, records.Exact, 0.5 * gpm, 0, records.GallonPerMinute},
		{"2½", records.DimFlow, records.GallonPerMinute, records.Exact, 2.5 * gpm, 0, records.GallonPerMinute},
		{"<½ gpm", records.DimFlow, records.LitrePerSecond, records.LessThan, 0.5 * gpm, 0, records.GallonPerMinute},
		{"6-5/8\"", records.DimDiameter, records.Millimetre, records.Exact, 6.625 * 25.4, 0, records.InchDiameter},
		{"6⅝", records.DimDiameter, records.InchDiameter, records.Exact, 6.625 * 25.4, 0, records.InchDiameter},
		{"3 ft", records.DimDiameter, records.InchDiameter, records.Exact, 914.4, 0, records.FootDiameter},
		{"1,200", records.DimLength, records.Metre, records.Exact, 1200, 0, records.Metre},
		{"1,200.5", records.DimLength, records.Metre, records.Exact, 1200.5, 0, records.Metre},
		{"18,9", records.DimLength, records.Metre, records.Exact, 18.9, 0, records.Metre},
		{"0,125", records.DimFlow, records.LitrePerSecond, records.Exact, 0.125, 0, records.LitrePerSecond},

		{"dry", records.DimFlow, records.GallonPerMinute, records.Exact, 0, 0, records.GallonPerMinute},
		{"Dry Hole", records.DimFlow, records.GallonPerMinute, records.Exact, 0, 0, records.GallonPerMinute},
		{"0", records.DimFlow, records.GallonPerMinute, records.Exact, 0, 0, records.GallonPerMinute},
		{"seep", records.DimFlow, records.LitrePerSecond, records.LessThan, 0.5 * gpm, 0, records.LitrePerSecond},
		{"1 m3/h", records.DimFlow, records.GallonPerMinute, records.Exact, 1000.0 / 3600, 0, records.CubicMetrePerHour},
		{"1 m³/h", records.DimFlow, records.GallonPerMinute, records.Exact, 1000.0 / 3600, 0, records.CubicMetrePerHour},
		{"2 hrs", records.DimDuration, records.Minute, records.Exact, 120, 0, records.Hour},

		{"", records.DimFlow, records.GallonPerMinute, records.Missing, 0, 0, records.NoUnit},
		{" - ", records.DimFlow, records.GallonPerMinute, records.Missing, 0, 0, records.NoUnit},
		{"N/A", records.DimFlow, records.GallonPerMinute, records.Missing, 0, 0, records.NoUnit},
		{"unknown", records.DimLength, records.Metre, records.Missing, 0, 0, records.NoUnit},
		{"—", records.DimLength, records.Metre, records.Missing, 0, 0, records.NoUnit},
	} {
		got, err := records.ParseAmount(c.text, c.dim, c.unit)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if got.Qualifier != c.q || !close12(got.Value, c.want) || !close12(got.High, c.high) {
			t.Errorf("%q: got %v %v %v, want %v %v %v", c.text, got.Qualifier, got.Value, got.High, c.q, c.want, c.high)
		}
		if c.q != records.Missing && (got.Given.Text != c.text || got.Given.Unit != c.in) {
			t.Errorf("%q: given %+v, want the text in %v", c.text, got.Given, c.in.Symbol())
		}
	}
}

// close12 allows for the last digits of sums of fractions.
func close12(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(1, math.Abs(b)) }

func TestParseAmountRefuses(t *testing.T) {
	for _, text := range []string{
		"abc", "12 parsecs", "1,2,3", "1.234,5", "1,234,5", "5-3", "5-3 ft", "1/0", "0/0", "1/2/3", "--5", "+-5", "5 6", "2.5 1/2", "1/2 1/2",
		"1e999", "1e308 fathoms", "NaN", "inf", "Infinity", "0x10", "1_000", "est.5", ">", "<", "+", "'", "\"", "6'13\"", "6.5' 6\"",
		strings.Repeat("9", 81), "5 gpm 5", "\x00", "5\x005", "ft", "m", "2004-06-15", "½½", "1½½", "٣", "5 ft\xff",
	} {
		if got, err := records.ParseAmount(text, records.DimLength, records.Metre); err == nil {
			t.Errorf("%q: read as %+v", text, got)
		}
	}
	if got, err := records.ParseAmount("dry", records.DimLength, records.Metre); err == nil {
		t.Errorf("a dry depth was read as %+v", got)
	}
	if got, err := records.ParseAmount("5 miner's inches", records.DimFlow, records.GallonPerMinute); err == nil || !strings.Contains(err.Error(), "1/40") {
		t.Errorf("a miner's inch of no law was read as %+v, %v", got, err)
	}
	if got, err := records.ParseAmount("5 gpm", records.DimLength, records.Metre); err == nil {
		t.Errorf("a flow was read as a depth: %+v", got)
	}
}

func FuzzParseAmount(f *testing.F) {
	for _, s := range []string{"62", "62'", "62 ft 6 in", "<1", "50+", "1/2", "2½", "6-5/8\"", "3 to 5", "~5", "dry", "seep", "1,200", "18,9", "1e3", "-", "½", "approx. 5", "'6\"", "1e", "\xc2", "5\u00a0m"} {
		for d := range uint8(9) {
			f.Add(s, d)
		}
	}
	f.Fuzz(func(t *testing.T, text string, d uint8) {
		dim := records.Dimension(d % 9)
		a, err := records.ParseAmount(text, dim, dim.Base())
		if err != nil {
			if a.Known() || a != (records.Amount[float64]{}) {
				t.Errorf("%q: an error and a value: %+v", text, a)
			}
			return
		}
		if math.IsNaN(a.Value) || math.IsInf(a.Value, 0) || math.IsNaN(a.High) || math.IsInf(a.High, 0) {
			t.Errorf("%q: not finite: %+v", text, a)
		}
		switch {
		case !a.Known():
			if a != (records.Amount[float64]{}) {
				t.Errorf("%q: missing, but %+v", text, a)
			}
			return
		case a.Given.Text != text:
			t.Errorf("%q: given as %q", text, a.Given.Text)
		case a.Given.Unit.Dimension() != dim:
			t.Errorf("%q: unit %q does not measure it", text, a.Given.Unit.Symbol())
		case a.Qualifier == records.Between && a.High < a.Value:
			t.Errorf("%q: runs backwards: %+v", text, a)
		case a.Qualifier != records.Between && a.High != 0:
			t.Errorf("%q: an upper end of no range: %+v", text, a)
		}
		if again, err := records.ParseAmount(a.Given.Text, dim, a.Given.Unit); err != nil || again != a {
			t.Errorf("%q: read again in its own unit as %+v, %v; first %+v", text, again, err, a)
		}
	})
}
