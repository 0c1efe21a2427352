package scout_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/scout"
)

func spread(t interface{ Fatal(...any) }, values ...float64) *predict.Distribution {
	var s []predict.Sample
	for _, v := range values {
		s = append(s, predict.Sample{Value: v, Weight: 1})
	}
	d, err := predict.NewDistribution(s)
	if err != nil {
		t.Fatal(err)
	}
	return &d
}

// TestUnderSiteKeepsRock: worked by hand. Three holes with bedrock at 10, 50
// and 200 ft, all 300 ft into rock with water 100 ft below its top, stand on a
// site whose bedrock is 20, 22 or 24 ft down.
func TestUnderSiteKeepsRock(t *testing.T) {
	near := []scout.Neighbour{
		hole(1, 50, 350, [2]float64{150, 4}), hole(2, 10, 310, [2]float64{110, 4}), hole(3, 200, 500, [2]float64{300, 4}),
	}
	near[2].Ground = []scout.Ground{{Top: 0, Bottom: feet(100), Class: records.ClassSoil}, {Top: feet(100), Bottom: feet(200), Class: records.ClassTransition}, {Top: feet(200), Bottom: feet(500), Class: records.ClassRock}}
	got := scout.UnderSite(near, scout.Own{Bedrock: spread(t, 20*ft, 22*ft, 24*ft)})
	for i, want := range []float64{22, 20, 24} {
		n := got[i]
		check := func(what string, v records.Depth, feetWant float64) {
			if math.Abs(float64(v)-feetWant*ft) > 1e-9 {
				t.Errorf("hole %d: %s at %.3f ft, not %g", n.WellID, what, float64(v)/ft, feetWant)
			}
		}
		check("bedrock", n.Bedrock.Value, want)
		check("bottom", n.Depth.Value, want+300)
		check("water", n.Strikes[0].From, want+100)
		check("seat", n.Seat.Value, want+10)
	}
	g := got[2].Ground
	if len(g) != 3 || math.Abs(float64(g[0].Bottom)-12*ft) > 1e-9 || math.Abs(float64(g[1].Bottom)-24*ft) > 1e-9 {
		t.Errorf("the overburden is not pressed to fit: %v", g)
	}
	if near[2].Strikes[0].From != feet(300) {
		t.Error("the neighbours that were given are changed")
	}
}

// TestUnderSiteProperties: ranks of bedrock are kept, the rock drilled keeps
// its thickness, and the weighted bedrock is that of the site.
func TestUnderSiteProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		count := rapid.IntRange(1, 40).Draw(t, "count")
		var near []scout.Neighbour
		for i := range count {
			bed := rapid.Float64Range(0, 300).Draw(t, "bedrock")
			n := hole(int64(i+1), bed, bed+rapid.Float64Range(1, 500).Draw(t, "rock"))
			n.Weight = rapid.Float64Range(0.01, 1).Draw(t, "weight")
			near = append(near, n)
		}
		low := rapid.Float64Range(0, 100).Draw(t, "low")
		own := scout.Own{Bedrock: spread(t, low, low+1, low+5, low+30)}
		got := scout.UnderSite(near, own)
		for i := range got {
			a, b := near[i], got[i]
			if d := float64(b.Depth.Value-b.Bedrock.Value) - float64(a.Depth.Value-a.Bedrock.Value); math.Abs(d) > 1e-6 {
				t.Fatalf("rock grew by %g m", d)
			}
			if v := float64(b.Bedrock.Value); v < low-1e-9 || v > low+30+1e-9 {
				t.Fatalf("bedrock at %g m is not what the site's estimate holds", v)
			}
			for j := range got {
				if a.Bedrock.Value < near[j].Bedrock.Value && b.Bedrock.Value > got[j].Bedrock.Value {
					t.Fatal("two neighbours changed places")
				}
			}
		}
	})
}

// TestUnderSiteWithoutBedrock: where nothing is known of bedrock nothing is
// moved.
func TestUnderSiteWithoutBedrock(t *testing.T) {
	near := []scout.Neighbour{hole(1, 50, 350, [2]float64{150, 4})}
	if got := scout.UnderSite(near, scout.Own{}); got[0].Depth != near[0].Depth || got[0].Bedrock != near[0].Bedrock {
		t.Errorf("moved to %v", got[0])
	}
}
