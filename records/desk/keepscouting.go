package desk

import (
	"context"
	"encoding/json"

	"tallybook/records"
)

// KeepScouting answers for a place and keeps the answer as a forecast: each
// field, and, where the hole was replayed, the depth that its casing goes to
// and what it costs. question is what was asked, as the page writes it down.
func (d *Desk) KeepScouting(ctx context.Context, actor records.Actor, ask ScoutAsk, label string, question json.RawMessage) (*records.Forecast, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	s, err := d.Scouting(ctx, actor, ask)
	if err != nil {
		return nil, err
	}
	f, err := s.Forecast()
	if err != nil {
		return nil, err
	}
	if len(f.Expected) == 0 {
		return nil, records.Errorf(records.Invalid, "nothing is expected of this place, so there is no forecast to keep: no well on record says what lies under it")
	}
	f.Label, f.Question = label, question
	if err := d.KeepForecast(ctx, actor, f); err != nil {
		return nil, err
	}
	return f, nil
}

// Forecast is all that is expected, to be kept. Cost is in whole units of the
// rate table's currency.
func (s *Scouting) Forecast() (*records.Forecast, error) {
	f, err := ForecastOf(s.Outlook)
	if err != nil || s.Hole == nil {
		return f, err
	}
	if !s.Hole.Casing.Empty() {
		q, err := Expect(CasingQuantity, "m", &s.Hole.Casing, nil)
		if err != nil {
			return nil, err
		}
		f.Expected = append(f.Expected, q)
	}
	if !s.Hole.Cost.Empty() && s.Rates.Charges() {
		cost := s.Hole.Cost.Scaled(0.01)
		q, err := Expect(records.CostQuantity, s.Rates.Currency, &cost, nil)
		if err != nil {
			return nil, err
		}
		f.Expected = append(f.Expected, q)
	}
	return f, nil
}
