package desk_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/snapshot"
)

func TestScorePast(t *testing.T) {
	d, _ := newDesk(t)
	mustTakeIn(t, d, features(400))
	steps := map[string]bool{}
	s, err := d.ScorePast(t.Context(), me, snapshot.Bedrock, &snapshot.Filter{}, []float64{10}, func(step string, done, total int) { steps[step] = true })
	if err != nil {
		t.Fatal(err)
	}
	// Eight wells a year from 1970 on: three years go by before 20 stand.
	if len(s.Forecasts) != 376 || s.TooEarly != 24 || s.Undated != 0 || s.Forecasts[0].Year != 1973 {
		t.Errorf("%d forecast, %d too early, %d undated, from %d", len(s.Forecasts), s.TooEarly, s.Undated, s.Forecasts[0].Year)
	}
	if s.Choices != nil {
		t.Errorf("40 wells in five years settle the ranks: %+v", s.Choices)
	}
	if len(steps) != 2 {
		t.Errorf("told of %v", steps)
	}
	for _, f := range s.Forecasts {
		if y := int(s.Model.Selection.Rows[f.Row].Year()); y != f.Year {
			t.Fatalf("row %d is of %d and was forecast as of %d", f.Row, y, f.Year)
		}
	}
	sum, err := s.Overall()
	if err != nil || sum.Skill < 0.5 {
		t.Errorf("an even slope is forecast with skill %g, error %v", sum.Skill, err)
	}
	if r := s.Reliability(5); len(r) != 1 || r[0].Tested != 376 {
		t.Errorf("reliability %+v", r)
	}
	if _, err := d.ScorePast(t.Context(), stranger, snapshot.Bedrock, &snapshot.Filter{}, nil, nil); err != nil && records.CodeOf(err) != records.Forbidden {
		t.Errorf("a stranger gets %v", err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := d.ScorePast(ctx, me, snapshot.Bedrock, &snapshot.Filter{}, nil, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// TestNoPast: where nothing can be forecast it says why.
func TestNoPast(t *testing.T) {
	for _, c := range []struct {
		name, text, says string
		code             records.Code
	}{
		{"undated", strings.ReplaceAll(features(60), `"completed"`, `"remark"`), "none of the 60 wells", records.Invalid},
		{"ten wells", features(10), "of 10 wells 10 bear a date", records.Invalid},
	} {
		d, _ := newDesk(t)
		mustTakeIn(t, d, c.text)
		_, err := d.ScorePast(t.Context(), me, snapshot.Bedrock, &snapshot.Filter{}, nil, nil)
		if records.CodeOf(err) != c.code || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	d, _ := newDesk(t)
	if _, err := d.ScorePast(t.Context(), me, snapshot.Bedrock, &snapshot.Filter{}, nil, nil); records.CodeOf(err) != records.NotFound {
		t.Errorf("no wells: %v", err)
	}
}
