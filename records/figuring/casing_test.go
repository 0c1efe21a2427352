package figuring_test

import (
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
)

// N.H. Admin. We 602.22: 20 ft at least, 10 ft into competent bedrock, 8 in
// above ground. West Virginia 64-46-6: 19 ft, 5 ft, 1 ft. The sums are by hand.
func TestCasingToSet(t *testing.T) {
	byPlace := map[string]figuring.CasingRule{}
	for _, e := range figuring.CasingRuleExamples() {
		byPlace[e.Place] = e.Rule
	}
	for _, c := range []struct {
		place               string
		bedrock, seat, long float64
		byRule              bool
	}{
		{"New Hampshire", 35, 45, 45 + 8./12, false},
		{"New Hampshire", 4, 20, 20 + 8./12, true},
		{"New Hampshire", 10, 20, 20 + 8./12, false},
		{"New Hampshire", 0, 20, 20 + 8./12, true},
		{"West Virginia", 12, 19, 20, true},
		{"West Virginia", 60, 65, 66, false},
	} {
		p := must[figuring.CasingPlan](t)(figuring.CasingToSet(ftDown(c.bedrock), byPlace[c.place]))
		near(t, c.place+" seat", records.Foot.FromBase(float64(p.Seat)), c.seat, 1e-9)
		near(t, c.place+" length", records.Foot.FromBase(float64(p.Length)), c.long, 1e-9)
		if p.ByRule != c.byRule {
			t.Errorf("%s, rock at %v ft: decided by rule %v", c.place, c.bedrock, p.ByRule)
		}
	}
}

// Whole pieces, by hand; three sticks of 20.1 ft are 60.3 ft however the metres are
// rounded.
func TestPieces(t *testing.T) {
	for _, c := range []struct {
		of, each float64
		spare    int
		needed   int
	}{
		{42, 21, 0, 2}, {42.1, 21, 1, 3}, {63, 21, 2, 3}, {0, 21, 1, 0}, {20.9, 21, 0, 1}, {166.5, 33.3, 0, 5}, {60.3, 20.1, 0, 3},
	} {
		p := must[figuring.Pieces](t)(figuring.Sticks(ft(c.of), ft(c.each), c.spare))
		if p.Needed != c.needed || p.Total() != c.needed+c.spare {
			t.Errorf("%v ft in sticks of %v: %d and %d spare, want %d", c.of, c.each, p.Needed, p.Spare, c.needed)
		}
		if line := p.Line("casing sticks", "to the seat"); line.Quantity != float64(c.needed+c.spare) || line.Unit != records.NoUnit || line.Why == "" {
			t.Errorf("line %+v", line)
		}
	}
	rods := must[figuring.Pieces](t)(figuring.Rods(ftDown(305), ft(20), 1))
	if rods.Needed != 16 || rods.Total() != 17 {
		t.Errorf("305 ft takes %d rods of 20 ft", rods.Needed)
	}
}

// 0.5 to 5 gpm, a hydrofracturing practice page read in a copy.
func TestAfterFracture(t *testing.T) {
	got, err := figuring.AfterFracture(gpm(0.5), figuring.FractureGains()[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "low", inGPM(got.Low), 1, 1e-9)
	near(t, "high", inGPM(got.High), 5.5, 1e-9)
}
