package desk

import (
	"context"
	"errors"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// MethodsAsk says which methods are put to the test on what.
type MethodsAsk struct {
	Field   snapshot.Field
	Filter  snapshot.Filter
	By      predict.By
	Methods []predict.Method // nil: predict.Methods
	// Against is the position of the method that the others are held against.
	Against int
	// TestWells is the most wells tried; 0 means 12,000.
	TestWells int
}

// UsualMethods are those that a page compares, fewer than predict.Methods.
func UsualMethods() []predict.Method {
	return []predict.Method{
		{Kind: predict.Neighbours}, {Kind: predict.Kriging}, {Kind: predict.Kriging, Log: true},
		{Kind: predict.InverseDistance}, {Kind: predict.NearestWell}, {Kind: predict.AreaMedian}, {Kind: predict.GlobalMedian},
	}
}

// CompareMethods puts methods to the test on a field: wells hidden by site or
// by block and predicted from the rest, the same wells for all. Progress may be
// nil.
func (d *Desk) CompareMethods(ctx context.Context, actor records.Actor, ask MethodsAsk, progress func(method string, done, total int)) (predict.Comparison, error) {
	if err := d.Permit(actor, Look); err != nil {
		return predict.Comparison{}, err
	}
	return compareMethods(ctx, d.Picture(), ask, progress)
}

func compareMethods(ctx context.Context, p *snapshot.Picture, ask MethodsAsk, progress func(method string, done, total int)) (predict.Comparison, error) {
	s, err := p.Select(ask.Field, &ask.Filter)
	if err != nil {
		return predict.Comparison{}, selectError(err, ask.Field)
	}
	if ask.Methods == nil {
		ask.Methods = predict.Methods()
	}
	o := predict.ScoreOptions{Holdout: predict.Holdout{By: ask.By, Seed: calibrationSeed, TestWells: ask.TestWells}}
	during := func(predict.Method) {}
	if progress != nil {
		var now string
		during = func(m predict.Method) { now = m.String() }
		o.Progress = func(done, total int) { progress(now, done, total) }
	}
	c, err := predict.Compare(ctx, s.Observations, ask.Methods, ask.Against, o, during)
	if errors.Is(err, predict.ErrTooFew) {
		return c, records.WrapError(records.Invalid, err, "too few wells say anything of %s to test a method on: %d", FieldWords(ask.Field), len(s.Rows))
	}
	return c, err
}
