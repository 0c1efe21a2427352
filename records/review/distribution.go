package review

import (
	"context"
	"fmt"
	"slices"

	"tallybook/geo/predict"
	"tallybook/geo/spread"
)

// mostSteps is how many steps of the shares are kept; a chart shows no more.
const mostSteps = 400

// shares are the quantiles that are told.
var shares = []float64{0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95}

// distribution tells how the quantity spreads: its quantiles, columns of
// counts, and the share that is so much or less.
func distribution(_ context.Context, in *Input) (*Answer, error) {
	f := in.Settings.Field()
	all := in.samples(f)
	a := &Answer{Part: "distribution"}
	a.figure("wells", float64(len(in.Rows)))
	a.figure("known", float64(len(all)))
	if len(all) < LeastForShape {
		a.TooFew = fmt.Sprintf("%d of %d wells chosen say something of it, and %d are the fewest of which a spread is told", len(all), len(in.Rows), LeastForShape)
		return a, nil
	}
	s, err := spread.Of(all)
	if err != nil {
		return nil, err
	}
	unit := suffix(f)
	a.figure("values", float64(s.Values))
	a.figure("noughts", float64(s.Zeros))
	a.figure("less_than", float64(s.Less))
	a.figure("greater_than", float64(s.Greater))
	a.figure("between", float64(s.Between))
	for _, p := range shares {
		a.limit(fmt.Sprintf("q%02.0f%s", p*100, unit), s.Quantile(p))
	}
	low, high := s.QuantileRange(0.5)
	a.limit("median_low"+unit, low)
	a.limit("median_high"+unit, high)
	unknown, from := s.Unknown()
	a.figure("unknown_share", unknown)
	if unknown > 0 {
		a.figure("unknown_above"+unit, from)
	}
	if share, under := s.Below(); share > 0 {
		a.figure("unknown_below_share", share)
		a.figure("unknown_below"+unit, under)
	}
	if s.Rounded {
		a.AddText("rounded", "to four significant figures")
	}
	shape := spread.ShapeOf(all)
	scale := in.Settings.Scale
	if scale == "" {
		scale = map[bool]string{true: "log", false: "linear"}[shape.Log]
		a.AddText("scale_by", "the data")
	} else {
		a.AddText("scale_by", "the reader")
	}
	a.AddText("scale", scale)
	a.figure("lopsided_linear", shape.Linear)
	a.figure("lopsided_log", shape.Logged)
	a.Tables = []Table{columnsTable(in.Settings, all, scale == "log"), stepsTable(s, unit)}
	return a, nil
}

// columnsTable counts into columns whose ends are round in the settings' unit.
func columnsTable(set *Settings, all []predict.Sample, log bool) Table {
	unit, base := set.Unit(), suffix(set.Field())
	var shown []float64
	for i := range all {
		if all[i].Value > 0 {
			v := unit.FromBase(all[i].Value)
			if all[i].Bound == predict.LessThan {
				v *= 1 - 1e-9
			}
			shown = append(shown, v)
		}
	}
	slices.Sort(shown)
	edges := spread.LinearEdges
	if log {
		edges = spread.LogEdges
	}
	in := edges(shown)
	out := make([]float64, len(in))
	for i, e := range in {
		// A value written in round units lies in the column that begins with it,
		// whatever the last digit of its conversion.
		out[i] = unit.ToBase(e) * (1 - 1e-12)
	}
	t := Table{Name: "columns", Columns: []string{"from" + base, "to" + base, "values", "at_least", "at_most", "between"}}
	for i, c := range spread.Columns(all, out) {
		to := Cell{}
		if i+1 < len(in) {
			to = N(unit.ToBase(in[i+1]))
		}
		t.Add(N(unit.ToBase(in[i])), to, I(c.Values), I(c.AtLeast), I(c.AtMost), I(c.Between))
	}
	return t
}

func stepsTable(s *spread.Summary, unit string) Table {
	t := Table{Name: "shares", Columns: []string{"value" + unit, "share_at_most"}}
	for _, st := range s.Steps(mostSteps) {
		t.Add(N(st.Value), N(st.AtMost))
	}
	return t
}
