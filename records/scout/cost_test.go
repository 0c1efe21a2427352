package scout_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/scout"
)

func costOf(t *testing.T, neighbours []scout.Neighbour, p scout.Plan, r scout.Rates) *scout.Forecast {
	t.Helper()
	f, err := scout.CostOf(neighbours, p, scout.Own{}, &r)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestBillByHand: one hole worked by hand on the invented table. Bedrock at 30
// ft, need met at 350 ft; casing to 40 ft and 2 ft of stick-up.
func TestBillByHand(t *testing.T) {
	f := costOf(t, []scout.Neighbour{hole(1, 30, 400, [2]float64{120, 1}, [2]float64{350, 3})}, plan(), scout.InventedRates())
	want := map[scout.LineKind]scout.Cents{
		scout.LineMobilisation: 100000,
		scout.LineDrilling:     30*2000 + 270*1000 + 50*1200,
		scout.LineCasing:       42 * 2500,
		scout.LineShoe:         20000,
		// annulus 9 in less 6.625 in: 1.5141 gal/ft x 40 ft x 1.25 / 9 gal = 8.41
		scout.LineGrout:        9 * 3000,
		scout.LineHours:        20000,
		scout.LineDisinfection: 10000,
		scout.LinePump:         300000,
		scout.LinePlate:        1000,
		scout.LinePermit:       10000,
	}
	want[scout.LineTax] = (want[scout.LineCasing] + 20000 + 27000 + 300000) * 5 / 100
	var total scout.Cents
	got := map[scout.LineKind]scout.Cents{}
	for _, l := range f.Middle.Bill.Lines {
		got[l.Kind] += l.Cents
	}
	for k, v := range want {
		total += v
		if got[k] != v {
			t.Errorf("%v: %d cents, want %d", k, got[k], v)
		}
	}
	if len(got) != len(want) || f.Middle.Bill.Total != total {
		t.Errorf("total %d of lines %v, want %d", f.Middle.Bill.Total, got, total)
	}
	if len(f.Missing) != 0 {
		t.Errorf("missing %q of a full table", f.Missing)
	}
}

// TestTwoClustersTwoHumps: wells that met the need near 100 ft and wells that
// met it near 500 ft; no cost lies between, and the share above a figure
// between the humps is the weight of the deep ones.
func TestTwoClustersTwoHumps(t *testing.T) {
	var neighbours []scout.Neighbour
	for i := range 12 {
		n := hole(int64(i+1), 20, 120+float64(i), [2]float64{100 + float64(i), 5})
		n.Weight = 2
		neighbours = append(neighbours, n)
	}
	for i := range 8 {
		n := hole(int64(i+100), 80, 520+float64(i), [2]float64{500 + float64(i), 5})
		n.Weight = 3
		neighbours = append(neighbours, n)
	}
	f := costOf(t, neighbours, plan(), scout.InventedRates())
	var shallow, deep scout.Cents
	for _, o := range f.Outcomes {
		if o.WellID < 100 {
			shallow = max(shallow, o.Bill.Total)
		} else if deep == 0 || o.Bill.Total < deep {
			deep = o.Bill.Total
		}
	}
	if deep < shallow+100000 {
		t.Fatalf("the humps are at %d and %d: no gap to speak of", shallow, deep)
	}
	if low, high := f.ShareAbove((shallow + deep) / 2); low != high || math.Abs(low-0.5) > 1e-12 {
		t.Errorf("share above the middle of the gap %g to %g, want 24 of 48 weights", low, high)
	}
	between := 0
	for _, d := range f.Dots(20) {
		if d > float64(shallow)+1 && d < float64(deep)-1 {
			between++
		}
	}
	if between > 1 { // the quantile crosses the gap once
		t.Errorf("%d of 20 dots lie in the gap between two humps", between)
	}
	if f.Drivers[0].What != scout.ByDepth {
		t.Errorf("the spread goes first with %v, want depth", f.Drivers[0].What)
	}
}

func TestDriversAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f, err := scout.CostOf(drawHoles(rt), plan(), scout.Own{}, ptr(scout.InventedRates()))
		if err != nil {
			rt.Fatal(err)
		}
		sum := 0.0
		for _, d := range f.Drivers {
			sum += d.Share
		}
		if len(f.Drivers) > 0 && math.Abs(sum-1) > 1e-9 {
			rt.Fatalf("shares add up to %g", sum)
		}
	})
}

func ptr[T any](v T) *T { return &v }

// cent is how far two totals may differ by the rounding of their lines.
const cent = scout.Cents(4)

func drawHoles(rt *rapid.T) []scout.Neighbour {
	n := rapid.IntRange(1, 12).Draw(rt, "holes")
	out := make([]scout.Neighbour, n)
	for i := range out {
		bedrock := rapid.Float64Range(0, 150).Draw(rt, "bedrock")
		depth := bedrock + rapid.Float64Range(0, 600).Draw(rt, "more")
		out[i] = hole(int64(i+1), bedrock, depth)
		out[i].Weight = rapid.Float64Range(0.1, 3).Draw(rt, "weight")
		if rapid.Bool().Draw(rt, "strikes") {
			sum := records.Flow(0)
			for range rapid.IntRange(0, 4).Draw(rt, "n") {
				at := feet(rapid.Float64Range(0, depth).Draw(rt, "at"))
				gain := gallons(rapid.Float64Range(0.1, 5).Draw(rt, "gain"))
				out[i].Strikes = append(out[i].Strikes, scout.Strike{From: at, To: at, Flow: records.Of(gain)})
				sum += gain
			}
			out[i].Yield = records.Of(sum)
		} else {
			y := gallons(rapid.Float64Range(0, 12).Draw(rt, "yield"))
			switch rapid.IntRange(0, 3).Draw(rt, "kind") {
			case 0:
				out[i].Yield = records.Of(y)
			case 1:
				out[i].Yield = records.MoreThan(y)
			case 2:
				out[i].Yield = records.Under(y)
			case 3:
				out[i].Yield = records.Amount[records.Flow]{}
			}
		}
	}
	return out
}

// TestSmallerNeedNeverCostsMore at any neighbour, for the hole itself: a table
// on which a dry hole is no cheaper and a pump is not sold. (With a pump or
// dry-hole terms a dry hole may well cost less than a good one.)
func TestSmallerNeedNeverCostsMore(t *testing.T) {
	r := scout.InventedRates()
	r.PumpSet, r.Disinfection, r.Plate, r.Dry = scout.Price{}, scout.Price{}, scout.Price{}, scout.DryTerms{}
	rapid.Check(t, func(rt *rapid.T) {
		holes := drawHoles(rt)
		big := plan()
		big.Need = gallons(rapid.Float64Range(0.5, 10).Draw(rt, "need"))
		big.Rod = records.Length(rapid.SampledFrom([]float64{0, 20 * ft}).Draw(rt, "rod"))
		small := big
		small.Need *= records.Flow(rapid.Float64Range(0.05, 1).Draw(rt, "share"))
		a, errA := scout.CostOf(holes, small, scout.Own{}, &r)
		b, errB := scout.CostOf(holes, big, scout.Own{}, &r)
		if errA != nil || errB != nil {
			rt.Fatal(errA, errB)
		}
		for i := range a.Outcomes {
			x, y := &a.Outcomes[i], &b.Outcomes[i]
			if x.Low > y.Low+cent || x.Early > y.Early {
				rt.Fatalf("need %g costs at least %d to %g m, need %g only %d to %g m (%v, %v)", small.Need, x.Low, x.Early, big.Need, y.Low, y.Early, x.Result, y.Result)
			}
			if x.Likely > y.Likely+1e-9 {
				rt.Fatalf("need %g goes to %g m on average, need %g to %g", small.Need, x.Likely, big.Need, y.Likely)
			}
			if cx, knownX := meanCost(x); knownX {
				if cy, knownY := meanCost(y); knownY && cx > cy+float64(cent) {
					rt.Fatalf("need %g costs %g on average, need %g %g", small.Need, cx, big.Need, cy)
				}
			}
			if !x.AtLeast && !y.AtLeast && x.High > y.High+cent {
				rt.Fatalf("need %g costs at most %d, need %g %d", small.Need, x.High, big.Need, y.High)
			}
			if x.AtLeast && !y.AtLeast {
				rt.Fatalf("the smaller need is not settled where the greater one is: %v, %v", x.Result, y.Result)
			}
		}
	})
}

// meanCost is the cost of an outcome over its parts; known is false where one
// of them is only 'at least'.
func meanCost(c *scout.Costed) (cents float64, known bool) {
	for i, part := range c.Parts {
		if c.Costs[i].AtLeast {
			return 0, false
		}
		cents += part.Share * float64(c.Costs[i].Cents)
	}
	return cents, true
}

// TestPartsMakeTheOutcome: shares add up to one and depths lie within the
// limits that the record leaves.
func TestPartsMakeTheOutcome(t *testing.T) {
	r := scout.InventedRates()
	rapid.Check(t, func(rt *rapid.T) {
		f, err := scout.CostOf(drawHoles(rt), plan(), scout.Own{}, &r)
		if err != nil {
			rt.Fatal(err)
		}
		for _, o := range f.Outcomes {
			sum := 0.0
			for i, part := range o.Parts {
				sum += part.Share
				if part.Depth < o.Early || part.Depth > o.Late && part.Result != scout.StoppedEarly || part.Depth > o.End {
					rt.Fatalf("part at %g m of %g to %g (%v, %v)", part.Depth, o.Early, o.Late, o.Result, part.Result)
				}
				if c := o.Costs[i]; c.Cents < o.Low-cent || c.Cents > o.High+cent || c.Cents > f.Ceiling+cent {
					rt.Fatalf("part costs %d, limits %d to %d, ceiling %d (%v)", c.Cents, o.Low, o.High, f.Ceiling, o.Result)
				}
			}
			if math.Abs(sum-1) > 1e-9 {
				rt.Fatalf("shares add up to %g", sum)
			}
		}
	})
}

// TestDearerRatesNeverCheaper and deeper limits never lower the known part.
func TestDearerRatesNeverCheaper(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		holes := drawHoles(rt)
		r, dear := scout.InventedRates(), scout.InventedRates()
		more := scout.Cents(rapid.IntRange(0, 5000).Draw(rt, "more"))
		for i := range dear.Drilling {
			dear.Drilling[i].ByLength.Cents += more
		}
		a, errA := scout.CostOf(holes, plan(), scout.Own{}, &r)
		b, errB := scout.CostOf(holes, plan(), scout.Own{}, &dear)
		if errA != nil || errB != nil {
			rt.Fatal(errA, errB)
		}
		for i := range a.Outcomes {
			if a.Outcomes[i].Low > b.Outcomes[i].Low {
				rt.Fatalf("dearer drilling lowers the bill from %d to %d", a.Outcomes[i].Low, b.Outcomes[i].Low)
			}
		}
	})
}

// TestCostAgainstCounting: without bounds the share above a figure is the
// weight of the bills above it; order, weights of zero and a common factor of
// the weights change nothing.
func TestCostAgainstCounting(t *testing.T) {
	r := scout.InventedRates()
	rapid.Check(t, func(rt *rapid.T) {
		var holes []scout.Neighbour
		for i := range rapid.IntRange(1, 15).Draw(rt, "holes") {
			bedrock := rapid.Float64Range(0, 100).Draw(rt, "bedrock")
			at := bedrock + rapid.Float64Range(20, 400).Draw(rt, "at")
			n := hole(int64(i+1), bedrock, 900, [2]float64{at, rapid.SampledFrom([]float64{1, 4}).Draw(rt, "gain")})
			n.Weight = rapid.Float64Range(0.1, 3).Draw(rt, "weight")
			holes = append(holes, n)
		}
		f, err := scout.CostOf(holes, plan(), scout.Own{}, &r)
		if err != nil {
			rt.Fatal(err)
		}
		figure := scout.Cents(rapid.IntRange(0, 2_000_000).Draw(rt, "figure"))
		var above, sum float64
		for _, o := range f.Outcomes {
			sum += o.Weight
			if o.Bill.Total > figure {
				above += o.Weight
			}
		}
		if low, high := f.ShareAbove(figure); math.Abs(low-above/sum) > 1e-9 || math.Abs(high-above/sum) > 1e-9 {
			rt.Fatalf("share above %d: %g to %g, counted %g", figure, low, high, above/sum)
		}
		other := rapid.Permutation(holes).Draw(rt, "order")
		other = append(append([]scout.Neighbour(nil), other...), hole(99, 5, 50))
		other[len(other)-1].Weight = 0
		for i := range other {
			other[i].Weight *= 3
		}
		g, err := scout.CostOf(other, plan(), scout.Own{}, &r)
		if err != nil {
			rt.Fatal(err)
		}
		for _, p := range []float64{0.1, 0.5, 0.9} {
			if a, b := f.Cost.Quantile(p), g.Cost.Quantile(p); math.Abs(a-b) > 1e-6*a {
				rt.Fatalf("quantile %g: %g, in another order %g", p, a, b)
			}
		}
	})
}

func TestPartlyPricedTableNamesItOnce(t *testing.T) {
	r, faults := scout.ParseRates([]byte(`{"units":"us","currency":"USD","drilling":[{"ground":"rock","to_ft":100,"cents_per_ft":1000}]}`))
	if records.Refuses(faults) {
		t.Fatal(faults)
	}
	f := costOf(t, someHoles(), plan(), r)
	count := map[string]int{}
	for _, m := range f.Missing {
		count[m]++
	}
	if count["no price for drilling in rock at every depth"] != 1 || count["no price for drilling in soil"] != 1 || len(f.Missing) > 12 {
		t.Errorf("missing %q", f.Missing)
	}
	near(t, "median", f.Cost.Median(), (100-29.5)*1000, 1) // rock between 20 to 39 ft and 100 ft
}

func TestPoorNeighbourhoods(t *testing.T) {
	dry := func(id int64) scout.Neighbour { return hole(id, 30, 700) }
	short := func(id int64) scout.Neighbour { return hole(id, 30, 200, [2]float64{150, 1}) }
	for _, c := range []struct {
		name       string
		neighbours []scout.Neighbour
		met        [2]float64
		median     bool // whether the median is known
		results    scout.Result
	}{
		{"one well that met the need", []scout.Neighbour{hole(1, 30, 200, [2]float64{150, 4})}, [2]float64{1, 1}, true, scout.Met},
		{"all dry", []scout.Neighbour{dry(1), dry(2)}, [2]float64{0, 0}, true, scout.Short},
		{"all stopped early", []scout.Neighbour{short(1), short(2)}, [2]float64{0, 1}, false, scout.StoppedEarly},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := costOf(t, c.neighbours, plan(), scout.InventedRates())
			if f.MetLow != c.met[0] || f.MetHigh != c.met[1] {
				t.Errorf("chance of the need %g to %g, want %v", f.MetLow, f.MetHigh, c.met)
			}
			if known := !math.IsInf(f.Cost.Median(), 1); known != c.median {
				t.Errorf("median %g", f.Cost.Median())
			}
			for _, o := range f.Outcomes {
				if o.Result != c.results {
					t.Errorf("well %d: %v, want %v", o.WellID, o.Result, c.results)
				}
			}
			if f.Middle.Bill.Total <= 0 {
				t.Error("no bill to show line by line")
			}
		})
	}
	r := scout.InventedRates()
	if _, err := scout.CostOf(nil, plan(), scout.Own{}, &r); !errors.Is(err, scout.ErrNoOutcome) {
		t.Errorf("no neighbour: %v", err)
	}
	if _, err := scout.CostOf([]scout.Neighbour{dry(1)}, scout.Plan{}, scout.Own{}, &r); records.CodeOf(err) != records.Invalid {
		t.Errorf("empty plan: %v", err)
	}
}

// TestEmptyTable: depths are told and the missing prices named; no cost is.
func TestEmptyTable(t *testing.T) {
	f := costOf(t, []scout.Neighbour{hole(1, 30, 200, [2]float64{150, 4})}, plan(), scout.Rates{})
	if !f.Cost.Empty() || f.Depth.Empty() || len(f.Missing) == 0 {
		t.Errorf("cost %v, depth %v, missing %q", f.Cost.Len(), f.Depth.Len(), f.Missing)
	}
}

// TestDryTerms: a dry hole to the plan's end, by hand: 600 ft with bedrock at
// 30, three quarters of the footage, sealing, no pump.
func TestDryTerms(t *testing.T) {
	f := costOf(t, []scout.Neighbour{hole(1, 30, 700)}, plan(), scout.InventedRates())
	drilling := scout.Cents(30*2000 + 270*1000 + 200*1200 + 100*1500)
	got := map[scout.LineKind]scout.Cents{}
	for _, l := range f.Middle.Bill.Lines {
		got[l.Kind] += l.Cents
	}
	if got[scout.LineDrilling] != drilling || got[scout.LineDryTerms] != -drilling/4 || got[scout.LineSealing] != 50000+600*300 || got[scout.LinePump] != 0 {
		t.Errorf("lines %v, drilling %d", got, drilling)
	}
}

func TestBudgetIsKept(t *testing.T) {
	p, r := plan(), scout.InventedRates()
	p.Budget = 1_000_000
	f := costOf(t, []scout.Neighbour{hole(1, 30, 900), hole(2, 30, 900, [2]float64{580, 6}), hole(3, 30, 200, [2]float64{150, 4})}, p, r)
	for _, o := range f.Outcomes {
		good := r.Bill(scout.Hole{Depth: o.End, Casing: o.Casing, Bedrock: o.Bedrock, Overrun: o.Overrun, Wanted: true}, &p).Total
		if good > p.Budget || good < p.Budget-500 {
			t.Errorf("well %d ends at %.1f m, where a good hole costs %d of %d", o.WellID, o.End, good, p.Budget)
		}
	}
	if f.Outcomes[1].Result != scout.Short || f.Outcomes[2].Result != scout.Met {
		t.Errorf("results %v, %v", f.Outcomes[1].Result, f.Outcomes[2].Result)
	}
}
