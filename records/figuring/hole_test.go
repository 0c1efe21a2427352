package figuring_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
)

func ft(v float64) records.Length    { return records.Length(records.Foot.ToBase(v)) }
func ftDown(v float64) records.Depth { return records.Depth(records.Foot.ToBase(v)) }
func in(v float64) records.Diameter  { return records.Diameter(records.InchDiameter.ToBase(v)) }
func gal(v float64) records.Volume   { return records.Volume(records.Gallon.ToBase(v)) }
func gpm(v float64) records.Flow     { return records.Flow(records.GallonPerMinute.ToBase(v)) }
func inGal(v records.Volume) float64 { return records.Gallon.FromBase(float64(v)) }
func inGPM(v records.Flow) float64   { return records.GallonPerMinute.FromBase(float64(v)) }
func inCuFt(v records.Volume) float64 {
	return records.CubicFoot.FromBase(float64(v))
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.6g, want %v within %v", what, got, want, tolerance)
	}
}

func must[T any](t *testing.T) func(T, error) T {
	t.Helper()
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Gallons a foot as printed in MIL-HDBK-1164, table 1, to its two places (its
// 148.88 for 60 in is a misprint of 146.88 and is left out); 3 in and 5 in
// from the leaflets of a Texas groundwater district and a Colorado county
// laboratory.
func TestHoldsAsPrinted(t *testing.T) {
	for _, c := range []struct{ inside, gallons float64 }{
		{4, 0.65}, {6, 1.47}, {8, 2.61}, {10, 4.08}, {12, 5.88}, {14, 8.00}, {15, 9.18}, {16, 10.44},
		{18, 13.22}, {20, 16.32}, {24, 23.50}, {30, 36.72}, {36, 52.88}, {48, 94.00},
		{2, 0.16}, {3, 0.37}, {5, 1.02},
	} {
		got := must[figuring.Figure[records.Volume]](t)(figuring.Holds(in(c.inside), ft(1)))
		near(t, "gallons a foot", inGal(got.Value), c.gallons, 0.0051)
	}
}

// Computed from pi/4 d^2 with the exact factors, by hand calculator to the
// places shown: a nominal 6 in hole, schedule 40 6 in and 8 in pipe and bits
// between are different holes.
func TestHoldsComputed(t *testing.T) {
	for _, c := range []struct{ inside, gal, cuFt, lPerM, half float64 }{
		{1, 0.0408, 0.00545, 0.507, 5e-4},
		{6, 1.4688, 0.19635, 18.241, 5e-4},
		{6.065, 1.5008, 0.20063, 18.639, 5e-4},
		{6.25, 1.5937, 0.21305, 19.793, 5e-4},
		{7.981, 2.5988, 0.34741, 32.275, 5e-4},
		{60, 146.8797, 19.63495, 1824.1, 0.05},
	} {
		foot := must[figuring.Figure[records.Volume]](t)(figuring.Holds(in(c.inside), ft(1)))
		near(t, "gal/ft", inGal(foot.Value), c.gal, 0.00006)
		near(t, "ft3/ft", inCuFt(foot.Value), c.cuFt, 0.000006)
		metre := must[figuring.Figure[records.Volume]](t)(figuring.Holds(in(c.inside), 1))
		near(t, "L/m", float64(metre.Value), c.lPerM, c.half*1.01)
	}
	// A state agency's plugging sheet: 6 in, 100 ft, 19.62 cubic feet (with
	// pi rounded; 19.635 exactly).
	hundred := must[figuring.Figure[records.Volume]](t)(figuring.Holds(in(6), ft(100)))
	near(t, "plugging sheet", inCuFt(hundred.Value), 19.635, 0.0005)
}

func TestAnnulus(t *testing.T) {
	// Computed from pi/4 (D^2 - d^2) with the exact factors.
	for _, c := range []struct{ hole, outside, cuFt, gal float64 }{
		{6.5, 4.5, 0.11999, 0.8976}, {8, 6.625, 0.10968, 0.8205}, {9, 6.625, 0.20240, 1.5141},
		{10, 6.625, 0.30603, 2.2893}, {12.25, 8.625, 0.41273, 3.0874}, {16, 8.625, 0.99053, 7.4096},
	} {
		got := must[figuring.Figure[records.Volume]](t)(figuring.Annulus(in(c.hole), in(c.outside), ft(1)))
		near(t, "ft3/ft", inCuFt(got.Value), c.cuFt, 0.0000051)
		near(t, "gal/ft", inGal(got.Value), c.gal, 0.000051)

		// The same sum on a record.
		w := &records.Well{
			Bores:  []records.Bore{{From: records.Of(records.Depth(0)), To: records.Of(ftDown(100)), Diameter: records.Of(in(c.hole))}},
			Casing: []records.Casing{{From: records.Of(records.Depth(0)), To: records.Of(ftDown(100)), OutsideDia: records.Of(in(c.outside))}},
		}
		onRecord, ok := w.AnnulusVolume(0, ftDown(1))
		if !ok {
			t.Fatal("the record does not know its annulus")
		}
		near(t, "as on a record", float64(got.Value), float64(onRecord), 1e-9)
	}
	// A well supplier's bulletin: 16 in taken as 1.33 ft, casing 8.625 in
	// outside: 0.9835552 cubic feet a foot; 196.711 in 200 ft.
	bulletin := must[figuring.Figure[records.Volume]](t)(figuring.Annulus(in(1.33*12), in(8.625), ft(200)))
	near(t, "bulletin", inCuFt(bulletin.Value), 196.711, 0.001)
}

func sixInch(bottomFt float64) figuring.Hole {
	return figuring.Hole{Bores: []figuring.Round{{From: 0, To: ftDown(bottomFt), Across: in(6)}}}
}

func TestStanding(t *testing.T) {
	// A Texas groundwater district's leaflet: 6 in, 120 ft deep, water at
	// 20 ft: 150 gal with 1.5 gal a foot, 146.9 exactly.
	leaflet := must[figuring.Figure[records.Volume]](t)(sixInch(120).Standing(ftDown(20), ftDown(120)))
	near(t, "leaflet", inGal(leaflet.Value), 146.88, 0.01)

	// Groundwater Project, Domestic Wells (2022), box 1: 152 mm, static 5 m,
	// pump at 15 m of 20: 181.5 L.
	box := figuring.Hole{Bores: []figuring.Round{{From: 0, To: 20, Across: 152}}}
	stored := must[figuring.Figure[records.Volume]](t)(box.Standing(5, 15))
	near(t, "box 1", float64(stored.Value), 181.5, 0.05)

	// By hand: 40 ft of schedule 40 8 in casing from 30 ft to 70 in a 12 in
	// hole, 50 ft of 6 in below: 40 x 2.5988 + 50 x 1.4688 = 177.392 gal.
	hole := figuring.Hole{
		Bores:  []figuring.Round{{From: 0, To: ftDown(70), Across: in(12)}, {From: 0, To: ftDown(300), Across: in(6)}},
		Casing: []figuring.Round{{From: ftDown(-2), To: ftDown(70), Across: in(7.981)}},
	}
	both := must[figuring.Figure[records.Volume]](t)(hole.Standing(ftDown(30), ftDown(120)))
	near(t, "two diameters", inGal(both.Value), 177.392, 0.005)

	// A flowing well: water stands to the top of the casing, 2 ft up, and no
	// higher: 72 x 2.5988 + 30 x 1.4688 = 231.178 gal.
	flowing := must[figuring.Figure[records.Volume]](t)(hole.Standing(ftDown(-9), ftDown(100)))
	near(t, "flowing", inGal(flowing.Value), 231.178, 0.005)

	// A 4 in liner in the casing and a pilot hole written after it was reamed:
	// water stands in the liner and in the widest hole. By hand: 20 x 0.6528
	// and 30 x 1.4688 gal.
	lined := figuring.Hole{
		Bores:  []figuring.Round{{From: 0, To: ftDown(100), Across: in(6)}, {From: 0, To: ftDown(100), Across: in(4)}},
		Casing: []figuring.Round{{From: 0, To: ftDown(50), Across: in(4)}, {From: 0, To: ftDown(40), Across: in(5)}},
	}
	liner := must[figuring.Figure[records.Volume]](t)(lined.Standing(ftDown(30), ftDown(80)))
	near(t, "liner", inGal(liner.Value), 20*0.6528+30*1.4688, 0.005)

	// Drawing the first 40 ft of casing leaves the level at 70 ft.
	level, err := hole.LevelAfter(ftDown(30), ftDown(120), gal(40*2.59880))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "level after", records.Foot.FromBase(float64(level)), 70, 0.001)
	if level, err = hole.LevelAfter(ftDown(30), ftDown(120), gal(1000)); err != nil || level != ftDown(120) {
		t.Errorf("all drawn: %v, %v", level, err)
	}
}

// 10 ft in 15 min: 0.435, 0.979, 1.741 gpm in 4, 6 and 8 in; computed, as is
// that 1 gpm raises the water 91.9, 40.8, 23.0 ft in an hour. A secondary copy
// of a leaflet: 100 ft of 6 in at 1.5 gal/ft takes 150 min at 1 gpm.
func TestRecovery(t *testing.T) {
	for _, c := range []struct{ inside, gpm, rise float64 }{{4, 0.435, 91.9}, {6, 0.979, 40.8}, {8, 1.741, 23.0}} {
		got := must[figuring.Figure[records.Flow]](t)(figuring.Recovery(in(c.inside), ft(10), 15))
		near(t, "gpm", inGPM(got.Value), c.gpm, 0.00051)
		one := must[figuring.Figure[records.Flow]](t)(figuring.Recovery(in(c.inside), ft(c.rise), 60))
		near(t, "an hour's rise", inGPM(one.Value), 1, 0.0025)
	}
	refill := must[figuring.Figure[records.Flow]](t)(figuring.Recovery(in(6), ft(100), 150))
	near(t, "refill", inGPM(refill.Value), 1, 0.025) // 1.47, not 1.5 gal a foot
}

// 6.065 and 7.981 in are the inside diameters of schedule 40 6 and 8 in pipe
// in common tables; outside diameters are those of ASME B36.10, from memory.
func TestSteelPipes(t *testing.T) {
	want := map[string][2]float64{"4 in": {4.5, 4.026}, "6 in": {6.625, 6.065}, "8 in": {8.625, 7.981}}
	for _, p := range figuring.SteelPipes() {
		if p.Outside <= p.Inside() || p.Inside() <= 0 {
			t.Errorf("%s: %v in %v", p.Nominal, p.Inside(), p.Outside)
		}
		if w, ok := want[p.Nominal]; ok {
			near(t, p.Nominal+" outside", float64(p.Outside), float64(in(w[0])), 1e-9)
			near(t, p.Nominal+" inside", float64(p.Inside()), float64(in(w[1])), 1e-9)
		}
	}
	// 18.97 and 28.55 lb a foot: ASME B36.10 for 6 and 8 in, from memory.
	for i, want := range map[int]float64{2: 18.97, 3: 28.55} {
		perFoot := records.Pound.FromBase(float64(figuring.SteelPipes()[i].MassPerMetre()) * 0.3048)
		near(t, "lb a foot", perFoot, want, 0.04) // printings differ by the steel they weigh
	}
	inside, err := figuring.InsideOf(in(6.625), in(0.28))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "inside", float64(inside), float64(in(6.065)), 1e-9)
}
