package desk

import (
	"context"
	"errors"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// ScoreMethods puts every method to the test on a field: wells hidden by site
// or by block and predicted from the rest. Progress may be nil.
func (d *Desk) ScoreMethods(ctx context.Context, actor records.Actor, f snapshot.Field, by predict.By, thresholds []float64, progress func(method string, done, total int)) ([]predict.Scores, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	s, err := d.Picture().Select(f, &snapshot.Filter{})
	if err != nil {
		return nil, selectError(err, f)
	}
	var out []predict.Scores
	for _, m := range predict.Methods() {
		o := predict.ScoreOptions{Holdout: predict.Holdout{By: by, Seed: calibrationSeed}, Thresholds: thresholds}
		if progress != nil {
			o.Progress = func(done, total int) { progress(m.String(), done, total) }
		}
		sc, err := predict.Score(ctx, s.Observations, m, o)
		if errors.Is(err, predict.ErrTooFew) {
			return nil, records.Errorf(records.Invalid, "too few wells say anything of %s to test a method on: %d", FieldWords(f), len(s.Rows))
		}
		if err != nil {
			return nil, err
		}
		out = append(out, sc)
	}
	return out, nil
}
