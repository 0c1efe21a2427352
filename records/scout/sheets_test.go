package scout_test

import (
	"math"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
	"tallybook/records/scout"
)

func someHoles() []scout.Neighbour {
	var holes []scout.Neighbour
	for i := range 20 {
		at := 120 + 20*float64(i)
		holes = append(holes, hole(int64(i+1), 20+float64(i), at+20, [2]float64{at, 4}))
	}
	return holes
}

func TestQuoteSheet(t *testing.T) {
	r := scout.InventedRates()
	r.ValidTo = records.Date{Year: 2026, Month: 6, Day: 30}
	f := costOf(t, someHoles(), plan(), r)
	q := scout.NewQuoteSheet(f, &r, records.Date{Year: 2026, Month: 4, Day: 1}, records.Date{Year: 2026, Month: 12, Day: 31}, scout.Words{Terms: "as agreed"})
	if q.ValidUntil != r.ValidTo {
		t.Errorf("valid until %v, though the rates end on %v", q.ValidUntil, r.ValidTo)
	}
	if late := scout.NewQuoteSheet(f, &r, records.Date{Year: 2026, Month: 7, Day: 1}, records.Date{}, scout.Words{}); q.RatesOver || !late.RatesOver {
		t.Errorf("rates that ended are over: in April %v, in July %v", q.RatesOver, late.RatesOver)
	}
	if !(q.Low < q.Middle && q.Middle < q.High) || q.HighOpen || q.MiddleOpen {
		t.Errorf("range %d, %d, %d", q.Low, q.Middle, q.High)
	}
	var sum scout.Cents
	for _, l := range q.Lines {
		sum += l.Cents
	}
	if sum != q.LinesSum || sum == 0 {
		t.Errorf("lines add up to %d, not %d", sum, q.LinesSum)
	}
	// six of the twenty met the need at 420 ft or deeper, past the call at 400 ft
	near(t, "call", q.CallLow, 0.25, 1e-12)
	if q.RatesNote != scout.InventedLabel || q.Words.Terms != "as agreed" || q.MetLow != 1 || !q.Standby.Set || len(q.Assumptions) < 3 || len(q.Cautions) == 0 {
		t.Errorf("sheet %+v", q)
	}
	if all := strings.Join(q.Assumptions, " "); !strings.Contains(all, "3 gpm") || !strings.Contains(all, "600 ft") || !strings.Contains(all, "20 wells") {
		t.Errorf("assumptions %q", all)
	}
}

// TestQuoteSheetOpenEnd: where all neighbours stopped early the sheet says
// 'more than', and no number is infinite.
func TestQuoteSheetOpenEnd(t *testing.T) {
	r := scout.InventedRates()
	f := costOf(t, []scout.Neighbour{hole(1, 30, 200, [2]float64{150, 1}), hole(2, 30, 300, [2]float64{150, 1})}, plan(), r)
	q := scout.NewQuoteSheet(f, &r, records.Date{}, records.Date{}, scout.Words{})
	if !q.HighOpen || !q.MiddleOpen || q.High <= 0 || q.High > 1e9 {
		t.Errorf("high %d open %v, middle %d open %v", q.High, q.HighOpen, q.Middle, q.MiddleOpen)
	}
	empty := scout.Rates{}
	q = scout.NewQuoteSheet(costOf(t, someHoles(), plan(), empty), &empty, records.Date{}, records.Date{}, scout.Words{})
	if q.High != 0 || len(q.Missing) == 0 {
		t.Errorf("an empty table quotes %d, missing %q", q.High, q.Missing)
	}
}

// TestLoadOut by hand: the twenty holes meet the need at 120, 140, ... 500 ft.
func TestLoadOut(t *testing.T) {
	p, r := plan(), scout.InventedRates()
	p.Rod, p.CasingStick = 20*ft, 21*ft
	f := costOf(t, someHoles(), p, r)
	out, err := scout.LoadOutOf(f, &r, scout.Spares{Rods: 2, Sticks: 1})
	if err != nil {
		t.Fatal(err)
	}
	quantity := func(l scout.Load, item string) float64 {
		for _, line := range l.Lines {
			if strings.Contains(line.Item, item) {
				return line.Quantity
			}
		}
		t.Errorf("no %q among %v", item, l.Lines)
		return 0
	}
	near(t, "depth, ft", float64(out.Middle.Depth)/ft, 310, 1e-9) // between the tenth and the eleventh
	near(t, "rods", quantity(out.Middle, "rods"), 16+2, 0)
	near(t, "upper depth, ft", float64(out.Upper.Depth)/ft, 470, 1e-9)
	near(t, "upper rods", quantity(out.Upper, "rods"), 24+2, 0)
	// bedrock 20 to 39 ft: casing to 39.5 ft in the middle and 47.5 ft above, and 2 ft of stick-up
	near(t, "sticks", quantity(out.Middle, "sticks"), 2+1, 0)
	near(t, "upper sticks", quantity(out.Upper, "sticks"), 3+1, 0)
	near(t, "shoes", quantity(out.Upper, "shoe"), 1, 0)
	sacks := quantity(out.Upper, "sacks")
	// 1.5141 gal/ft x 1.25 / 9 gal: casing to 47 ft, the eighteenth, takes 9.9 and so 10 sacks, the nineteenth 10.1 and so 11
	near(t, "sacks", sacks, 11, 0)
	near(t, "water, gal", records.Gallon.FromBase(quantity(out.Upper, "water")), sacks*5.5, 1e-9)
	if len(out.Upper.Cautions) == 0 || out.Upper.AtLimit {
		t.Errorf("load %+v", out.Upper)
	}
	open := costOf(t, []scout.Neighbour{hole(1, 30, 200)}, p, r)
	if out, err = scout.LoadOutOf(open, &r, scout.Spares{}); err != nil || !out.Upper.AtLimit || math.Abs(float64(out.Upper.Depth-p.MaxDepth)) > 1e-9 {
		t.Errorf("an open end: %+v, %v", out.Upper, err)
	}
}

// TestWays: a hole that gives 0.2 gal/min and holds 100 gal against a steady
// day of 0.4 gal/min: alone it fails; deepening that comes in dry cannot carry
// a day that the well does not give, nor can any tank; a fracture at the
// published low end (0.5 gal/min) can.
func TestWays(t *testing.T) {
	b := bit()
	b.Yield, b.Need = gallons(0.2), gallons(3)
	r := scout.InventedRates()
	p := scout.GoOn(tenHoles(), b, []records.Length{50 * ft, 100 * ft}, 0, &r)
	litres := records.Gallon.ToBase(1)
	now := figuring.Supply{Yield: b.Yield, Hole: records.Volume(100 * litres), Days: 2}
	day := figuring.Pattern{Name: "steady", Draws: []figuring.Draw{{At: 0, Flow: gallons(0.4), For: 1440}}}
	ways, err := scout.Ways(&p, now, day, scout.WayPrices{Tank: scout.Of(100), Fracture: scout.Of(200)})
	if err != nil {
		t.Fatal(err)
	}
	got := map[scout.WayKind]scout.Way{}
	for _, w := range ways {
		got[w.Kind] = w
	}
	if len(ways) != 5 || got[scout.Stop].AtHigh || got[scout.AddTank].AtHigh || got[scout.Deepen].AtLow || !got[scout.Fracture].AtLow {
		t.Errorf("ways %+v", ways)
	}
	if d := got[scout.Deepen]; !d.AtHigh || !d.Price.Set || !(d.Stored > now.Hole) || d.YieldHigh <= d.YieldLow {
		t.Errorf("deepening %+v", d)
	}
	day.Draws[0].Flow = gallons(0.15)
	day.Draws = append(day.Draws, figuring.Draw{At: 480, Flow: gallons(5), For: 14})
	if ways, err = scout.Ways(&p, now, day, scout.WayPrices{}); err != nil {
		t.Fatal(err)
	}
	if w := ways[len(ways)-2]; w.Kind != scout.AddTank {
		t.Errorf("the tank is %+v", w)
	}
}
