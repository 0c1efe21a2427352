package server

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// ownScore is of n forecasts of yield: so many in the range, so many bounds.
func ownScore(n, in, bounds int) *desk.OwnScore {
	o := &desk.OwnScore{Name: "yield", Unit: "L/s", Scored: n, In: in, Out: n - in - bounds, CannotTell: bounds, CRPS: 0.1, AreaCRPS: 0.2, Skill: 0.5, SkillSE: 0.05}
	told := float64(n - bounds)
	o.Share = float64(in) / told
	o.ShareSE = math.Sqrt(o.Share * (1 - o.Share) / told)
	for i := range n {
		r := (float64(i) + 0.5) / float64(n)
		o.Judged = append(o.Judged, predict.Judgement{RankLow: r, RankHigh: r, RankKnown: true})
	}
	return o
}

// Where there are too few outcomes the page says how many are needed, and
// tells nothing that could be luck.
func TestOwnScoreNeedsEnough(t *testing.T) {
	for what, c := range map[string]struct {
		scored      int
		own         []*desk.OwnScore
		lead, table string
		charts      int
	}{
		"none kept":    {0, nil, "", "", 0},
		"few":          {3, []*desk.OwnScore{ownScore(3, 3, 0)}, "3 of 60 kept forecasts have an outcome.", "3 of 3|17 more needed|not told yet", 0},
		"with bounds":  {21, []*desk.OwnScore{ownScore(21, 15, 4)}, "21 of 60", "15 of 17|3 more needed|50\u00a0% ± 5 less error", 0},
		"enough":       {25, []*desk.OwnScore{ownScore(25, 20, 0)}, "25 of 60", "20 of 25|80\u00a0% ± 8|50\u00a0% ± 5 less error", 0},
		"enough ranks": {60, []*desk.OwnScore{ownScore(60, 30, 0)}, "60 of 60", "30 of 60|50\u00a0% ± 6|50\u00a0% ± 5 less error", 1},
	} {
		t.Run(what, func(t *testing.T) {
			kept := 60
			if c.own == nil {
				kept = 0
			}
			v := ownViewOf(c.own, c.scored, kept, say.US, draw.Light)
			if !strings.HasPrefix(v.Lead, c.lead) || len(v.Charts) != c.charts {
				t.Errorf("%q, %d charts", v.Lead, len(v.Charts))
			}
			if c.table == "" {
				return
			}
			cells := v.Table.Rows[0].Cells
			if got := cells[2].Text + "|" + cells[3].Text + "|" + cells[4].Text; got != c.table {
				t.Errorf("says %q, want %q", got, c.table)
			}
			if what == "enough ranks" && cells[3].Class != "signal" {
				t.Error("30 of 60 is not noticed")
			}
		})
	}
}

// The words beside the ranks say what the columns show. Bands by the binomial
// distribution's normal approximation: of 400 in ten bins 10 ± 1.645·1.5 %.
func TestRankWords(t *testing.T) {
	low, high := rankBand(400, 10)
	if math.Abs(low-7.53) > 0.01 || math.Abs(high-12.47) > 0.01 {
		t.Errorf("the band is %.2f to %.2f", low, high)
	}
	for _, c := range []struct {
		held []float64
		says string
	}{
		{[]float64{40, 40, 40, 40, 40, 40, 40, 40, 40, 40}, "No more than expected fell at the ends."},
		{[]float64{90, 30, 30, 25, 25, 25, 25, 30, 30, 90}, "More than expected fell at both ends"},
		{[]float64{10, 30, 50, 55, 55, 55, 55, 50, 30, 10}, "Fewer than expected fell at the ends"},
		{[]float64{40, 10, 20, 30, 30, 50, 50, 60, 70, 40}, "68\u00a0% came out above the middle"},
		{[]float64{35, 30, 30, 30, 30, 35, 30, 30, 60, 90}, "above nearly all that was said. 61\u00a0% came out above the middle"},
		{[]float64{90, 60, 30, 30, 35, 30, 30, 30, 30, 35}, "below nearly all that was said. 61\u00a0% came out below the middle"},
		{[]float64{40, 70, 60, 50, 50, 30, 30, 20, 10, 40}, "68\u00a0% came out below the middle"},
	} {
		v := ranksChart(ranksAsk{id: "x", title: "x", held: c.held, tested: 400}, draw.Light)
		if !strings.Contains(v.Say, c.says) {
			t.Errorf("%v: %q, want %q", c.held, v.Say, c.says)
		}
		within := 0
		for _, n := range c.held {
			if n/4 >= low && n/4 <= high {
				within++
			}
		}
		if !strings.HasPrefix(v.Say, fmt.Sprintf("%d of 10", within)) {
			t.Errorf("%v: %q, want %d of 10", c.held, v.Say, within)
		}
	}
}

func TestScoreWords(t *testing.T) {
	for want, got := range map[string]string{
		"79\u00a0% ± 2":     percentWords(0.794, 0.019),
		"0.3\u00a0% ± 0.4":  percentWords(0.003, 0.0042),
		"80\u00a0%":         percentWords(0.8, 0),
		"–":                 percentWords(math.NaN(), 0.1),
		"13 to 27 ft":       rangeWords(predict.Range{Low: 4, High: 8.2}, quantityKind("total_depth", "m", say.US)),
		"110 ft or more":    rangeWords(predict.Range{Low: 33.5, High: 33.5, AtLeastHigh: true}, quantityKind("total_depth", "m", say.US)),
		"up to 110 ft":      rangeWords(predict.Range{Low: 3, High: 33.5, AtMostLow: true}, quantityKind("total_depth", "m", say.US)),
		"$7,490 to $13,300": rangeWords(predict.Range{Low: 7490, High: 13300}, quantityKind(records.CostQuantity, "USD", say.SI)),
		"3 to more than 8 x": rangeWords(predict.Range{Low: 3, High: 8, AtLeastHigh: true}, partKind{figure: func(v float64) string {
			return strings.TrimSuffix(fmt.Sprintf("%g x", v), map[bool]string{true: " x"}[v == 3])
		}}),
		"no better, no worse": skillCell(0.01, 0.02).Text,
		"worse":               skillCell(-0.1, 0.02).Text,
		"cannot be told":      skillCell(math.NaN(), 0.02).Text,
	} {
		if got != want {
			t.Errorf("says %q, want %q", got, want)
		}
	}
}
