package desk

import (
	"context"

	"tallybook/records"
)

// JobOutcome is what stands behind a job: the forecast that its quote stands
// on, and the well that was drilled.
type JobOutcome struct {
	Forecast     *KeptForecast // nil where none is named, or it is gone
	Well         *records.Well // nil likewise
	ForecastLost bool          // one is named that is not on record
	WellLost     bool
}

// JobOutcomes finds what stands behind each of some jobs, in their order.
func (d *Desk) JobOutcomes(ctx context.Context, actor records.Actor, jobs []*records.Job) ([]JobOutcome, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]JobOutcome, error) {
		out := make([]JobOutcome, len(jobs))
		for i, j := range jobs {
			if err := d.jobOutcome(ctx, v, actor, j, &out[i]); err != nil {
				return nil, err
			}
		}
		return out, nil
	})
}

func (d *Desk) jobOutcome(ctx context.Context, v records.StoreView, actor records.Actor, j *records.Job, o *JobOutcome) error {
	if j.ForecastUID != "" {
		id, err := v.ForecastIDByUID(ctx, j.ForecastUID)
		switch {
		case records.CodeOf(err) == records.NotFound:
			o.ForecastLost = true
		case err != nil:
			return err
		default:
			k, err := d.keptForecast(ctx, v, actor, id)
			if err != nil {
				return err
			}
			o.Forecast = &k
		}
	}
	if j.WellUID == "" {
		return nil
	}
	id, err := v.WellIDByUID(ctx, j.WellUID)
	if records.CodeOf(err) == records.NotFound {
		o.WellLost = true
		return nil
	}
	if err != nil {
		return err
	}
	w, err := v.Well(ctx, id)
	if err != nil {
		return err
	}
	o.Well = d.sheet(actor, w).Well
	return nil
}
