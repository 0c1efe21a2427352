package desk_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
)

// TestStorageCountsHolesThatHoldNothing: a hole whose water stands below the
// pump holds nothing, and counts; left out, the share that carries a day would
// be that of the others alone.
func TestStorageCountsHolesThatHoldNothing(t *testing.T) {
	d, _ := newDesk(t)
	var b strings.Builder
	for i := range 60 {
		level, yield := 5, 20.0
		if i%2 == 0 { // water at the very bottom, and hardly any
			level, yield = 95, 0.5
		}
		fmt.Fprintf(&b, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.5f,%.5f]},"properties":{"number":"W-%d","depth_to_bedrock_m":5,"total_depth_m":100,"static_level_m":%d,"yield_gpm":%g,"completed":"2001-05-01"}}`+"\n",
			-40+float64(i%8)*0.001, 44+float64(i/8)*0.001, i, level, yield)
	}
	mustTakeIn(t, d, b.String())
	s, err := d.Scouting(t.Context(), me, desk.ScoutAsk{At: position.LonLat{Lon: -39.9965, Lat: 44.0035}, Need: 1, Hole: 152.4, Casing: 168.275, MaxDepth: 100, Daily: 4000, Shape: "two-peaks"})
	if err != nil || s.Hole == nil || s.Storage == nil {
		t.Fatalf("%v, %+v", err, s)
	}
	if s.Storage.Counts != len(s.Hole.Outcomes) {
		t.Errorf("%d of %d outcomes count", s.Storage.Counts, len(s.Hole.Outcomes))
	}
	if a := s.Storage.Alone; a > 0.7 {
		t.Errorf("%.2f carry the day, and half of the wells give 0.5 gpm with nothing above the pump", a)
	}
}

// TestNoTankCarriesADryHole: a tank that holds a whole day's need carries that
// day and no other out of a hole that gives nothing, and is not said to do.
func TestNoTankCarriesADryHole(t *testing.T) {
	d, _ := newDesk(t)
	var b strings.Builder
	for i := range 40 {
		fmt.Fprintf(&b, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.5f,%.5f]},"properties":{"number":"W-%d","depth_to_bedrock_m":5,"total_depth_m":100,"static_level_m":10,"yield_gpm":0,"completed":"2001-05-01"}}`+"\n",
			-40+float64(i%8)*0.001, 44+float64(i/8)*0.001, i)
	}
	mustTakeIn(t, d, b.String())
	s, err := d.Scouting(t.Context(), me, desk.ScoutAsk{At: position.LonLat{Lon: -39.9965, Lat: 44.0025}, Need: 1, Hole: 152.4, Casing: 168.275, MaxDepth: 100, Daily: 1200, Shape: "two-peaks", Tank: 50000})
	if err != nil || s.Storage == nil {
		t.Fatalf("%v, %+v", err, s)
	}
	if st := s.Storage; st.Alone != 0 || st.WithTank != 0 || !math.IsNaN(float64(st.Enough)) {
		t.Errorf("out of dry holes a day is carried in %g, with a tank in %g, and %g L are enough", st.Alone, st.WithTank, float64(st.Enough))
	}
}

// TestScoutingRefusesInWords: a question that makes no sense is refused in words
// for people.
func TestScoutingRefusesInWords(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(60))
	at := position.LonLat{Lon: -39.95, Lat: 44.01}
	for want, ask := range map[string]desk.ScoutAsk{
		"how much water is needed": {At: at, Hole: 152.4, Casing: 168.275},
		"stop and call":            {At: at, Need: 0.3, Hole: 152.4, Casing: 168.275, MaxDepth: 90, CallDepth: 91},
		"call before":              {At: at, Need: 0.3, Hole: 152.4, Casing: 168.275, CallDepth: 2000},
	} {
		s, err := d.Scouting(t.Context(), me, ask)
		if err != nil || records.CodeOf(s.NoReplay) != records.Invalid {
			t.Fatalf("%q: %v, %v", want, err, s.NoReplay)
		}
		if said := records.MessageOf(s.NoReplay); !strings.Contains(said, want) || strings.Contains(said, "_") {
			t.Errorf("it says %q, want %q and no name of a field", said, want)
		}
	}
}
