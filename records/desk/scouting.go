package desk

import (
	"context"
	"errors"
	"fmt"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
)

// ScoutAsk is the question put to a place.
type ScoutAsk struct {
	At     position.LonLat
	Filter snapshot.Filter
	Need   records.Flow
	Hole   records.Diameter // of the hole below the casing
	Casing records.Diameter // outside
	// MaxDepth and CallDepth are the customer's own limits; 0: the office's,
	// and nowhere.
	MaxDepth, CallDepth records.Depth
	Budget              scout.Cents
	// Daily is the water used in a day and Shape how it is spread; a zero
	// Daily asks nothing of storage.
	Daily records.Volume
	Shape string
	Tank  records.Volume
}

// Scouting is all that is said of a place before the drill: the estimate of
// each field, and the hole that is asked for, replayed in every neighbouring
// record that the estimate of yield stands on.
type Scouting struct {
	*Outlook
	Ask      ScoutAsk
	Practice scout.Practice
	Rates    scout.Rates
	Rules    []scout.LocalRule
	// Why there is no replay; nil where there is one.
	NoReplay error
	Hole     *scout.Forecast
	Storage  *StorageOutlook
}

// Scouting answers for a place.
func (d *Desk) Scouting(ctx context.Context, actor records.Actor, ask ScoutAsk) (*Scouting, error) {
	o, err := d.Scout(ctx, actor, ask.At, &ask.Filter)
	if err != nil {
		return nil, err
	}
	s := &Scouting{Outlook: o, Ask: ask}
	if s.Practice, s.Rates, err = d.scoutingSettings(ctx, actor); err != nil {
		return nil, err
	}
	rules, err := d.LocalRules(ctx, actor)
	if err != nil {
		return nil, err
	}
	s.Rules = rules.Value.Rules
	plan := s.Practice.Plan(ask.Need, ask.Hole, ask.Casing)
	if ask.MaxDepth > 0 {
		plan.MaxDepth = ask.MaxDepth
	}
	plan.CallDepth, plan.Budget = ask.CallDepth, ask.Budget
	if s.NoReplay = senseless(&plan); s.NoReplay != nil {
		return s, nil
	}
	neighbours, own, err := d.outcomes(ctx, o, ask.Filter.Trust)
	if err != nil {
		return nil, err
	}
	rates := s.Rates
	if records.Refuses(rates.Validate()) {
		rates = scout.Rates{} // the page shows what is wrong with the table
	}
	neighbours = scout.UnderSite(neighbours, own)
	s.Hole, err = scout.CostOf(neighbours, plan, own, &rates)
	switch {
	case errors.Is(err, scout.ErrNoOutcome):
		s.NoReplay = records.Errorf(records.NotFound, "no record that counts here says anything of depth or yield, so the hole cannot be tried in any")
		return s, nil
	case records.CodeOf(err) == records.Invalid:
		s.NoReplay = err
		return s, nil
	case err != nil:
		return nil, fmt.Errorf("replaying the plan: %w", err)
	}
	s.Storage, err = storageOf(s, staticLevels(neighbours))
	return s, err
}

// senseless says in words for people what of a plan that was asked for makes no
// sense; nil where it does.
func senseless(p *scout.Plan) error {
	switch {
	case !(p.Need > 0):
		return records.Errorf(records.Invalid, "say how much water is needed: every hole gives nothing")
	case p.CallDepth > p.MaxDepth:
		return records.Errorf(records.Invalid, "the depth to stop and call at lies below the greatest depth: call before the hole is at its end, or leave it out")
	}
	return nil
}

// fieldOf is the outlook of one field, nil where nothing is said of it.
func (o *Outlook) fieldOf(f snapshot.Field) *FieldOutlook {
	for i := range o.Fields {
		if o.Fields[i].Field == f {
			return &o.Fields[i]
		}
	}
	return nil
}

// outcomes reads the whole records behind the estimate of yield, each with its
// weight; where nobody recorded a yield, those behind the total depth.
func (d *Desk) outcomes(ctx context.Context, o *Outlook, trust records.Trust) ([]scout.Neighbour, scout.Own, error) {
	var own scout.Own
	best := func(f snapshot.Field) *predict.Distribution {
		if fo := o.fieldOf(f); fo != nil {
			return fo.Best()
		}
		return nil
	}
	own.Bedrock, own.Depth, own.Yield = best(snapshot.Bedrock), best(snapshot.TotalDepth), best(snapshot.Yield)
	base := o.fieldOf(snapshot.Yield)
	if base == nil {
		base = o.fieldOf(snapshot.TotalDepth)
	}
	if base == nil {
		return nil, own, nil
	}
	outcomes := base.Outcomes()
	neighbours := make([]scout.Neighbour, 0, len(outcomes))
	err := d.store.View(ctx, func(v records.StoreView) error {
		for _, oc := range outcomes {
			row := base.Model.Selection.Rows[oc.Row]
			if row.ID() <= 0 {
				continue // a sighting is no hole to replay a plan in
			}
			w, err := v.Well(ctx, row.ID())
			if records.CodeOf(err) == records.NotFound {
				continue // taken out since the picture was made
			}
			if err != nil {
				return err
			}
			vote := scout.Vote{Weight: oc.Weight}
			if w.Place.Located {
				vote.DistanceM, vote.BearingDeg = position.Distance(o.At, position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat})
			}
			neighbours = append(neighbours, scout.NewNeighbour(trust.Of(w), trust.PicksOf(w, d.vocabulary), d.vocabulary, vote))
		}
		return nil
	})
	return neighbours, own, err
}
