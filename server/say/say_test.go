package say_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/server/say"
)

// One foot is 0.3048 m and one US gallon 3.785411784 L, exactly (NIST
// Handbook 44, appendix C).
const (
	ft  = 0.3048
	gpm = 3.785411784 / 60
	in  = 25.4
)

func TestDepths(t *testing.T) {
	d := func(v float64) records.Depth { return records.Depth(v) }
	tests := []struct {
		name          string
		a             records.Amount[records.Depth]
		us, si, words string
	}{
		{"missing", records.Amount[records.Depth]{}, "", "", "not recorded"},
		{"whole feet", records.Of(d(62 * ft)), "62 ft", "18.9 m", "62 ft"},
		{"half a foot", records.Of(d(0.5 * ft)), "0.5 ft", "0.2 m", "0.5 ft"},
		{"nearly whole", records.Of(d(18.9)), "62 ft", "18.9 m", "62 ft"},
		{"about", records.Roughly(d(62 * ft)), "~62 ft", "~18.9 m", "about 62 ft"},
		{"deeper", records.MoreThan(d(100 * ft)), ">100 ft", ">30.5 m", "deeper than 100 ft"},
		{"shallower", records.Under(d(20 * ft)), "<20 ft", "<6.1 m", "shallower than 20 ft"},
		{"between", records.Within(d(50*ft), d(60*ft)), "50–60 ft", "15.2–18.3 m", "between 50 and 60 ft"},
		{"between nothing", records.Within(d(50*ft), d(50.01*ft)), "~50 ft", "~15.2 m", "about 50 ft"},
		{"thousand", records.Of(d(1500 * ft)), "1,500 ft", "457.2 m", "1,500 ft"},
		{"zero", records.Of(d(0)), "0 ft", "0 m", "0 ft"},
		{"nearly zero above", records.Of(d(-0.001)), "0 ft", "0 m", "0 ft"},
		{"above ground", records.Of(d(-2 * ft)), "−2 ft", "−0.6 m", "−2 ft"},
		{"not a number", records.Of(d(math.NaN())), "– ft", "– m", "– ft"},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			if got := say.US.Depth(c.a); got != c.us {
				t.Errorf("US %q, want %q", got, c.us)
			}
			if got := say.SI.Depth(c.a); got != c.si {
				t.Errorf("SI %q, want %q", got, c.si)
			}
			if got := say.US.DepthWords(c.a); got != c.words {
				t.Errorf("words %q, want %q", got, c.words)
			}
		})
	}
}

func TestLevels(t *testing.T) {
	if got := say.US.Level(records.Of(records.Depth(-3 * ft))); got != "3 ft above ground" {
		t.Errorf("flowing: %q", got)
	}
	if got := say.US.Level(records.Of(records.Depth(24 * ft))); got != "24 ft" {
		t.Errorf("standing: %q", got)
	}
}

func TestFlows(t *testing.T) {
	tests := []struct {
		gpm    float64
		us, si string
	}{
		{0.25, "¼ gpm", "0.95 L/min"}, {0.5, "½ gpm", "1.9 L/min"}, {1.5, "1½ gpm", "5.7 L/min"}, {2.75, "2¾ gpm", "10.4 L/min"},
		{12, "12 gpm", "45.4 L/min"}, {12.3, "12.3 gpm", "46.6 L/min"}, {0.1, "0.1 gpm", "0.38 L/min"}, {0.033, "0.033 gpm", "0.12 L/min"},
		{1200, "1,200 gpm", "4542 L/min"}, {100, "100 gpm", "379 L/min"}, {99.75, "100 gpm", "378 L/min"}, {0, "0 gpm", "0 L/min"},
	}
	for _, c := range tests {
		a := records.Of(records.Flow(c.gpm * gpm))
		if got := say.US.Flow(a); got != c.us {
			t.Errorf("%v gpm is %q, want %q", c.gpm, got, c.us)
		}
		if got := say.SI.Flow(a); got != c.si {
			t.Errorf("%v gpm is %q, want %q", c.gpm, got, c.si)
		}
	}
	if got := say.US.Flow(records.Under(records.Flow(gpm))); got != "<1 gpm" {
		t.Errorf("a bound: %q", got)
	}
}

// Missing, a measured nothing and a bound are three things.
func TestYields(t *testing.T) {
	for want, a := range map[string]records.Amount[records.Flow]{
		"": {}, "dry": records.Of(records.Flow(0)), "<1 gpm": records.Under(records.Flow(gpm)), ">50 gpm": records.MoreThan(records.Flow(50 * gpm)),
	} {
		if got := say.US.Yield(a); got != want {
			t.Errorf("yield %+v is %q, want %q", a, got, want)
		}
	}
}

func TestDiameters(t *testing.T) {
	for mm, want := range map[float64][2]string{
		6 * in: {"6 in", "152 mm"}, 6.625 * in: {"6⅝ in", "168 mm"}, 0.02 * in: {"0.02 in", "0.51 mm"}, 6.3 * in: {"6.3 in", "160 mm"}, 1.25 * in: {"1¼ in", "32 mm"},
	} {
		a := records.Of(records.Diameter(mm))
		if got := [2]string{say.US.Diameter(a), say.SI.Diameter(a)}; got != want {
			t.Errorf("%v mm is %q, want %q", mm, got, want)
		}
	}
}

func TestFigures(t *testing.T) {
	tests := []struct {
		v        float64
		decimals int
		us, si   string
	}{
		{0, 2, "0", "0"}, {math.Copysign(0, -1), 1, "0", "0"}, {-0.04, 1, "0", "0"}, {1234.5, 1, "1,234.5", "1234.5"},
		{12345, 0, "12,345", "12\u202f345"}, {-1234567, 0, "−1,234,567", "−1\u202f234\u202f567"}, {999.96, 1, "1,000", "1000"},
		{math.Inf(1), 1, "–", "–"}, {1e300, 1, "1.00e+300", "1.00e+300"}, {100, 0, "100", "100"},
	}
	for _, c := range tests {
		if got := say.US.Figure(c.v, c.decimals); got != c.us {
			t.Errorf("US %v is %q, want %q", c.v, got, c.us)
		}
		if got := say.SI.Figure(c.v, c.decimals); got != c.si {
			t.Errorf("SI %v is %q, want %q", c.v, got, c.si)
		}
	}
}

func TestDistances(t *testing.T) {
	tests := []struct {
		m      float64
		us, si string
	}{
		{0, "0 ft", "0 m"}, {12, "39 ft", "12 m"}, {195, "640 ft", "200 m"}, {442, "1,450 ft", "440 m"}, {1609.344, "1 mi", "1.6 km"},
		{998, "3,270 ft", "1 km"}, {16093.44, "10 mi", "16 km"}, {math.NaN(), "–", "–"}, {-1, "–", "–"},
	}
	for _, c := range tests {
		if us, si := say.US.Distance(c.m), say.SI.Distance(c.m); us != c.us || si != c.si {
			t.Errorf("%v m is %q and %q, want %q and %q", c.m, us, si, c.us, c.si)
		}
	}
}

func TestBearings(t *testing.T) {
	for deg, want := range map[float64]string{0: "N", 22: "N", 23: "NE", 90: "E", 181: "S", 337.6: "N", 359.9: "N", -90: "W", 720: "N", math.NaN(): ""} {
		if got := say.Bearing(deg); got != want {
			t.Errorf("%v° is %q, want %q", deg, got, want)
		}
	}
}

func TestDurationsAndVolumes(t *testing.T) {
	for m, want := range map[records.Minutes]string{15: "15 min", 90: "1 h 30 min", 1440: "24 h", 0.5: "0.5 min"} {
		if got := say.US.Minutes(records.Of(m)); got != want {
			t.Errorf("%v min is %q, want %q", m, got, want)
		}
	}
	if got := say.US.Volume(records.Of(records.Volume(3.785411784 * 1500))); got != "1,500 gal" {
		t.Errorf("volume %q", got)
	}
}

func TestRate(t *testing.T) {
	if v := say.Rate(say.US, 0.3048); math.Abs(v-1) > 1e-12 || say.RateUnit(say.US) != "ft/min" {
		t.Errorf("a foot a minute is %v %s", v, say.RateUnit(say.US))
	}
	if v := say.Rate(say.SI, 0.5); v != 30 || say.RateUnit(say.SI) != "m/h" {
		t.Errorf("half a metre a minute is %v %s", v, say.RateUnit(say.SI))
	}
}

func TestSystems(t *testing.T) {
	for _, s := range []say.System{say.US, say.SI} {
		if got, ok := say.Parse(s.String()); !ok || got != s {
			t.Errorf("%v does not come back", s)
		}
	}
	if _, ok := say.Parse("cubits"); ok {
		t.Error("cubits are no system")
	}
}
