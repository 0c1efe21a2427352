package scout_test

import (
	"math"
	"testing"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/scout"
)

// bedrockAt makes a distribution and the neighbours behind it, equal weights,
// depths in feet; a negative one is a hole that stopped there in loose ground.
func bedrockAt(t *testing.T, depths ...float64) (*predict.Distribution, []scout.Neighbour) {
	t.Helper()
	var samples []predict.Sample
	var holes []scout.Neighbour
	for i, d := range depths {
		s := predict.Sample{Value: float64(feet(math.Abs(d))), Weight: 1}
		n := scout.Neighbour{WellID: int64(i), Key: uint64(i), Vote: scout.Vote{Weight: 1}, Bedrock: records.Of(feet(d))}
		if d < 0 {
			s.Bound = predict.GreaterThan
			n.Bedrock = records.MoreThan(feet(-d))
		}
		samples, holes = append(samples, s), append(holes, n)
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		t.Fatal(err)
	}
	return &d, holes
}

// TestCasingByHand: bedrock at 10, 20, ... 200 ft. At 95 ft without bedrock
// eleven of twenty are left (100 to 200); 162 ft aboard with 10 ft of socket
// and 2 ft of stick-up reach bedrock at 150 ft; five (160 to 200) need more.
func TestCasingByHand(t *testing.T) {
	var depths []float64
	for d := 10.; d <= 200; d += 10 {
		depths = append(depths, d)
	}
	d, holes := bedrockAt(t, depths...)
	c := scout.CasingRunsOut(d, holes, feet(95), 162*ft, plan())
	near(t, "reaches, ft", float64(c.Reaches)/ft, 150, 1e-9)
	near(t, "chance", c.RunsOut.Value, 5./11, 1e-12)
	near(t, "low", c.RunsOut.Low, 5./11, 1e-12)
	near(t, "high", c.RunsOut.High, 5./11, 1e-12)
	near(t, "effective", c.Effective, 11, 1e-12)
	near(t, "median, ft", float64(c.Median)/ft, 162, 5.01) // bedrock at 150 or half a step off, by the midpoint rule
	if !c.Tells {
		t.Error(c.Why)
	}
	if c := scout.CasingRunsOut(d, holes, feet(145), 162*ft, plan()); c.Tells {
		t.Errorf("told by %g effective wells", c.Effective)
	}
}

func TestCasingEdges(t *testing.T) {
	d, holes := bedrockAt(t, 10, 20, 30, 40, 50, 60, 70, 80, 90, -100)
	p := plan()
	for _, c := range []struct {
		name      string
		d         *predict.Distribution
		now       float64
		aboard    float64
		low, high float64
		tells     bool
	}{
		{"less than the least casing", d, 5, 15, 1, 1, true},
		{"too short for any bedrock left", d, 60, 70, 1, 1, true},
		{"one never met bedrock: open above 100 ft", d, 5, 132, 0, 0.1, true},
		{"one never met bedrock: known at 100 ft", d, 5, 107, 0.1, 0.1, true},
		{"deeper than anybody met bedrock", d, 150, 200, 0, 1, false},
		{"nothing known", nil, 5, 50, 0, 1, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := scout.CasingRunsOut(c.d, holes, feet(c.now), records.Length(c.aboard*ft), p)
			near(t, "low", got.RunsOut.Low, c.low, 1e-12)
			near(t, "high", got.RunsOut.High, c.high, 1e-12)
			if got.Tells != c.tells || !got.Tells && got.Why == "" {
				t.Errorf("tells %v: %s", got.Tells, got.Why)
			}
		})
	}
}
