package review

import (
	"context"
	"fmt"

	"tallybook/geo/predict"
	"tallybook/geo/spread"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// mostDots is how many wells are shown one by one; of more, those with the
// lowest keys, which are spread evenly over all.
const mostDots = 600

// depthAgainstYield sets yield beside total depth: the wells, and the middle of
// stretches of depth.
//
// It shows no cause: drilling goes on until there is enough water, so that
// deep holes are often those whose ground gave little.
func depthAgainstYield(_ context.Context, in *Input) (*Answer, error) {
	a := &Answer{Part: "depth"}
	var points []spread.Point
	for _, r := range in.Rows {
		depth := in.Filter.Value(r, snapshot.TotalDepth)
		if depth.Qualifier != records.Exact && depth.Qualifier != records.About || !(depth.Value > 0) {
			continue
		}
		if s, ok := in.sample(r, snapshot.Yield); ok {
			points = append(points, spread.Point{X: depth.Value, Key: r.Key(), Sample: s})
		}
	}
	a.figure("wells", float64(len(points)))
	if len(points) < 2*LeastForShape {
		a.TooFew = fmt.Sprintf("both a depth and a yield are known of %d, and %d are the fewest of which a running middle is told", len(points), 2*LeastForShape)
		return a, nil
	}
	dots := Table{Name: "wells", Columns: []string{"total_depth_m", "yield_lps", "yield_high_lps", "qualifier"}}
	for _, p := range points[:min(len(points), mostDots)] { // rows come by key
		high := Cell{}
		if p.Sample.Bound == predict.Between {
			high = N(p.Sample.High)
		}
		dots.Add(N(p.X), N(p.Sample.Value), high, T(qualifierOf(p.Sample.Bound)))
	}
	a.figure("shown", float64(len(dots.Rows)))
	windows, err := spread.Running(points, LeastForShape)
	if err != nil {
		return nil, err
	}
	run := Table{Name: "running", Columns: []string{"from_m", "middle_m", "to_m", "wells", "noughts", "q25_lps", "median_lps", "q75_lps", "median_low_lps", "median_high_lps", "median_is_more", "q75_is_more"}}
	for _, w := range windows {
		low, high := w.QuantileRange(0.5)
		q25, q50, q75 := w.Quantile(0.25), w.Quantile(0.5), w.Quantile(0.75)
		run.Add(N(w.From), N(w.Middle), N(w.To), I(w.N), I(w.Zeros), N(q25.Value), N(q50.Value), N(q75.Value), N(low.Value), N(high.Value), yes(q50.More), yes(q75.More))
	}
	a.Tables = []Table{run, dots}
	return a, nil
}

func qualifierOf(b predict.Bound) string {
	switch b {
	case predict.LessThan:
		return records.LessThan.String()
	case predict.GreaterThan:
		return records.GreaterThan.String()
	case predict.Between:
		return records.Between.String()
	}
	return records.Exact.String()
}
