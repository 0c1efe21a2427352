package desk_test

import (
	"context"
	"math"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// The score of the past is made once for a state of the records; until that of
// the present is there, the one before stands, and says that it is old.
func TestPastSoon(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(300))
	soon := func(wait time.Duration) desk.PastState {
		t.Helper()
		st, err := d.PastSoon(t.Context(), me, snapshot.Bedrock, wait)
		if err != nil {
			t.Fatal(err)
		}
		return st
	}
	if st := soon(0); st.Sheet != nil || !st.Working || st.Step == "" {
		t.Errorf("at once: %+v", st)
	}
	st := soon(time.Minute)
	if st.Sheet == nil || st.Working || st.Stale || st.Err != nil {
		t.Fatalf("a minute later: %+v", st)
	}
	s := st.Sheet
	var spans, ranks float64
	for _, p := range s.Spans {
		spans += float64(p.Tested)
	}
	for _, r := range s.Ranks {
		ranks += r
	}
	if n := float64(len(s.Forecasts)); spans != n || math.Abs(ranks-n) > 1e-3 || s.All.Tested != len(s.Forecasts) || len(s.Chances) == 0 {
		t.Errorf("%d forecasts, %g in spans, %g in ranks, %d amounts", len(s.Forecasts), spans, ranks, len(s.Chances))
	}
	if again := soon(time.Minute); again.Sheet != s {
		t.Error("the same records are scored twice")
	}
	drilled(t, d, 50, "2026-03-01")
	if st = soon(0); st.Sheet != s || !st.Stale || !st.Working {
		t.Errorf("after an edit: %+v", st)
	}
	if st = soon(time.Minute); st.Sheet == s || st.Stale || len(st.Sheet.Forecasts) != len(s.Forecasts)+1 {
		t.Errorf("a minute after an edit: %+v", st)
	}
	if _, err := d.PastSoon(t.Context(), stranger, snapshot.Bedrock, 0); records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger gets %v", err)
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := d.PastSoon(stopped, me, snapshot.Yield, time.Minute); err == nil {
		t.Error("who went away is waited for")
	}
	// A desk that is closed while it works, and is asked once more: newDesk
	// closes it.
}

func TestPastSoonSaysWhyNot(t *testing.T) {
	d, _ := newDesk(t)
	st, err := d.PastSoon(t.Context(), me, snapshot.Bedrock, time.Minute)
	if err != nil || records.CodeOf(st.Err) != records.NotFound || st.Sheet != nil {
		t.Errorf("without wells: %+v, %v", st, err)
	}
	mustTakeIn(t, d, features(10))
	st, err = d.PastSoon(t.Context(), me, snapshot.Bedrock, time.Minute)
	if err != nil || records.CodeOf(st.Err) != records.Invalid {
		t.Errorf("with too few: %+v, %v", st, err)
	}
	mustTakeIn(t, d, features(120))
	if st, err = d.PastSoon(t.Context(), me, snapshot.Bedrock, time.Minute); err != nil || st.Err != nil || st.Sheet == nil {
		t.Errorf("with enough: %+v, %v", st, err)
	}
}

// Every amount is round in feet or metres, gallons or litres a minute, and
// there are not too many to choose from.
func TestRoundAmounts(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(300))
	for _, f := range snapshot.Fields() {
		m, err := d.Model(t.Context(), f, &snapshot.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		units := []records.Unit{records.Foot, records.Metre}
		if f == snapshot.Yield {
			units = []records.Unit{records.GallonPerMinute, records.LitrePerMinute}
		}
		amounts := m.RoundAmounts()
		if len(amounts) < 2 || len(amounts) > 12 {
			t.Errorf("%s: %v", f, amounts)
		}
		for i, a := range amounts {
			round := false
			for _, u := range units {
				v := u.FromBase(a) * 2
				round = round || math.Abs(v-math.Round(v)) < 1e-6
			}
			if !round || i > 0 && a <= amounts[i-1] {
				t.Errorf("%s: %v", f, amounts)
			}
		}
	}
}
