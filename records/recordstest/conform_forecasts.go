package recordstest

import (
	"context"
	"encoding/json"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// FullForecast is a forecast with something in every field, and no fault.
func FullForecast() *records.Forecast {
	skill, se := 0.25, 0.05
	return &records.Forecast{
		UID: "0190a1b2-c3d4-7e5f-8a6b-00000000000f",
		Lon: -72.5125, Lat: 44.2575, Label: "upper pasture", DataCommit: 12, JobUID: "0190a1b2-c3d4-7e5f-8a6b-00000000001f",
		Question: json.RawMessage(`{"need_lps":0.31,"use":"domestic"}`),
		Expected: []records.ForecastQuantity{{
			Name: "depth_to_bedrock", Unit: "m",
			Distribution: json.RawMessage(`{"values":[3,12.191999999999998],"shares":[0.5,1],"halves":[0.25,0.25],"rankLow":0.08,"rankHigh":0.93}`),
			Area:         json.RawMessage(`{"values":[0],"shares":[1],"halves":[0.5]}`),
			Verdict:      "they tell",
			Basis: &records.ForecastBasis{Wells: 900, Voters: 32, AreaWells: 200, AreaRadiusM: 4100.5, AreaShare: 0.1, Bounds: 3, NearestM: 88,
				FirstYear: 1961, LastYear: 2025.5, Skill: &skill, SkillSE: &se, Tests: 100},
		}, {
			Name: records.CostQuantity, Unit: "USD", Distribution: json.RawMessage(`{"values":[9000,21000],"shares":[0.5,1],"halves":[0.25,0.25]}`),
		}},
	}
}

// ConformForecasts holds a store against what is asked of it for forecasts.
func ConformForecasts(t *testing.T, open Opener) {
	t.Run("kept as it was", func(t *testing.T) { forecastsKept(t, open(t)) })
	t.Run("decisions", func(t *testing.T) { forecastsDecided(t, open(t)) })
	t.Run("all or nothing", func(t *testing.T) {
		s := open(t)
		undone(t, s, func(ctx context.Context, tx records.StoreTx) error {
			f := FullForecast()
			return errors.Join(tx.KeepForecast(ctx, f), tx.DecideForecast(ctx, f.ID, &records.ForecastDecision{Withdrawn: true}))
		})
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			all, err := v.Forecasts(ctx)
			if len(all) != 0 {
				t.Errorf("%d forecasts were left", len(all))
			}
			return err
		})
	})
}

func keep(t *testing.T, s records.Store, f *records.Forecast) {
	t.Helper()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.KeepForecast(ctx, f) })
}

func readForecast(t *testing.T, s records.Store, id int64) (f *records.Forecast) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) (err error) {
		f, err = v.Forecast(ctx, id)
		return err
	})
	return f
}

func forecastsKept(t *testing.T, s records.Store) {
	first := FullForecast()
	second := &records.Forecast{Lon: 10, Lat: -20, Expected: first.Expected[:1]}
	keep(t, s, first)
	keep(t, s, second)
	if first.ID == 0 || second.ID == first.ID || first.KeptBy != Writer().Name || first.KeptAt.IsZero() || len(second.UID) != 36 {
		t.Errorf("kept as %+v", first)
	}
	if diff := cmp.Diff(first, readForecast(t, s, first.ID)); diff != "" {
		t.Errorf("as kept and read:\n%s", diff)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.Forecasts(ctx)
		heads := []*records.Forecast{{}, {}}
		*heads[0], *heads[1] = *second, *first
		for _, h := range heads {
			h.Question, h.Expected = nil, nil
		}
		if diff := cmp.Diff(heads, all); diff != "" {
			t.Errorf("the list:\n%s", diff)
		}
		id, err2 := v.ForecastIDByUID(ctx, first.UID)
		if id != first.ID {
			t.Errorf("found by its uid as %d, want %d", id, first.ID)
		}
		if _, err := v.ForecastIDByUID(ctx, "nobody"); records.CodeOf(err) != records.NotFound {
			t.Errorf("a uid that is none: %v", err)
		}
		if _, err := v.Forecast(ctx, 99); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that is not there: %v", err)
		}
		return errors.Join(err, err2)
	})
	again := func(change func(f *records.Forecast)) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error {
			f := *first
			change(&f)
			return tx.KeepForecast(ctx, &f)
		}
	}
	refused(t, s, "kept once more", records.Conflict, again(func(*records.Forecast) {}))
	refused(t, s, "the same uid twice", records.Conflict, again(func(f *records.Forecast) { f.ID = 0 }))
	refused(t, s, "off the earth", records.Invalid, again(func(f *records.Forecast) { f.ID, f.UID, f.Lat = 0, "", 91 }))
	refused(t, s, "no JSON", records.Invalid, again(func(f *records.Forecast) { f.ID, f.UID, f.Question = 0, "", json.RawMessage("{") }))
}

func forecastsDecided(t *testing.T, s records.Store) {
	f := FullForecast()
	keep(t, s, f)
	w := Plain()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutWell(ctx, w, "") })
	decide := func(d records.ForecastDecision) records.ForecastDecision {
		t.Helper()
		write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.DecideForecast(ctx, f.ID, &d) })
		return d
	}
	linked := decide(records.ForecastDecision{WellUID: w.UID, How: records.LinkProposed, Why: "47 m away"})
	if linked.Revision != 1 || linked.By != Writer().Name || linked.At.IsZero() {
		t.Errorf("the first decision: %+v", linked)
	}
	withdrawn := decide(records.ForecastDecision{Revision: 1, Withdrawn: true, How: "left over", Refused: []string{w.UID, "another"}})
	if withdrawn.How != "" {
		t.Errorf("no well is linked, and it is linked %q", withdrawn.How)
	}
	undo := linked
	undo.Revision = 2
	back := decide(undo)
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		ds, err := v.ForecastDecisions(ctx, f.ID)
		if diff := cmp.Diff([]records.ForecastDecision{back, withdrawn, linked}, ds); diff != "" {
			t.Errorf("decisions:\n%s", diff)
		}
		return err
	})
	got := readForecast(t, s, f.ID)
	if diff := cmp.Diff(back, got.Decision); diff != "" {
		t.Errorf("the latest:\n%s", diff)
	}
	got.Decision = records.ForecastDecision{}
	if diff := cmp.Diff(f, got); diff != "" {
		t.Errorf("decisions changed the forecast:\n%s", diff)
	}
	for what, c := range map[string]struct {
		id   int64
		d    records.ForecastDecision
		code records.Code
	}{
		"stale":                   {f.ID, records.ForecastDecision{Revision: 1}, records.Conflict},
		"no such forecast":        {99, records.ForecastDecision{}, records.NotFound},
		"a well that is not ours": {f.ID, records.ForecastDecision{Revision: 3, WellUID: "nobody"}, records.NotFound},
	} {
		refused(t, s, what, c.code, func(ctx context.Context, tx records.StoreTx) error { return tx.DecideForecast(ctx, c.id, &c.d) })
	}
	// The link outlives the well, which may be brought back under its name.
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, w.ID, 1, "") })
	if got := readForecast(t, s, f.ID); got.Decision.WellUID != w.UID {
		t.Errorf("without its well it is linked to %q", got.Decision.WellUID)
	}
}
