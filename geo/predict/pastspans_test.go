package predict_test

import (
	"testing"

	"tallybook/geo/predict"
)

// The stretches hold every forecast once, in whole years, and each at least as
// many as was asked for unless there are no more.
func TestPastSpans(t *testing.T) {
	m, _ := calibrate(t, datedRows(700), predict.CalibrationOptions{})
	p := past(t, m, predict.PastOptions{})
	years, err := p.Years()
	if err != nil {
		t.Fatal(err)
	}
	for _, least := range []int{1, 20, 100, 10_000} {
		spans, err := p.Spans(least)
		if err != nil {
			t.Fatal(err)
		}
		held, tested, y := 0, 0, 0
		for i, s := range spans {
			if s.Tested < least && len(spans) > 1 {
				t.Errorf("%d or more: %d to %d hold %d", least, s.FirstYear, s.LastYear, s.Tested)
			}
			if i > 0 && s.FirstYear <= spans[i-1].LastYear {
				t.Errorf("%d begins before %d ends", s.FirstYear, spans[i-1].LastYear)
			}
			inside := 0
			for ; y < len(years) && years[y].Year <= s.LastYear; y++ {
				inside += years[y].Inside
				tested += years[y].Tested
			}
			if inside != s.Inside {
				t.Errorf("%d to %d: %d held, year by year %d", s.FirstYear, s.LastYear, s.Inside, inside)
			}
			held += s.Tested
		}
		if held != len(p.Forecasts) || tested != held {
			t.Errorf("%d or more: %d of %d", least, held, len(p.Forecasts))
		}
		if least == 1 && len(spans) != len(years) || least == 10_000 && len(spans) != 1 {
			t.Errorf("%d or more: %d stretches of %d years", least, len(spans), len(years))
		}
	}
}
