package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// ForecastOf makes a forecast of an outlook, to be kept: each field with its
// whole distribution, what the area alone would have said, and what it stands
// on. The caller adds label, question and job, and the cost with Expect.
func ForecastOf(o *Outlook) (*records.Forecast, error) {
	f := &records.Forecast{Lon: o.At.Lon, Lat: o.At.Lat}
	for i := range o.Fields {
		field := &o.Fields[i]
		unit := "m"
		if field.Field == snapshot.Yield {
			unit = "L/s"
		}
		q, err := Expect(field.Field.String(), unit, field.Best(), &field.Area)
		if err != nil {
			return nil, err
		}
		q.Verdict, q.Basis = field.Skill.Verdict.String(), basisOf(&field.Estimate)
		f.Expected = append(f.Expected, q)
		if commit := field.Model.Commit; f.DataCommit == 0 || commit < f.DataCommit {
			f.DataCommit = commit // the oldest state that anything in it stands on
		}
	}
	return f, nil
}

// Expect writes down what is expected of a quantity. area may be nil.
func Expect(name, unit string, d, area *predict.Distribution) (records.ForecastQuantity, error) {
	q := records.ForecastQuantity{Name: name, Unit: unit}
	var err error
	if q.Distribution, err = json.Marshal(d); err != nil {
		return q, fmt.Errorf("writing down %s: %w", name, err)
	}
	if area != nil && !area.Empty() {
		if q.Area, err = json.Marshal(area); err != nil {
			return q, fmt.Errorf("writing down the area's %s: %w", name, err)
		}
	}
	return q, nil
}

func basisOf(e *predict.Estimate) *records.ForecastBasis {
	number := func(v float64) float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0
		}
		return v
	}
	b := &records.ForecastBasis{
		Wells: e.Basis.Wells, Voters: e.Basis.Voters, AreaWells: e.Basis.AreaWells,
		AreaRadiusM: number(e.Basis.AreaRadiusM), AreaShare: number(e.Basis.AreaShare),
		Bounds: e.Basis.Bounds, NearestM: number(e.Basis.NearestM),
		FirstYear: number(e.Basis.FirstYear), LastYear: number(e.Basis.LastYear), Tests: e.Skill.Tests,
	}
	if s := e.Skill; !math.IsNaN(s.Skill) && !math.IsInf(s.Skill, 0) {
		se := number(s.SE)
		b.Skill, b.SkillSE = &s.Skill, &se
	}
	return b
}

// KeepForecast keeps a forecast for good.
func (d *Desk) KeepForecast(ctx context.Context, actor records.Actor, f *records.Forecast) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	if err := records.FaultError(f.Validate()); err != nil {
		return err
	}
	for i := range f.Expected {
		if _, _, err := distributionsOf(&f.Expected[i]); err != nil {
			return err
		}
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.KeepForecast(ctx, f) })
}

// distributionsOf reads what was expected of a quantity, and what the area
// alone would have said; empty where that was not kept.
func distributionsOf(q *records.ForecastQuantity) (expected, area predict.Distribution, err error) {
	if err := json.Unmarshal(q.Distribution, &expected); err != nil {
		return expected, area, records.WrapError(records.Invalid, err, "what was expected of %s is no distribution", q.Name)
	}
	if expected.Empty() {
		return expected, area, records.Errorf(records.Invalid, "what was expected of %s is an empty distribution", q.Name)
	}
	if len(q.Area) > 0 {
		if err := json.Unmarshal(q.Area, &area); err != nil {
			return expected, area, records.WrapError(records.Invalid, err, "what the area says of %s is no distribution", q.Name)
		}
	}
	return expected, area, nil
}

// Forecast opens a kept forecast.
func (d *Desk) Forecast(ctx context.Context, actor records.Actor, id int64) (*records.Forecast, error) {
	return look(ctx, d, actor, func(v records.StoreView) (*records.Forecast, error) { return v.Forecast(ctx, id) })
}

// ForecastIDByUID finds a kept forecast by its public name.
func (d *Desk) ForecastIDByUID(ctx context.Context, actor records.Actor, uid string) (int64, error) {
	return look(ctx, d, actor, func(v records.StoreView) (int64, error) { return v.ForecastIDByUID(ctx, uid) })
}

// Forecasts lists the kept forecasts, the latest first, without what was asked
// and answered.
func (d *Desk) Forecasts(ctx context.Context, actor records.Actor) ([]*records.Forecast, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]*records.Forecast, error) { return v.Forecasts(ctx) })
}

// ForecastDecisions lists what was decided of a forecast, the latest first.
func (d *Desk) ForecastDecisions(ctx context.Context, actor records.Actor, id int64) ([]records.ForecastDecision, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]records.ForecastDecision, error) { return v.ForecastDecisions(ctx, id) })
}

// LinkForecast decides which well shows the outcome of a forecast; wellUID ""
// takes the link away. proposed says that the program proposed it. revision is
// that of the latest decision that the person saw, 0 where there was none.
func (d *Desk) LinkForecast(ctx context.Context, actor records.Actor, id, revision int64, wellUID string, proposed bool, why string) error {
	return d.decide(ctx, actor, id, revision, why, func(now *records.ForecastDecision) {
		now.WellUID, now.How = wellUID, records.LinkedByHand
		now.Refused = without(now.Refused, wellUID)
		if proposed {
			now.How = records.LinkProposed
		}
	})
}

// RefuseOutcome says that a well that was proposed is not the outcome of a
// forecast; it is not proposed for it again, and a link to it is taken away.
func (d *Desk) RefuseOutcome(ctx context.Context, actor records.Actor, id, revision int64, wellUID, why string) error {
	if wellUID == "" {
		return records.Errorf(records.Invalid, "no well is named that is not the outcome")
	}
	return d.decide(ctx, actor, id, revision, why, func(now *records.ForecastDecision) {
		if now.WellUID == wellUID {
			now.WellUID, now.How = "", ""
		}
		now.Refused = append(without(now.Refused, wellUID), wellUID)
	})
}

// without is a list without a name, nil where nothing is left of it.
func without(list []string, name string) []string {
	var out []string
	for _, one := range list {
		if one != name {
			out = append(out, one)
		}
	}
	return out
}

// WithdrawForecast takes a forecast out of every score, or with withdrawn
// false puts it back.
func (d *Desk) WithdrawForecast(ctx context.Context, actor records.Actor, id, revision int64, withdrawn bool, why string) error {
	return d.decide(ctx, actor, id, revision, why, func(now *records.ForecastDecision) { now.Withdrawn = withdrawn })
}

// decide changes the latest decision of a forecast and adds it as a new one.
func (d *Desk) decide(ctx context.Context, actor records.Actor, id, revision int64, why string, change func(*records.ForecastDecision)) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		f, err := tx.Forecast(ctx, id)
		if err != nil {
			return err
		}
		next := f.Decision
		change(&next)
		next.Revision, next.Why = revision, why // the store looks whether it is the latest
		return tx.DecideForecast(ctx, id, &next)
	})
}

// UndoForecastDecision goes back to what held after an earlier decision, or as
// the forecast was kept where earlier is 0. current is the latest that the
// person saw.
func (d *Desk) UndoForecastDecision(ctx context.Context, actor records.Actor, id, earlier, current int64) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		var back records.ForecastDecision
		if earlier != 0 {
			all, err := tx.ForecastDecisions(ctx, id)
			if err != nil {
				return err
			}
			for _, was := range all {
				if was.Revision == earlier {
					back = was
				}
			}
			if back.Revision == 0 {
				return records.Errorf(records.NotFound, "nothing with the number %d was decided of the forecast", earlier)
			}
		}
		back.Revision, back.Why = current, fmt.Sprintf("back to decision %d", earlier)
		return tx.DecideForecast(ctx, id, &back)
	})
}
