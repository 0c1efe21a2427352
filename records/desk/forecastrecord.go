package desk

import (
	"context"
	"fmt"
	"math"
	"strings"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// KeptForecast is a kept forecast with all that is known of its outcome.
type KeptForecast struct {
	*records.Forecast
	// Score holds it against the well that is linked; nil where none is, or
	// where that well was taken out (Lost).
	Score *ForecastScore
	Lost  bool
	// Proposals are wells that may be its outcome, the nearest first.
	Proposals []Proposal
}

// KeptForecasts gives a stretch of the kept forecasts, whole: those for which
// a well is proposed first, then the latest, then those that were withdrawn.
// total counts them all.
func (d *Desk) KeptForecasts(ctx context.Context, actor records.Actor, from, most int) (page []KeptForecast, total int, err error) {
	proposals, err := d.ProposeOutcomes(ctx, actor)
	if err != nil {
		return nil, 0, err
	}
	proposed := map[int64][]Proposal{}
	for _, p := range proposals {
		proposed[p.Forecast.ID] = append(proposed[p.Forecast.ID], p)
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		all, err := v.Forecasts(ctx)
		if err != nil {
			return err
		}
		total = len(all)
		var order []*records.Forecast
		place := func(f *records.Forecast) int {
			switch {
			case f.Decision.Withdrawn:
				return 2
			case len(proposed[f.ID]) == 0:
				return 1
			}
			return 0
		}
		for k := range 3 {
			for _, f := range all {
				if place(f) == k {
					order = append(order, f)
				}
			}
		}
		from = min(max(from, 0), total)
		for _, f := range order[from:min(from+max(most, 0), total)] {
			k, err := d.keptForecast(ctx, v, actor, f.ID)
			if err != nil {
				return err
			}
			k.Proposals = proposed[f.ID]
			page = append(page, k)
		}
		return nil
	})
	return page, total, err
}

// KeptForecast gives one, whole, with what was decided of it, the latest first.
func (d *Desk) KeptForecast(ctx context.Context, actor records.Actor, id int64) (k KeptForecast, decisions []records.ForecastDecision, err error) {
	proposals, err := d.ProposeOutcomes(ctx, actor)
	if err != nil {
		return k, nil, err
	}
	err = d.store.View(ctx, func(v records.StoreView) (err error) {
		if k, err = d.keptForecast(ctx, v, actor, id); err != nil {
			return err
		}
		decisions, err = v.ForecastDecisions(ctx, id)
		return err
	})
	for _, p := range proposals {
		if p.Forecast.ID == id {
			k.Proposals = append(k.Proposals, p)
		}
	}
	return k, decisions, err
}

func (d *Desk) keptForecast(ctx context.Context, v records.StoreView, actor records.Actor, id int64) (k KeptForecast, err error) {
	if k.Forecast, err = v.Forecast(ctx, id); err != nil || k.Decision.WellUID == "" {
		return k, err
	}
	s, err := d.scoreForecast(ctx, v, actor, id)
	if records.CodeOf(err) == records.NotFound {
		k.Lost = true
		return k, nil
	}
	k.Score = s
	return k, err
}

// ExpectedOf reads what was expected of a quantity, and what the area alone
// would have said; that is empty where it was not kept.
func ExpectedOf(q *records.ForecastQuantity) (expected, area predict.Distribution, err error) {
	return distributionsOf(q)
}

// WellsNumbered finds the wells that bear a number, in whatever case it is
// written, as they are known by key and public name.
func (d *Desk) WellsNumbered(ctx context.Context, actor records.Actor, number string) (wells []*records.Well, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	number = strings.TrimSpace(number)
	if number == "" {
		return nil, nil
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		matches, err := v.Find(ctx, number, 50)
		if err != nil {
			return err
		}
		seen := map[int64]bool{}
		for _, m := range matches {
			if m.Kind != "well_number" || !strings.EqualFold(m.Text, number) || seen[m.WellID] {
				continue
			}
			seen[m.WellID] = true
			w, err := v.Well(ctx, m.WellID)
			if err != nil {
				return err
			}
			wells = append(wells, d.sheet(actor, w).Well)
		}
		return nil
	})
	return wells, err
}

// WellName is the number of a well that is named by its public name, or its key
// where it bears no number.
func (d *Desk) WellName(ctx context.Context, actor records.Actor, uid string) (name string, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return "", err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		id, err := v.WellIDByUID(ctx, uid)
		if err != nil {
			return err
		}
		w, err := v.Well(ctx, id)
		if err != nil {
			return err
		}
		if name = w.Number; name == "" {
			name = fmt.Sprintf("no. %d", id)
		}
		return nil
	})
	return name, err
}

// KnownNumbers are the numbers of wells, "" for one that bears none or is no
// longer on record: for a table that keys its rows by ids.
func (d *Desk) KnownNumbers(ctx context.Context, actor records.Actor, ids []int64) ([]string, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	out := make([]string, len(ids))
	return out, d.store.View(ctx, func(v records.StoreView) error {
		for i, id := range ids {
			w, err := v.Well(ctx, id)
			if records.CodeOf(err) == records.NotFound {
				continue
			}
			if err != nil {
				return err
			}
			out[i] = w.Number
		}
		return nil
	})
}

// OwnScore is how the kept forecasts of a quantity did against what came.
type OwnScore struct {
	Name, Unit          string
	Scored              int
	In, Out, CannotTell int
	Share, ShareSE      float64 // of In among In and Out; NaN where there is neither
	CRPS, AreaCRPS      float64 // means, where the area was kept; NaN where it never was
	Skill, SkillSE      float64 // 1 - CRPS / AreaCRPS
	Judged              []predict.Judgement
}

// OwnScores sums up scored forecasts by quantity, in the order in which they
// first come.
func OwnScores(scored []*ForecastScore) []*OwnScore {
	var out []*OwnScore
	byName := map[string]*OwnScore{}
	pairs := map[string][][2]float64{}
	for _, f := range scored {
		for i := range f.Scores {
			s := &f.Scores[i]
			o := byName[s.Name]
			if o == nil {
				o = &OwnScore{Name: s.Name, Unit: s.Unit}
				byName[s.Name], out = o, append(out, o)
			}
			o.Scored++
			switch s.Held {
			case In:
				o.In++
			case Out:
				o.Out++
			default:
				o.CannotTell++
			}
			o.Judged = append(o.Judged, s.Expected.Judge(predict.Sample{Value: s.Found.Value, High: s.Found.High, Bound: snapshot.BoundOf(s.Found.Qualifier)}))
			if !math.IsNaN(s.AreaCRPS) {
				pairs[s.Name] = append(pairs[s.Name], [2]float64{s.CRPS, s.AreaCRPS})
			}
		}
	}
	for _, o := range out {
		told := float64(o.In + o.Out)
		o.Share = float64(o.In) / told
		o.ShareSE = math.Sqrt(o.Share * (1 - o.Share) / told)
		o.skill(pairs[o.Name])
	}
	return out
}

// skill is a ratio of means; its standard error is that of the ratio
// estimator (Cochran, Sampling Techniques, 3rd ed. 1977, section 6.3; from
// memory).
func (o *OwnScore) skill(pairs [][2]float64) {
	n := float64(len(pairs))
	var own, area float64
	for _, p := range pairs {
		own, area = own+p[0], area+p[1]
	}
	o.CRPS, o.AreaCRPS = own/n, area/n
	ratio := own / area
	o.Skill = 1 - ratio
	var squares float64
	for _, p := range pairs {
		e := p[0] - ratio*p[1]
		squares += e * e
	}
	o.SkillSE = math.Sqrt(squares/(n-1)/n) / o.AreaCRPS
}
