package desk_test

import (
	"fmt"
	"math"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/scout"
)

// held counts how often a range of eight in ten held what came, beside the
// share that the distribution itself says lies in it: more than eight in ten
// where many outcomes are one figure, the greatest depth or the least casing.
type held struct {
	n, within, below, above int
	said                    float64
}

func (h *held) add(d *predict.Distribution, y float64) {
	const slack = 1e-6
	r := d.Range80()
	low, high := r.Low-slack, r.High+slack
	if r.AtLeastHigh {
		high = math.Inf(1)
	}
	h.said += d.AtLeast(low)
	if !math.IsInf(high, 1) {
		h.said -= d.AtLeast(high)
	}
	switch h.n++; {
	case y < low:
		h.below++
	case y > high:
		h.above++
	default:
		h.within++
	}
}

// tooFar says how far what was held lies from what was said.
func (h held) tooFar() float64 { return (float64(h.within) - h.said) / float64(h.n) }

func (h held) String() string {
	n := float64(h.n)
	return fmt.Sprintf("%.1f %% of %d, said %.1f %% (%.1f %% under, %.1f %% over)", 100*float64(h.within)/n, h.n, 100*h.said/n, 100*float64(h.below)/n, 100*float64(h.above)/n)
}

// wholeTruth is a fresh hole as the one possible outcome at its place: its rock
// as it is in the ground, its water strike by strike.
func wholeTruth(h demo.Hole) scout.Neighbour {
	words := lithology.Default()
	n := scout.NewNeighbour(h.Record, records.DerivePicks(h.Record, words), words, scout.Vote{Weight: 1})
	n.Bedrock = records.Of(records.Depth(h.BedrockM))
	return n
}

// TestScoutingHoldsInTheGround replays a plan in fresh holes of the invented
// ground, and holds what was said of their places before against what came.
//
// The need is the least for which anybody in the township drills, and the
// greatest depth less than any hole of its last years goes that does not find
// it, so that every fresh hole tells how the plan comes out in it.
func TestScoutingHoldsInTheGround(t *testing.T) {
	if testing.Short() {
		t.Skip("NOT CHECKED (-short): scoutings against what is in the ground")
	}
	const each, deepestM = 160, 150.0
	need := records.Flow(records.GallonPerMinute.ToBase(2))
	var depth, casing, cost held
	var bins [5]struct {
		n         int
		said, met float64
	}
	var said, met, unsettled float64
	places := 0
	for seed := uint64(1); seed <= 2; seed++ {
		d, _ := newDesk(t)
		town := demo.Make(seed)
		for i, w := range town.Wells {
			w.UID = fmt.Sprintf("00000000-0000-4000-8000-%06d%06d", seed, i) // the same draws in every run
		}
		if err := d.AddAll(t.Context(), me, town.Wells, nil, nil); err != nil {
			t.Fatal(err)
		}
		if err := d.SetInventedOffice(t.Context(), me); err != nil {
			t.Fatal(err)
		}
		for _, where := range []demo.Siting{demo.AsWellsGo, demo.Anywhere} {
			for _, h := range town.Fresh(77, each/2, where) {
				s, err := d.Scouting(t.Context(), me, desk.ScoutAsk{At: position.LonLat(h.At), Need: need, Hole: 152.4, Casing: 168.275, MaxDepth: deepestM})
				if err != nil || s.Hole == nil {
					t.Fatalf("%+v: %v, %v", h.At, err, s.NoReplay)
				}
				came, err := scout.CostOf([]scout.Neighbour{wholeTruth(h)}, s.Hole.Plan, scout.Own{}, &s.Rates)
				if err != nil {
					t.Fatal(err)
				}
				o := &came.Outcomes[0]
				if o.Result != scout.Met && o.Result != scout.Short {
					unsettled++ // rounding took the last of its water: it says nothing
					continue
				}
				places++
				f := s.Hole
				if !(f.MetLow >= -1e-9 && f.MetLow <= f.MetHigh+1e-9 && f.MetHigh <= 1+1e-9) {
					t.Errorf("%+v: the chance lies from %g to %g", h.At, f.MetLow, f.MetHigh)
				}
				depth.add(&f.Depth, float64(o.Likely))
				casing.add(&f.Casing, float64(o.Casing))
				cost.add(&f.Cost, float64(o.Bill.Total))
				p := (f.MetLow + f.MetHigh) / 2
				b := &bins[min(int(p*5), 4)]
				b.n++
				b.said += p
				said += p
				if o.Result == scout.Met {
					b.met++
					met++
				}
			}
		}
	}
	t.Logf("depth drilled: the range held %v", depth)
	t.Logf("casing:        the range held %v", casing)
	t.Logf("cost:          the range held %v", cost)
	n := float64(places)
	t.Logf("need met: said %.3f, came %.3f of %d places; %.0f left out", said/n, met/n, places, unsettled)
	for i, b := range bins {
		if b.n > 0 {
			t.Logf("  said %d to %d %%: %4d places, said %.3f, came %.3f (standard error %.3f)", i*20, i*20+20, b.n, b.said/float64(b.n), b.met/float64(b.n),
				math.Sqrt(b.said/float64(b.n)*(1-b.said/float64(b.n))/float64(b.n)))
		}
	}
	for what, h := range map[string]held{"depth drilled": depth, "cost": cost} {
		if math.Abs(h.tooFar()) > 0.05 {
			t.Errorf("%s: the range held %v, want it within 5 %%", what, h)
		}
	}
	// Casing takes over the ranks of bedrock, but has a least length: where
	// bedrock is shallow many outcomes are that one length, and the range begins
	// with all of them. So it holds more than it says, and must not hold less.
	if c := casing.tooFar(); c < -0.05 || c > 0.08 {
		t.Errorf("casing: the range held %v", casing)
	}
	if math.Abs(said-met)/n > 0.05 {
		t.Errorf("the need is met in %.3f, said %.3f", met/n, said/n)
	}
}
