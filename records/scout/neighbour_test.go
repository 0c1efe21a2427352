package scout_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/scout"
)

// gain is a strike in feet and gallons a minute, for comparing.
type gain struct{ From, To, Low, High float64 }

func gainsOf(n *scout.Neighbour) []gain {
	var out []gain
	inFeet := func(d records.Depth) float64 { return math.Round(float64(d)/ft*1e6) / 1e6 }
	inGpm := func(f records.Flow) float64 { return math.Round(float64(f)/gpm*1e6) / 1e6 }
	for _, g := range scout.GainsOf(n) {
		out = append(out, gain{inFeet(g.From), inFeet(g.To), inGpm(g.Low), inGpm(g.High)})
	}
	return out
}

// TestAwkwardRecords: the plain record of recordstest (203 ft, bedrock at 40
// ft, seat at 51 ft, 6 gpm, strikes of 2 at 97 ft and 4 at 188 ft) changed in
// the ways that old logs are awkward. Expectations are worked by hand.
func TestAwkwardRecords(t *testing.T) {
	inf := math.Inf(1)
	strike := func(depthFt, flow string) records.Strike {
		s := records.Strike{Depth: recordstest.Feet[records.Depth](depthFt)}
		if flow != "" {
			s.Flow = recordstest.Gpm(flow)
		}
		return s
	}
	for _, c := range []struct {
		name   string
		change func(*records.Well)
		want   []gain
	}{
		{"as it is", func(*records.Well) {}, []gain{{97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"running totals", func(w *records.Well) {
			w.StrikesAs = "running_total"
			w.Strikes = []records.Strike{strike("97", "2"), strike("188", "6")}
		}, []gain{{97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"not said which, totals fit the yield", func(w *records.Well) {
			w.StrikesAs = ""
			w.Strikes = []records.Strike{strike("97", "2"), strike("188", "6")}
		}, []gain{{97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"not said which, gains fit the yield", func(w *records.Well) { w.StrikesAs = "" }, []gain{{97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"not said which and no yield, rising", func(w *records.Well) {
			w.StrikesAs, w.Yield = "", records.Amount[records.Flow]{}
		}, []gain{{97, 97, 2, 2}, {188, 188, 2, 2}}},
		{"a running total that falls", func(w *records.Well) {
			w.StrikesAs, w.Yield = "running_total", recordstest.Gpm("5")
			w.Strikes = []records.Strike{strike("97", "3"), strike("120", "2"), strike("188", "5")}
		}, []gain{{97, 97, 3, 3}, {188, 188, 2, 2}}},
		{"written from the bottom up", func(w *records.Well) {
			w.Strikes = []records.Strike{strike("188", "4"), strike("97", "2")}
		}, []gain{{97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"no strikes: somewhere in the open hole", func(w *records.Well) { w.Strikes = nil }, []gain{{51, 203, 6, 6}}},
		{"no strikes, no casing: somewhere below bedrock", func(w *records.Well) { w.Strikes, w.Casing = nil, nil }, []gain{{40, 203, 6, 6}}},
		{"no strikes, no casing, no bedrock", func(w *records.Well) {
			w.Strikes, w.Casing, w.Strata, w.Bedrock = nil, nil, nil, records.Amount[records.Depth]{}
		}, []gain{{0, 203, 6, 6}}},
		{"dry", func(w *records.Well) { w.Strikes, w.Yield = nil, recordstest.Gpm("0") }, nil},
		{"under one", func(w *records.Well) { w.Strikes, w.Yield = nil, recordstest.Gpm("<1") }, []gain{{51, 203, 0, 1}}},
		{"fifty and more", func(w *records.Well) { w.Strikes, w.Yield = nil, recordstest.Gpm("50+") }, []gain{{51, 203, 50, inf}}},
		{"strikes make less than the yield", func(w *records.Well) { w.Yield = recordstest.Gpm("9") }, []gain{{51, 203, 3, 3}, {97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"strikes make more than the yield", func(w *records.Well) { w.Yield = recordstest.Gpm("3") }, []gain{{97, 97, 1, 1}, {188, 188, 2, 2}}},
		{"strikes in a dry hole", func(w *records.Well) { w.Yield = recordstest.Gpm("0") }, nil},
		{"strikes without flows share the yield", func(w *records.Well) {
			w.Strikes = []records.Strike{strike("97", ""), strike("188", "")}
		}, []gain{{97, 97, 3, 3}, {188, 188, 3, 3}}},
		{"one strike without a flow takes the rest", func(w *records.Well) {
			w.Strikes = []records.Strike{strike("97", "2"), strike("188", "")}
		}, []gain{{97, 97, 2, 2}, {188, 188, 4, 4}}},
		{"a strike in a stretch", func(w *records.Well) {
			w.Strikes = []records.Strike{strike("97", "2"), strike("150-188", "4")}
		}, []gain{{97, 97, 2, 2}, {150, 188, 4, 4}}},
		{"a strike above a depth", func(w *records.Well) { w.Strikes = []records.Strike{strike("<100", "6")} }, []gain{{51, 100, 6, 6}}},
		{"a strike below a depth", func(w *records.Well) { w.Strikes = []records.Strike{strike(">100", "6")} }, []gain{{100, 203, 6, 6}}},
		{"a strike without a depth", func(w *records.Well) {
			w.Strikes = []records.Strike{{Flow: recordstest.Gpm("6")}}
		}, []gain{{51, 203, 6, 6}}},
		{"deepened later", func(w *records.Well) {
			w.Works = []records.Work{{Kind: "drill", TotalDepth: recordstest.Feet[records.Depth]("120"), Yield: recordstest.Gpm("2")}, {Kind: "deepen"}}
		}, []gain{{97, 97, 2, 2}}},
		{"fractured later", func(w *records.Well) {
			w.Strikes = nil
			w.Treatments = []records.Treatment{{Kind: "hydrofracture", YieldBefore: recordstest.Gpm("1")}}
		}, []gain{{51, 203, 1, 1}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := wellOf(c.change)
			if diff := cmp.Diff(c.want, gainsOf(&n)); diff != "" {
				t.Errorf("gains in ft and gpm (-want +got):\n%s\nnotes %q", diff, n.Notes)
			}
		})
	}
}

func TestNeighbourKeepsWhatTheRecordSays(t *testing.T) {
	n := wellOf(func(w *records.Well) {
		w.Bores = []records.Bore{{From: records.Of(records.Depth(0)), To: recordstest.Feet[records.Depth]("60"), Diameter: recordstest.Inches("9")}}
		w.Casing[0].From = records.Of(records.Depth(0))
		w.Casing[0].OutsideDia = recordstest.Inches("6.625")
		// 1.5141 gal/ft (annulus of 9 in and 6.625 in) x 50 ft = 75.7 gal; 113.55 gal is half as much again
		w.Grout = []records.Grout{{From: records.Of(records.Depth(0)), To: recordstest.Feet[records.Depth]("50"),
			Placed: recordstest.Read[records.Volume]("113.55", records.DimVolume, records.Gallon)}}
	})
	if math.Abs(n.Overrun-1.5) > 0.001 {
		t.Errorf("overrun %g, want 1.5", n.Overrun)
	}
	if seat, _ := n.Seat.Number(); math.Abs(float64(seat)-51*ft) > 1e-9 {
		t.Errorf("seat %g", seat)
	}
	want := []scout.Ground{{Top: 0, Bottom: feet(4), Class: records.ClassSoil}, {Top: feet(4), Bottom: feet(22), Class: records.ClassSoil},
		{Top: feet(22), Bottom: feet(40), Class: records.ClassSoil}, {Top: feet(40), Bottom: feet(96), Class: records.ClassRock},
		{Top: feet(96), Bottom: feet(99), Class: records.ClassRock}, {Top: feet(99), Bottom: feet(203), Class: records.ClassRock}}
	if diff := cmp.Diff(want, n.Ground); diff != "" {
		t.Error(diff)
	}
	if n.StopReason != "enough_water" || math.Abs(n.Year-2004.45) > 0.02 {
		t.Errorf("stop %q, year %g", n.StopReason, n.Year)
	}
	m := wellOf(func(w *records.Well) { w.Purpose = "monitoring" })
	if m.Yield.Known() || len(m.Notes) == 0 {
		t.Error("the yield of a monitoring well counts")
	}
	empty := scout.NewNeighbour(&records.Well{}, records.Picks{}, nil, scout.Vote{Weight: 1})
	if _, ok := empty.Bottom(); ok {
		t.Error("an empty record has a bottom")
	}
}
