package desk

import (
	"context"
	"math"
	"slices"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Proposal is a well that may show the outcome of a forecast: near enough, and
// completed after the forecast was kept.
type Proposal struct {
	Forecast  *records.Forecast // without what was asked and answered
	WellID    int64
	WellUID   string
	Number    string
	Completed records.Date
	DistanceM float64
	// Certain says that the well was surely completed after the day of the
	// forecast; else its date says only the month or year, or is that day.
	Certain bool
}

// ProposeOutcomes looks for the outcomes of forecasts that have none: wells
// completed since, within the distance that the office has set (100 m; ours, no
// source), nearest first for each forecast. Whether one is the outcome is for
// a person to decide: see LinkForecast.
func (d *Desk) ProposeOutcomes(ctx context.Context, actor records.Actor) ([]Proposal, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	var out []Proposal
	err := d.store.View(ctx, func(v records.StoreView) error {
		text, err := v.Setting(ctx, SettingOutcomeM)
		if err != nil {
			return err
		}
		withinM, err := outcomeDistance(text)
		if err != nil {
			return err
		}
		forecasts, err := v.Forecasts(ctx)
		if err != nil {
			return err
		}
		p := d.Picture()
		for _, f := range forecasts {
			if f.Decision.Withdrawn || f.Decision.WellUID != "" {
				continue
			}
			kept := records.DateOf(f.KeptAt)
			for _, n := range p.Around(position.LonLat{Lon: f.Lon, Lat: f.Lat}, withinM, func(r snapshot.Row) bool { return r.Year() >= float64(kept.Year) }) {
				w, err := v.Well(ctx, n.ID())
				if records.CodeOf(err) == records.NotFound {
					continue // taken out since the picture was made
				}
				if err != nil {
					return err
				}
				if slices.Contains(f.Decision.Refused, w.UID) || w.Completed.IsZero() || w.Completed.Before(kept) {
					continue
				}
				out = append(out, Proposal{
					Forecast: f, WellID: w.ID, WellUID: w.UID, Number: w.Number, Completed: w.Completed,
					DistanceM: n.DistanceM, Certain: kept.Before(w.Completed),
				})
			}
		}
		return nil
	})
	return out, err
}

// ForecastScore is a forecast held against its outcome.
type ForecastScore struct {
	Forecast  *records.Forecast
	Well      *records.Well
	DistanceM float64 // from the forecast's place; NaN where the well is not located
	// Scores are those of the quantities that the well, or for the cost the
	// job, says something of, in the order in which they were expected.
	Scores []QuantityScore
}

// ScoreForecast holds a forecast against the well that is linked to it. One
// that has no well, or whose well is no longer there, gives an Error with code
// NotFound.
func (d *Desk) ScoreForecast(ctx context.Context, actor records.Actor, id int64) (*ForecastScore, error) {
	return look(ctx, d, actor, func(v records.StoreView) (*ForecastScore, error) { return d.scoreForecast(ctx, v, actor, id) })
}

// Scorecard holds every forecast that has an outcome and was not withdrawn
// against it, the latest kept first.
func (d *Desk) Scorecard(ctx context.Context, actor records.Actor) (out []*ForecastScore, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		forecasts, err := v.Forecasts(ctx)
		if err != nil {
			return err
		}
		for _, f := range forecasts {
			if f.Decision.Withdrawn || f.Decision.WellUID == "" {
				continue
			}
			s, err := d.scoreForecast(ctx, v, actor, f.ID)
			if records.CodeOf(err) == records.NotFound {
				continue // its well was taken out
			}
			if err != nil {
				return err
			}
			out = append(out, s)
		}
		return nil
	})
	return out, err
}

func (d *Desk) scoreForecast(ctx context.Context, v records.StoreView, actor records.Actor, id int64) (*ForecastScore, error) {
	f, err := v.Forecast(ctx, id)
	if err != nil {
		return nil, err
	}
	if f.Decision.WellUID == "" {
		return nil, records.Errorf(records.NotFound, "the forecast has no outcome yet: link the well that was drilled there")
	}
	wellID, err := v.WellIDByUID(ctx, f.Decision.WellUID)
	if err != nil {
		return nil, err
	}
	w, err := v.Well(ctx, wellID)
	if err != nil {
		return nil, err
	}
	found := foundIn(records.Derive(w, d.vocabulary, nil))
	job, err := jobOf(ctx, v, f)
	if err != nil {
		return nil, err
	}
	s := &ForecastScore{Forecast: f, Well: d.sheet(actor, w).Well, DistanceM: math.NaN()}
	if w.Place.Located {
		plane := position.NewPlane(position.LonLat{Lon: f.Lon, Lat: f.Lat})
		s.DistanceM = math.Hypot(plane.ToXY(position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}))
	}
	for i := range f.Expected {
		q := &f.Expected[i]
		y, ok := found(q.Name)
		if q.Name == records.CostQuantity {
			y, ok = costOf(job, q.Unit)
		}
		if !ok {
			continue
		}
		score, err := ScoreQuantity(q, y)
		if err != nil {
			return nil, err
		}
		s.Scores = append(s.Scores, score)
	}
	return s, nil
}

// jobOf finds the job of a forecast: the one whose quote stands on it, else the
// one that it was made for; nil where there is none.
func jobOf(ctx context.Context, v records.StoreView, f *records.Forecast) (*records.Job, error) {
	jobs, err := v.Jobs(ctx, records.JobFilter{ForecastUID: f.UID})
	if err != nil {
		return nil, err
	}
	for _, j := range jobs {
		if j.ActualCents > 0 || f.JobUID == "" {
			return j, nil
		}
	}
	if f.JobUID == "" {
		return nil, nil
	}
	id, err := v.JobIDByUID(ctx, f.JobUID)
	if records.CodeOf(err) == records.NotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return v.Job(ctx, id)
}

// costOf is what a job came to, in whole units of a currency; unknown in
// another one.
func costOf(j *records.Job, currency string) (records.DigestValue, bool) {
	if j == nil || j.ActualCents == 0 || j.Quote.Currency != currency {
		return records.DigestValue{}, false
	}
	return records.DigestValue{Value: float64(j.ActualCents) / 100, Qualifier: records.Exact}, true
}

// CasingQuantity is the name of the depth of casing among a forecast's
// quantities, metres.
const CasingQuantity = "casing_depth"

// foundIn reads what a well says of a quantity by its name, in base units.
func foundIn(d records.Digest) func(name string) (records.DigestValue, bool) {
	return func(name string) (y records.DigestValue, ok bool) {
		switch name {
		case snapshot.Bedrock.String():
			y = d.Bedrock
		case snapshot.Yield.String():
			y = d.Yield
		case snapshot.TotalDepth.String():
			y = d.TotalDepth
		case CasingQuantity:
			if !math.IsNaN(float64(d.CasingM)) {
				y = records.DigestValue{Value: float64(d.CasingM), Qualifier: records.Exact}
			}
		}
		return y, y.Qualifier != records.Missing
	}
}
