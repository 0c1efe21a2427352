package desk_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
)

// rigPlace is in the middle of a ring of wells.
var rigPlace = position.LonLat{Lon: -40, Lat: 44}

// ring is a number of wells, each 300 m from rigPlace and all alike: rock at
// 10 m, cased to 15 m, 100 m deep. The first few of them met 30 L/min at 80 m;
// the others nothing.
func ring(wells, met int) string {
	var b strings.Builder
	for i := range wells {
		a := 2 * math.Pi * float64(i) / float64(wells)
		yield, strikes := 0, ""
		if i < met {
			yield, strikes = 30, `,"strikes":[{"depth_m":80,"flow_lpm":30}]`
		}
		fmt.Fprintf(&b, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.6f,%.6f]},"properties":{"number":"R-%d","depth_to_bedrock_m":10,"total_depth_m":100,"static_level_m":5,"casing":[{"top_m":0,"bottom_m":15,"outside_diameter_mm":168}],"yield_lpm":%d%s}}`+"\n",
			rigPlace.Lon+300*math.Sin(a)/(111320*math.Cos(44*math.Pi/180)), rigPlace.Lat+300*math.Cos(a)/111132, i, yield, strikes)
	}
	return b.String()
}

func rigAsk() desk.RigAsk {
	return desk.RigAsk{
		At: rigPlace, Depth: 60, Yield: 0, Need: records.Flow(records.LitrePerMinute.ToBase(20)),
		Hole: 152, Casing: 168, Rock: records.Of(records.Depth(10)),
		Ahead: []records.Length{10, 30, 60}, Curve: []records.Length{0, 15, 30}, Daily: 1200, Shape: "two-peaks",
	}
}

func atTheRig(t *testing.T, d *desk.Desk, ask desk.RigAsk) *desk.AtTheRig {
	t.Helper()
	r, err := d.AtTheRig(t.Context(), me, ask)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// weightMet is the share of the weight in the estimate of yield that wells
// with water have, and Kish's effective number of all (his formula, from
// memory: the square of the sum over the sum of squares).
func weightMet(t *testing.T, r *desk.AtTheRig) (met, effective float64) {
	t.Helper()
	for i := range r.Fields {
		f := &r.Fields[i]
		if f.Field != snapshot.Yield {
			continue
		}
		var sum, squares float64
		for _, o := range f.Outcomes() {
			sum, squares = sum+o.Weight, squares+o.Weight*o.Weight
			if f.Model.Selection.Rows[o.Row].Value(snapshot.Yield).Value > 0 {
				met += o.Weight
			}
		}
		if !(met > 0.1*sum && met < 0.5*sum) {
			t.Errorf("the four wells with water have %.3f of the weight", met/sum)
		}
		return met / sum, sum * sum / squares
	}
	t.Fatal("nothing is said of yield")
	return 0, 0
}

// Sixteen wells alike stand around the hole; four of them met the need at 80 m.
// At 60 m none did, so that the chance of the next 10 m is nothing and that of
// the next 30 m is the share of the weight that those four have (by hand). Beyond
// 100 m nobody went.
func TestAtTheRig(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, ring(16, 4))
	r := atTheRig(t, d, rigAsk())
	met, effective := weightMet(t, r)
	if r.Neighbours != 16 || r.Prospect.AtRisk != 16 || math.Abs(r.Prospect.Effective-effective) > 1e-9 {
		t.Errorf("%d neighbours, %d at risk, %.2f effective; want 16, 16 and %.2f", r.Neighbours, r.Prospect.AtRisk, r.Prospect.Effective, effective)
	}
	for i, want := range []float64{0, met} {
		if a := r.Prospect.Ahead[i]; !a.Tells || math.Abs(a.Reach.Value-want) > 1e-9 {
			t.Errorf("the next %v m: tells %v (%s), chance %.6f, want %.6f", a.Length, a.Tells, a.Why, a.Reach.Value, want)
		}
	}
	if a := r.Prospect.Ahead[2]; a.Tells || !strings.Contains(a.Why, "cannot tell") {
		t.Errorf("beyond every hole: tells %v, %q", a.Tells, a.Why)
	}
	if len(r.Curve) != 3 || math.Abs(r.Curve[2].Reach.Value-r.Prospect.Ahead[1].Reach.Value) > 1e-12 {
		t.Errorf("the curve does not end as the stretch does: %+v", r.Curve)
	}
	// What stands in the hole: 152 mm across, from 5 m down to 20 ft above the
	// bottom at 60 m.
	if want := math.Pi / 4 * 0.152 * 0.152 * (60 - 6.096 - 5) * 1000; math.Abs(float64(r.Supply.Hole)-want) > 0.01 || r.Static != 5 {
		t.Errorf("the hole holds %.2f L over %.1f m, want %.2f over 5", r.Supply.Hole, r.Static, want)
	}
	kinds := map[scout.WayKind]int{}
	for _, w := range r.Ways {
		kinds[w.Kind]++
	}
	if kinds[scout.Stop] != 1 || kinds[scout.Deepen] != 3 || kinds[scout.AddTank] != 1 || kinds[scout.Fracture] == 0 {
		t.Errorf("ways on: %v", kinds)
	}
}

func TestAtTheRigMet(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, ring(16, 4))
	ask := rigAsk()
	ask.Yield = ask.Need
	if r := atTheRig(t, d, ask); !r.Prospect.Met || len(r.Ways) != 0 {
		t.Errorf("met %v with %d ways on, want it met and none", r.Prospect.Met, len(r.Ways))
	}
}

// With fewer than eight holes still short of the need nothing is told.
func TestAtTheRigCannotTell(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, ring(6, 2))
	r := atTheRig(t, d, rigAsk())
	for _, a := range r.Prospect.Ahead {
		if a.Tells {
			t.Errorf("six holes tell of the next %v m", a.Length)
		}
	}
}

// No bedrock down to 12 m, where all sixteen wells met it at 10: nobody met it
// so deep. At 8 m all of them are still to come; 20 m of casing reaches them
// all and 9 m none.
func TestCasingAtTheRig(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, ring(16, 4))
	ask := rigAsk()
	ask.Rock = records.Amount[records.Depth]{}
	for _, c := range []struct {
		name    string
		depth   records.Depth
		aboard  float64
		tells   bool
		runsOut float64
	}{
		{"deeper than anybody", 12, 40, false, 0},
		{"enough", 8, 20, true, 0},
		{"too little", 8, 9, true, 1},
		{"shorter than the hole", 8, 7, true, 1},
	} {
		ask.Depth, ask.Aboard = c.depth, records.Of(records.Length(c.aboard))
		r := atTheRig(t, d, ask)
		if r.Casing == nil || r.ToSet != nil {
			t.Fatalf("%s: no answer about the casing", c.name)
		}
		if r.Casing.Tells != c.tells || c.tells && math.Abs(r.Casing.RunsOut.Value-c.runsOut) > 0.01 {
			t.Errorf("%s: tells %v, runs out %.3f (%s); want %v, %.0f", c.name, r.Casing.Tells, r.Casing.RunsOut.Value, r.Casing.Why, c.tells, c.runsOut)
		}
	}
	ask.Depth, ask.Rock, ask.Aboard = 30, records.Of(records.Depth(10)), recordstest.Metres[records.Length]("12")
	if r := atTheRig(t, d, ask); r.Casing != nil || r.ToSet == nil || r.ToSet.Length != 10 {
		t.Errorf("with rock met at 10 m and no rule of the office's: %+v, want 10 m", r.ToSet)
	}
}

func TestAtTheRigRefuses(t *testing.T) {
	d, _ := newDesk(t)
	if _, err := d.AtTheRig(t.Context(), me, rigAsk()); records.CodeOf(err) != records.NotFound {
		t.Errorf("no wells: %v, want not found", err)
	}
	mustTakeIn(t, d, ring(16, 4))
	for name, change := range map[string]func(*desk.RigAsk){
		"no depth": func(a *desk.RigAsk) { a.Depth = 0 }, "no need": func(a *desk.RigAsk) { a.Need = 0 }, "yield below nothing": func(a *desk.RigAsk) { a.Yield = -1 },
		"rock below the hole": func(a *desk.RigAsk) { a.Rock = records.Of(records.Depth(61)) }, "no number": func(a *desk.RigAsk) { a.Depth = records.Depth(math.NaN()) },
	} {
		ask := rigAsk()
		change(&ask)
		if _, err := d.AtTheRig(t.Context(), me, ask); records.CodeOf(err) != records.Invalid {
			t.Errorf("%s: %v, want invalid", name, err)
		}
	}
	if _, err := d.AtTheRig(t.Context(), stranger, rigAsk()); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger: %v, want forbidden", err)
	}
}
