package desk

import (
	"context"
	"errors"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// PastScore is how the estimates of a field would have forecast the wells that
// are on record, each from the wells of earlier years.
type PastScore struct {
	Model *Model
	*predict.Past
	// Choices is which way to set ranges would have served best; nil where fifteen
	// years in a row never hold the 200 forecasts that it takes to tell.
	Choices *predict.PastChoices
}

// ScorePast forecasts the dated wells of a field, 4,000 at most, from the wells
// of earlier years alone. Thresholds, in the field's base unit, are those of the
// reliability tables. Sightings are evidence and are not forecast. Progress may
// be nil.
//
// Where no well can be forecast the error says why: no dates, or too few.
func (d *Desk) ScorePast(ctx context.Context, actor records.Actor, f snapshot.Field, filter *snapshot.Filter, thresholds []float64, progress func(step string, done, total int)) (*PastScore, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	m, err := d.Model(ctx, f, filter)
	if err != nil {
		return nil, err
	}
	o := predict.PastOptions{Seed: calibrationSeed, Thresholds: thresholds, Without: func(i int32) bool {
		_, sighting := m.Selection.Rows[i].Sighting()
		return sighting
	}}
	during := func(step string) func(done, total int) {
		if progress == nil {
			return nil
		}
		return func(done, total int) { progress(step, done, total) }
	}
	o.Progress = during("forecasting the past")
	past, err := m.Past(ctx, o)
	if errors.Is(err, predict.ErrTooFew) {
		return nil, noPast(m)
	}
	if err != nil {
		return nil, err
	}
	s := &PastScore{Model: m, Past: past}
	o.Progress = during("comparing ranges")
	choices, err := m.PastChoices(ctx, o)
	switch {
	case err == nil:
		s.Choices = &choices
	case !errors.Is(err, predict.ErrTooFew):
		return nil, err
	}
	return s, nil
}

// noPast says why no well can be forecast from those before it.
func noPast(m *Model) error {
	dated := 0
	for _, r := range m.Selection.Rows {
		if r.Year() != 0 {
			dated++
		}
	}
	if dated == 0 {
		return records.Errorf(records.Invalid, "none of the %d wells that say something of %s bears a date, so none can be forecast from those before it; give the wells their dates of completion", len(m.Selection.Rows), FieldWords(m.Field))
	}
	return records.Errorf(records.Invalid, "too few dated wells say something of %s: of %d wells %d bear a date, and a forecast takes 20 of earlier years", FieldWords(m.Field), len(m.Selection.Rows), dated)
}
