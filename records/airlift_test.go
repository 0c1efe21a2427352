package records_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

// Worked by hand. A 6 in hole holds pi/4 x 152.4^2 / 1000 = 18.2415 L/m. Over
// 20 m of fall in 60 minutes it gives up 364.83 L in 3600 s = 0.101342 L/s.
func TestNetAirlift(t *testing.T) {
	yes, no := true, false
	test := func() *records.YieldTest {
		return &records.YieldTest{
			Measured: recordstest.Read[records.Flow]("0.8", records.DimFlow, records.LitrePerSecond),
			Injected: recordstest.Read[records.Flow]("0.1", records.DimFlow, records.LitrePerSecond),
			Before:   recordstest.Metres[records.Depth]("6"), Drawdown: recordstest.Metres[records.Length]("20"),
			Duration: recordstest.Read[records.Minutes]("60", records.DimDuration, records.Minute), Steadied: &no,
		}
	}
	w := &records.Well{Bores: []records.Bore{{From: recordstest.Metres[records.Depth]("0"), To: recordstest.Metres[records.Depth]("60"), Diameter: recordstest.Inches("6")}}}
	const fromHole = 0.101342
	for name, c := range map[string]struct {
		change                           func(*records.YieldTest, *records.Well)
		q                                records.Qualifier
		net, fromHole, uncertainty       float64
		unsteady, holeUnknown, noInjects bool
	}{
		// Uncertainty: 10 % of 0.8 and of 0.1, and two levels of 1 m, each
		// 18.2415 / 3600 = 0.0050671 L/s: sqrt(0.0064 + 0.0001 + 5.135e-5).
		"while the level fell": {nil, records.Exact, 0.8 - 0.1 - fromHole, fromHole, 0.080941, true, false, false},
		"steadied":             {func(t *records.YieldTest, _ *records.Well) { t.Steadied = &yes }, records.Exact, 0.7, 0, 0.080623, false, false, false},
		"nobody wrote":         {func(t *records.YieldTest, _ *records.Well) { t.Steadied = nil }, records.Exact, 0.8 - 0.1 - fromHole, fromHole, 0.080941, true, false, false},
		"no drawdown": {func(t *records.YieldTest, _ *records.Well) { t.Drawdown = records.Amount[records.Length]{} },
			records.About, 0.7, 0, 0.080623, true, true, false},
		"no diameter": {func(_ *records.YieldTest, w *records.Well) { w.Bores = nil }, records.About, 0.7, 0, 0.080623, true, true, false},
		"no injection stated": {func(t *records.YieldTest, _ *records.Well) { t.Injected = records.Amount[records.Flow]{} },
			records.About, 0.8 - fromHole, fromHole, 0.080321, true, false, true},
		"never below zero": {func(t *records.YieldTest, _ *records.Well) {
			t.Injected = recordstest.Read[records.Flow]("0.79", records.DimFlow, records.LitrePerSecond)
		}, records.Exact, 0, fromHole, 0.112662, true, false, false},
		// About doubles the measured flow's share: sqrt(0.16^2 + 0.01^2).
		"about": {func(t *records.YieldTest, _ *records.Well) { t.Measured.Qualifier, t.Steadied = records.About, &yes }, records.About, 0.7, 0, 0.160312, false, false, false},
		"bound": {func(t *records.YieldTest, _ *records.Well) {
			t.Measured.Qualifier, t.Steadied = records.GreaterThan, &yes
		}, records.GreaterThan, 0.7, 0, 0.080623, false, false, false},
	} {
		t.Run(name, func(t *testing.T) {
			in, hole := test(), *w
			if c.change != nil {
				c.change(in, &hole)
			}
			got := hole.NetAirlift(in, records.DefaultAirliftRules())
			if got.Net.Qualifier != c.q || math.Abs(float64(got.Net.Value)-c.net) > 2e-6 {
				t.Errorf("net %v %v, want %v %v", got.Net.Qualifier, got.Net.Value, c.q, c.net)
			}
			if math.Abs(float64(got.FromHole)-c.fromHole) > 2e-6 || math.Abs(float64(got.Uncertainty)-c.uncertainty) > 2e-6 {
				t.Errorf("from the hole %v, want %v; uncertainty %v, want %v", got.FromHole, c.fromHole, got.Uncertainty, c.uncertainty)
			}
			if got.Unsteady != c.unsteady || got.HoleUnknown != c.holeUnknown || got.InjectedUnknown != c.noInjects {
				t.Errorf("marks %v %v %v", got.Unsteady, got.HoleUnknown, got.InjectedUnknown)
			}
		})
	}
	if got := w.NetAirlift(&records.YieldTest{}, records.DefaultAirliftRules()); got.Net.Known() {
		t.Errorf("nothing measured, yet %+v", got)
	}
}

// The arithmetic of the definition: 12 gpm at the discharge, 3 gpm injected.
func TestNetAirliftInGallons(t *testing.T) {
	yes := true
	got := (&records.Well{}).NetAirlift(&records.YieldTest{Measured: recordstest.Gpm("12"), Injected: recordstest.Gpm("3"), Steadied: &yes}, records.DefaultAirliftRules())
	if v := records.GallonPerMinute.FromBase(float64(got.Net.Value)); !close12(v, 9) {
		t.Errorf("net %v gpm, want 9", v)
	}
}

// Cased to 16 m with 6 in outside, 10 mm walls (inside 132.4 mm, 13.7676 L/m),
// open at 152.4 mm below: from 6 to 26 m there stand 10 x 13.7676 + 10 x
// 18.2415 = 320.09 L; over 3600 s that is 0.088914 L/s. Worked by hand.
func TestNetAirliftInACasedHole(t *testing.T) {
	no := false
	w := &records.Well{
		Bores:  []records.Bore{{From: recordstest.Metres[records.Depth]("0"), To: recordstest.Metres[records.Depth]("60"), Diameter: recordstest.Inches("6")}},
		Casing: []records.Casing{{From: recordstest.Metres[records.Depth]("-1"), To: recordstest.Metres[records.Depth]("16"), OutsideDia: recordstest.Inches("6"), Wall: records.Of[records.Diameter](10)}},
	}
	got := w.NetAirlift(&records.YieldTest{
		Measured: records.Of[records.Flow](1), Injected: records.Of[records.Flow](0), Before: records.Of[records.Depth](6),
		Drawdown: records.Of[records.Length](20), Duration: records.Of[records.Minutes](60), Steadied: &no,
	}, records.DefaultAirliftRules())
	if math.Abs(float64(got.FromHole)-0.088914) > 1e-6 {
		t.Errorf("from the hole %v, want 0.088914", got.FromHole)
	}
}

// Worked by hand: 6 gpm over 40 ft is 0.15 gpm/ft; in SI 0.378541 L/s over
// 12.192 m = 0.0310483 L/s per metre.
func TestSpecificCapacity(t *testing.T) {
	y := records.YieldTest{Measured: recordstest.Gpm("8"), Injected: recordstest.Gpm("2"), Drawdown: recordstest.Feet[records.Length]("40")}
	got, ok := y.SpecificCapacity()
	if !ok || math.Abs(got-0.0310483) > 5e-8 {
		t.Errorf("got %v, %v, want 0.0310483", got, ok)
	}
	// Arithmetic of the definition Q/s: 10 gpm at 50 ft are 0.20 gpm/ft. A
	// published field example: 60 gpm, static 132 ft, pumping 186 ft,
	// printed as 1.11 gpm/ft.
	for _, c := range []struct {
		gpm, feet string
		want      float64
	}{{"10", "50", 0.20}, {"60", "54", 1.11}} {
		y := records.YieldTest{Measured: recordstest.Gpm(c.gpm), Drawdown: recordstest.Feet[records.Length](c.feet)}
		got, _ := y.SpecificCapacity()
		if got = records.GallonPerMinute.FromBase(got) * foot; math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s gpm at %s ft: %v gpm/ft, want %v", c.gpm, c.feet, got, c.want)
		}
	}
	y.Net = recordstest.Gpm("4")
	if got, ok := y.SpecificCapacity(); !ok || math.Abs(got-0.0310483*4/6) > 5e-8 {
		t.Errorf("with a stated net flow: %v, %v", got, ok)
	}
	for name, change := range map[string]func(y *records.YieldTest){
		"no drawdown":   func(y *records.YieldTest) { y.Drawdown = records.Amount[records.Length]{} },
		"drawdown zero": func(y *records.YieldTest) { y.Drawdown = records.Of[records.Length](0) },
		"bound":         func(y *records.YieldTest) { y.Measured.Qualifier = records.GreaterThan },
		"not measured":  func(y *records.YieldTest) { y.Measured = records.Amount[records.Flow]{} },
	} {
		y := records.YieldTest{Measured: recordstest.Gpm("8"), Drawdown: recordstest.Feet[records.Length]("40")}
		change(&y)
		if got, ok := y.SpecificCapacity(); ok {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// Worked by hand: 6.096 m (20 ft) in 12 minutes is 30.48 m/h.
func TestPenetrationRates(t *testing.T) {
	minutes := func(s string) records.Amount[records.Minutes] {
		return recordstest.Read[records.Minutes](s, records.DimDuration, records.Minute)
	}
	w := &records.Well{Rods: []records.Rod{
		{From: recordstest.Feet[records.Depth]("0"), To: recordstest.Feet[records.Depth]("20"), Time: minutes("12")},
		{To: recordstest.Feet[records.Depth]("40"), Time: minutes("24 min"), Remark: "hard"},
		{To: recordstest.Feet[records.Depth]("60")},
		{To: recordstest.Feet[records.Depth]("50"), Time: minutes("5")},
		{From: recordstest.Feet[records.Depth]("60"), To: recordstest.Feet[records.Depth]("80"), Time: minutes("0")},
		{From: recordstest.Feet[records.Depth]("80"), To: recordstest.Feet[records.Depth]("100"), Time: minutes("1 h")},
	}}
	got := w.PenetrationRates()
	want := []float64{30.48, 15.24, 6.096}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i := range want {
		if !close12(got[i].MetresPerHour, want[i]) {
			t.Errorf("rod %d: %v m/h, want %v", i, got[i].MetresPerHour, want[i])
		}
	}
	if got[1].Remark != "hard" || !close12(float64(got[1].From), 20*foot) {
		t.Errorf("second rod %+v", got[1])
	}
}
