package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"

	"tallybook/geo/predict"
	"tallybook/geo/variogram"
	"tallybook/records"
	"tallybook/records/review"
	"tallybook/records/snapshot"
)

// spatialParts are the questions of structure and of methods.
func spatialParts() []review.Part {
	return []review.Part{
		{Name: "structure", Title: "How does it vary with distance?", Work: structurePart},
		{Name: "directions", Title: "Is it the same in all directions?", Work: directionsPart},
		{Name: "crowding", Title: "Do crowds of wells mislead?", Work: crowdingPart},
		{Name: "methods", Title: "Which method says best what is found?", Work: methodsPart, Slow: true},
	}
}

// modelAskOf reads how a part is to model the structure.
func modelAskOf(s *review.Settings, part string) (ModelAsk, error) {
	var a ModelAsk
	var err error
	if a.Scale, err = ParseScale(s.Part(part, "scale", "")); err != nil {
		return a, err
	}
	a.Shape = s.Part(part, "shape", "")
	if _, err := a.shapes(); err != nil {
		return a, err
	}
	switch fit := s.Part(part, "fit", "classical"); fit {
	case "classical":
	case "robust":
		a.Robust = true
	default:
		return a, records.Errorf(records.Invalid, "%q is no estimate of lags; use classical or robust", fit)
	}
	for name, into := range map[string]*float64{"lag_m": &a.WidthM, "reach_m": &a.CutoffM} {
		text := s.Part(part, name, "")
		if text == "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || !(v > 0) || v > 1e7 {
			return a, records.Errorf(records.Invalid, "p.%s.%s=%s is no distance in metres above zero", part, name, text)
		}
		*into = v
	}
	return a, nil
}

// tooFew says whether an error is the answer that nothing can be said.
func tooFew(err error) bool {
	for _, few := range []error{variogram.ErrNoSamples, variogram.ErrTooFewLags, variogram.ErrNoVariation, variogram.ErrOneSpot, predict.ErrTooFew} {
		if errors.Is(err, few) {
			return true
		}
	}
	return records.CodeOf(err) == records.NotFound
}

// squared ends the names of semivariances.
func squared(f snapshot.Field, log bool) string {
	switch {
	case log:
		return "_ln2"
	case f == snapshot.Yield:
		return "_lps2"
	}
	return "_m2"
}

func structurePart(ctx context.Context, in *review.Input) (*review.Answer, error) {
	a := &review.Answer{Part: "structure"}
	ask, err := modelAskOf(in.Settings, a.Part)
	if err != nil {
		return nil, err
	}
	f := in.Settings.Field()
	s, err := structureOf(ctx, in.Picture, f, in.Filter, ask, in.Progress)
	if tooFew(err) {
		a.TooFew = records.MessageOf(err)
		return a, nil
	}
	if err != nil {
		return nil, err
	}
	u := squared(f, s.Log)
	s.describe(a)
	lags := review.Table{Name: "lags", Columns: []string{"from_m", "to_m", "mean_m", "pairs", "semivariance" + u, "robust" + u, "model" + u, "without_structure_low" + u, "without_structure_high" + u}}
	for i, l := range s.Empirical.Lags {
		model := math.NaN()
		if s.FitErr == nil {
			model = s.Fitted.Gamma(l.MeanM, 0)
		}
		lags.Add(review.N(l.FromM), review.N(l.ToM), review.N(l.MeanM), review.I(l.Pairs), review.N(l.Matheron), review.N(l.CressieHawkins), review.N(model), review.N(s.No.Low[i]), review.N(s.No.High[i]))
	}
	a.Tables = []review.Table{lags}
	if s.FitErr == nil {
		a.Tables = append(a.Tables, s.modelTable(u))
	}
	return a, nil
}

// describe fills in what the structure stands on.
func (s *Structure) describe(a *review.Answer) {
	for _, n := range []struct {
		name string
		v    float64
	}{
		{"values", float64(s.Values)}, {"bounds_left_out", float64(s.Bounds)}, {"marked_unreliable", float64(s.Marked)}, {"sites", float64(s.Sites)},
		{"pairs", float64(s.Pairs)}, {"wells_drawn", float64(s.Centres)}, {"lag_m", s.WidthM}, {"reach_m", s.CutoffM},
		{"spacing_m", s.SpacingM}, {"across_m", s.AcrossM},
		{"spots_of_several", float64(s.Spot.Sites)}, {"wells_on_them", float64(s.Spot.Samples)}, {"semivariance_on_a_spot" + squared(s.Field, s.Log), s.Spot.Gamma},
	} {
		a.AddFigure(n.name, n.v)
	}
	if s.No.Runs > 0 {
		a.AddFigure("dealt_out_anew", float64(s.No.Runs))
		a.AddFigure("of_those_as_alike", float64(s.No.AsAlike))
	}
	a.AddText("scale", map[bool]string{true: "log", false: "plain"}[s.Log])
	if s.Log {
		a.AddFigure("log_unit"+map[bool]string{true: "_lps", false: "_m"}[s.Field == snapshot.Yield], s.Unit)
	}
	a.AddText("lags_by", map[bool]string{true: "the reader", false: "the data"}[s.Chosen])
	a.AddText("fitted_to", map[bool]string{true: "robust", false: "classical"}[s.Model.Robust])
	if s.FitErr != nil {
		a.AddText("no_model", records.MessageOf(s.FitErr))
	}
}

func (s *Structure) modelTable(u string) review.Table {
	t := review.Table{Name: "model", Columns: []string{"shape", "nugget" + u, "sill" + u, "range_m", "nugget_share", "range_is_found", "weighted_squares", "lags"}}
	st := s.Fitted.Structures[0]
	found := "yes"
	if s.Fitted.AtLimit || st.Sill == 0 {
		found = "no"
	}
	t.Add(review.T(st.Shape.String()), review.N(s.Fitted.Nugget), review.N(s.Fitted.Sill()), review.N(st.RangeM), review.N(s.Fitted.NuggetShare()), review.T(found), review.N(s.Fitted.Residual), review.I(s.Fitted.Lags))
	return t
}

func directionsPart(ctx context.Context, in *review.Input) (*review.Answer, error) {
	a := &review.Answer{Part: "directions"}
	ask, err := modelAskOf(in.Settings, a.Part)
	if err != nil {
		return nil, err
	}
	f := in.Settings.Field()
	d, err := directionsOf(ctx, in.Picture, f, in.Filter, ask)
	if tooFew(err) {
		a.TooFew = records.MessageOf(err)
		return a, nil
	}
	if err != nil {
		return nil, err
	}
	u := squared(f, d.Log)
	d.describe(a)
	lags := review.Table{Name: "lags", Columns: []string{"azimuth_deg", "from_m", "to_m", "mean_m", "pairs", "semivariance" + u, "enough"}}
	sums := review.Table{Name: "directions", Columns: []string{"azimuth_deg", "pairs", "lags_with_enough", "ratio_to_all"}}
	for _, along := range d.Along {
		pairs, enough := 0, 0
		var ratio, weight float64
		for i, l := range along.Empirical.Lags {
			word := "no"
			if l.Enough() {
				word = "yes"
				enough++
				if all := d.Empirical.Lags[i].Matheron; all > 0 {
					ratio += l.Matheron / all
					weight++
				}
			}
			pairs += l.Pairs
			lags.Add(review.N(along.AzimuthDeg), review.N(l.FromM), review.N(l.ToM), review.N(l.MeanM), review.I(l.Pairs), review.N(l.Matheron), review.T(word))
		}
		sums.Add(review.N(along.AzimuthDeg), review.I(pairs), review.I(enough), review.N(ratio/weight))
	}
	a.AddFigure("tolerance_deg", directionTolerance)
	a.Tables = []review.Table{lags, sums}
	return a, nil
}

func crowdingPart(ctx context.Context, in *review.Input) (*review.Answer, error) {
	a := &review.Answer{Part: "crowding"}
	f := in.Settings.Field()
	var seek variogram.Seek
	switch word := in.Settings.Part(a.Part, "seek", ""); word {
	case "":
	case "lowest":
		seek = variogram.SeekLowest
	case "highest":
		seek = variogram.SeekHighest
	default:
		return nil, records.Errorf(records.Invalid, "p.crowding.seek=%s is neither lowest nor highest", word)
	}
	cell := 0.0
	if text := in.Settings.Part(a.Part, "cell_m", ""); text != "" {
		var err error
		if cell, err = strconv.ParseFloat(text, 64); err != nil || !(cell > 0) || cell > 1e7 {
			return nil, records.Errorf(records.Invalid, "p.crowding.cell_m=%s is no distance in metres above zero", text)
		}
	}
	d, err := decluster(ctx, in.Picture, f, in.Filter, cell, seek)
	if tooFew(err) {
		a.TooFew = records.MessageOf(err)
		return a, nil
	}
	if err != nil {
		return nil, err
	}
	u := "_m"
	if f == snapshot.Yield {
		u = "_lps"
	}
	for _, n := range []struct {
		name string
		v    float64
	}{
		{"values", float64(d.Values)}, {"bounds_left_out", float64(d.Bounds)}, {"marked_unreliable", float64(d.Marked)},
		{"plain_mean" + u, d.PlainMean}, {"mean" + u, d.Mean}, {"plain_median" + u, d.PlainMedian}, {"median" + u, d.Median}, {"cell_m", d.CellM}, {"spacing_m", d.SpacingM},
	} {
		a.AddFigure(n.name, n.v)
	}
	a.AddText("sought", map[bool]string{true: "lowest", false: "highest"}[d.Lowest])
	t := review.Table{Name: "cells", Columns: []string{"cell_m", "mean" + u, "cells_with_wells"}}
	for _, c := range d.Tried {
		t.Add(review.N(c.CellM), review.N(c.Mean), review.N(c.Cells))
	}
	a.Tables = []review.Table{t}
	return a, nil
}

// MethodNames are short names of UsualMethods, in their order, for settings.
func MethodNames() []string {
	return []string{"neighbours", "kriging", "log-kriging", "idw", "nearest", "area", "all"}
}

// On more than manyWells a page tries fewTests of them, so that somebody can wait
// for it; the command tries 12,000 of any number.
const (
	manyWells = 100_000
	fewTests  = 4000
)

func methodsPart(ctx context.Context, in *review.Input) (*review.Answer, error) {
	a := &review.Answer{Part: "methods"}
	ask := MethodsAsk{Field: in.Settings.Field(), Methods: UsualMethods(), Against: -1}
	if in.Filter != nil {
		ask.Filter = *in.Filter
	}
	switch by := in.Settings.Part(a.Part, "by", "site"); by {
	case "site":
	case "block":
		ask.By = predict.ByBlock
	default:
		return nil, records.Errorf(records.Invalid, "p.methods.by=%s is neither site nor block", by)
	}
	if in.Picture.Len() > manyWells {
		ask.TestWells = fewTests
	}
	names := MethodNames()
	for i, n := range names {
		if n == in.Settings.Part(a.Part, "against", names[0]) {
			ask.Against = i
		}
	}
	if ask.Against < 0 {
		return nil, records.Errorf(records.Invalid, "p.methods.against is none of %v", names)
	}
	c, err := compareMethods(ctx, in.Picture, ask, func(method string, done, total int) {
		in.Progress(fmt.Sprintf("testing %s on hidden wells", method), done, total)
	})
	if tooFew(err) {
		a.TooFew = records.MessageOf(err)
		return a, nil
	}
	if err != nil {
		return nil, err
	}
	u := "_m"
	if ask.Field == snapshot.Yield {
		u = "_lps"
	}
	a.AddText("hidden_by", c.By.String())
	a.AddText("against", names[ask.Against])
	for _, n := range []struct {
		name string
		v    float64
	}{
		{"square_m", c.SquareM}, {"squares", float64(c.Squares)}, {"drawn_anew", float64(c.Runs)}, {"bounds", float64(c.Methods[1].Unused)},
	} {
		a.AddFigure(n.name, n.v)
	}
	if c.BlockM > 0 {
		a.AddFigure("block_m", c.BlockM)
	}
	scores := review.Table{Name: "scores", Columns: []string{"method", "tested", "mae" + u, "rmse" + u, "crps" + u, "range_held", "adjusted_range_held", "range_width" + u, "adjusted_range_width" + u}}
	differences := review.Table{Name: "differences", Columns: []string{"method", "mae" + u, "mae_low" + u, "mae_high" + u, "rmse" + u, "rmse_low" + u, "rmse_high" + u, "crps" + u, "crps_low" + u, "crps_high" + u}}
	for i, m := range c.Methods {
		scores.Add(review.T(names[i]), review.I(m.Tested), review.N(m.MAE), review.N(m.RMSE), review.N(m.CRPS), review.N(m.Raw.Share), review.N(m.Adjusted.Share), review.N(m.RawWidth), review.N(m.AdjustedWidth))
		row := []review.Cell{review.T(names[i])}
		for _, d := range []predict.Drawn{c.Differences[i].MAE, c.Differences[i].RMSE, c.Differences[i].CRPS} {
			row = append(row, review.N(d.Mean), review.N(d.Low), review.N(d.High))
		}
		differences.Add(row...)
	}
	a.Tables = []review.Table{scores, differences}
	return a, nil
}
