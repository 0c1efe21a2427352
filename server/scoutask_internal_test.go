package server

import (
	"math"
	"net/url"
	"testing"

	"tallybook/records"
	"tallybook/server/say"
)

// FuzzScoutAsk: whatever an address holds, the question is read or refused
// with a message for the reader; one that is read is within its limits, and its
// own address says the same question again, in either units.
func FuzzScoutAsk(f *testing.F) {
	for _, seed := range []string{
		"at=44.25,-38.75", "at=44.25,-38.75&in=us&need=3&stop=300&people=6&near=septic_tank,80,NE",
		"at=44 15 00 N 38 45 00 W&in=si&need=11.4&hole=152&pipe=168&most=150&tank=2000&above=15000", "at=&need=x", "at=1,1&need=1e309",
		"at=1,1&paced=3&hazard=road&towards=W", "at=1,1&near=,,", "at=90,180&people=100001",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		q, err := url.ParseQuery(text)
		if err != nil {
			return
		}
		a, err := parseScoutAsk(q, say.US)
		if err != nil {
			if records.CodeOf(err) != records.Invalid {
				t.Fatalf("%q is refused as %v, which is not the reader's fault", text, err)
			}
			return
		}
		for _, v := range []float64{a.needLps, a.holeMM, a.pipeMM, a.mostM, a.stopM, a.tankL, a.above} {
			if !(v >= 0) || math.IsInf(v, 0) {
				t.Fatalf("%q is read as %+v", text, a)
			}
		}
		for _, u := range []say.System{say.US, say.SI} {
			back, err := parseScoutAsk(a.query(u), say.SI)
			if err != nil {
				t.Fatalf("%q becomes %s, which is refused: %v", text, a.query(u).Encode(), err)
			}
			near := func(x, y, within float64) bool { return math.Abs(x-y) <= within+1e-3*math.Abs(x) }
			if !near(a.needLps, back.needLps, 1e-4) || !near(a.holeMM, back.holeMM, 0.03) || !near(a.pipeMM, back.pipeMM, 0.03) ||
				!near(a.mostM, back.mostM, 1e-3) || !near(a.stopM, back.stopM, 1e-3) || !near(a.tankL, back.tankL, 1e-2) || !near(a.above, back.above, 0.01) ||
				a.people != back.people || len(a.hazards) != len(back.hazards) {
				t.Fatalf("%q is %+v, and its address %s says %+v", text, a, a.query(u).Encode(), back)
			}
		}
	})
}
