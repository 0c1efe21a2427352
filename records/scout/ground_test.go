package scout_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"tallybook/records"
	"tallybook/records/scout"
)

// inventedGround is rock from 50 ft down in which strikes come at random, one
// in 120 ft, with 1.2 gal/min on average: what a plan meets in it is known by
// drilling it twenty thousand times.
type inventedGround struct{ *rand.Rand }

func (g inventedGround) strikes(from, to float64) [][2]float64 {
	var out [][2]float64
	for at := from + g.ExpFloat64()*120; at < to; at += g.ExpFloat64() * 120 {
		out = append(out, [2]float64{at, 1.2 * g.ExpFloat64()})
	}
	return out
}

// township is 150 holes of owners who each wanted one of the needs, and gave up
// between 250 and 650 ft.
func (g inventedGround) township(needs []float64, strikes bool) []scout.Neighbour {
	var holes []scout.Neighbour
	for i := range 150 {
		need := needs[g.IntN(len(needs))]
		end, total := 250+400*g.Float64(), 0.0
		var met [][2]float64
		stopped := "money"
		for _, s := range g.strikes(50, end) {
			met = append(met, s)
			if total += s[1]; total >= need {
				end, stopped = s[0]+5, "enough_water"
				break
			}
		}
		n := hole(int64(i+1), 40, end, met...)
		n.StopReason = stopped
		if !strikes {
			n.Strikes = nil // the final yield alone, as most records have it
		}
		holes = append(holes, n)
	}
	return holes
}

// metBy is the share of holes from a depth, with a yield so far, that have 3
// gal/min within a length.
func (g inventedGround) metBy(from, yield, length float64) float64 {
	met := 0
	for range 20_000 {
		have := yield
		for _, s := range g.strikes(from, from+length) {
			if have += s[1]; have >= 3 {
				met++
				break
			}
		}
	}
	return float64(met) / 20_000
}

// TestReplayInInventedGround: what the replay tells from neighbours is what
// drilling the ground gives, though their owners wanted other flows and though
// most records give no strikes. It may lean deep, never shallow.
func TestReplayInInventedGround(t *testing.T) {
	g := inventedGround{rand.New(rand.NewPCG(3, 4))}
	r := scout.InventedRates()
	truthEnd, truth400 := g.metBy(50, 0, 550), g.metBy(50, 0, 350)
	for _, c := range []struct {
		name    string
		needs   []float64
		strikes bool
	}{
		{"all wanted as much, with strikes", []float64{3}, true},
		{"wanted less and more, with strikes", []float64{1, 3, 5}, true},
		{"wanted as much, final yields alone", []float64{3}, false},
		{"wanted less and more, final yields alone", []float64{1, 3, 5}, false},
	} {
		var end, by400 float64
		const times = 20
		for range times {
			f := costOf(t, g.township(c.needs, c.strikes), plan(), r)
			end += (f.MetLow + f.MetHigh) / 2 / times
			by400 += f.Depth.Below(400*ft) / times
		}
		t.Logf("%s: met by 600 ft %.3f (truth %.3f), by 400 ft %.3f (truth %.3f)", c.name, end, truthEnd, by400, truth400)
		if math.Abs(end-truthEnd) > 0.08 {
			t.Errorf("%s: the need is met in %.3f, in truth in %.3f", c.name, end, truthEnd)
		}
		if by400 < truth400-0.1 || by400 > truth400+0.03 {
			t.Errorf("%s: met by 400 ft in %.3f, in truth in %.3f", c.name, by400, truth400)
		}
	}
}

// TestGoOnInInventedGround: the same of a bit at 200 ft.
func TestGoOnInInventedGround(t *testing.T) {
	g := inventedGround{rand.New(rand.NewPCG(5, 6))}
	lengths := []float64{50, 100, 200}
	for _, c := range []struct {
		name    string
		strikes bool
	}{{"with strikes", true}, {"final yields alone", false}} {
		for _, yield := range []float64{0, 1, 2} {
			var told [3]float64
			const times = 30
			for range times {
				p := scout.GoOn(g.township([]float64{1, 3, 5}, c.strikes), scout.Bit{Depth: feet(200), Yield: gallons(yield), Need: gallons(3)},
					[]records.Length{50 * ft, 100 * ft, 200 * ft}, 0, nil)
				for k, a := range p.Ahead {
					told[k] += a.Reach.Value / times
				}
			}
			for k, length := range lengths {
				truth := g.metBy(200, yield, length)
				t.Logf("%s, %g gal/min now, %g ft on: %.3f (truth %.3f)", c.name, yield, length, told[k], truth)
				if told[k] < truth-0.08 || told[k] > truth+0.05 {
					t.Errorf("%s, %g gal/min now, %g ft on: told %.3f, in truth %.3f", c.name, yield, length, told[k], truth)
				}
			}
		}
	}
}
