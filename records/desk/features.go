package desk

import (
	"context"
	"math"
	"strings"

	"tallybook/records"
)

// Features reads flat features from one state of the records.
type Features struct {
	view records.StoreView
}

// MayRead says whether an actor may read a collection: nil means yes. One that
// is restricted is for those who may see private things.
func (d *Desk) MayRead(actor records.Actor, c *records.FeatureCollection) error {
	for _, a := range []Action{Look, GiveOut} {
		if err := d.Permit(actor, a); err != nil {
			return err
		}
	}
	if c.Restricted {
		return d.Permit(actor, SeePrivate)
	}
	return nil
}

// Features opens one state of a collection for as long as fn runs. People's
// names, addresses and telephone numbers are no fields of any collection.
func (d *Desk) Features(ctx context.Context, actor records.Actor, collection string, fn func(*Features) error) error {
	if err := d.Permit(actor, Look); err != nil { // ahead of saying which collections there are
		return err
	}
	c, err := records.FeatureCollectionNamed(collection)
	if err != nil {
		return err
	}
	if err := d.MayRead(actor, c); err != nil {
		return err
	}
	return d.store.View(ctx, func(v records.StoreView) error { return fn(&Features{view: v}) })
}

// Changes is the number of the latest commit by anybody.
func (d *Desk) Changes(ctx context.Context, actor records.Actor) (int64, error) {
	if err := d.Permit(actor, Look); err != nil {
		return 0, err
	}
	return d.store.Changes(ctx)
}

// Commit is the number of the state that is read.
func (f *Features) Commit() int64 { return f.view.Commit() }

// Each streams features, as records.FeatureView does, with what forecasts
// expected filled in.
func (f *Features) Each(ctx context.Context, q records.FeatureQuery, fn func(*records.Feature) error) error {
	if q.Collection != records.FeaturesForecasts {
		return f.view.EachFeature(ctx, q, fn)
	}
	return f.view.EachFeature(ctx, q, func(x *records.Feature) error {
		fillExpected(x)
		return fn(x)
	})
}

// One finds a feature by its public name.
func (f *Features) One(ctx context.Context, collection, id string) (*records.Feature, error) {
	x, err := f.view.Feature(ctx, collection, id)
	if err == nil && collection == records.FeaturesForecasts {
		fillExpected(x)
	}
	return x, err
}

// Count counts, where that is cheap.
func (f *Features) Count(ctx context.Context, collection string, where records.Condition) (n int64, counted bool, err error) {
	return f.view.CountFeatures(ctx, collection, where)
}

// Extent tells where and when the features lie.
func (f *Features) Extent(ctx context.Context, collection string) (records.FeatureExtent, error) {
	return f.view.FeatureExtent(ctx, collection)
}

// fillExpected reads what a forecast expected from its document. A share of
// which the distribution cannot tell stays missing.
func fillExpected(x *records.Feature) {
	c, err := records.FeatureCollectionNamed(records.FeaturesForecasts)
	if err != nil || len(x.Values) != len(c.Fields) {
		return
	}
	var f records.Forecast
	if err := f.ParseDocument(x.Doc); err != nil {
		return // the forecast's own page tells it
	}
	units := map[string]string{"m": "m", "L/s": "lps"}
	for i := range f.Expected {
		q := &f.Expected[i]
		unit := units[q.Unit]
		d, _, err := distributionsOf(q)
		if err != nil || unit == "" {
			continue
		}
		for name, share := range map[string]float64{"p10": 0.1, "p50": 0.5, "p90": 0.9} {
			at, ok := c.Field(strings.Join([]string{q.Name, name, unit}, "_"))
			if v := d.Quantile(share); ok && !math.IsNaN(v) && !math.IsInf(v, 0) {
				x.Values[at] = v
			}
		}
	}
}
