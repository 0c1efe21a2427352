package sqlite

import (
	"context"
	"database/sql"
	"strconv"
	"strings"

	"tallybook/records"
)

// Counting looks at no more than this many wells, or parts of their logs where
// a condition has to be tried on each: about a second's work. Strikes lie in
// the docs, which take longer to go through.
const (
	mostTried        = 200_000
	mostTriedStrata  = 50_000
	mostTriedStrikes = 20_000
)

// CountFeatures implements records.FeatureView.
func (v *view) CountFeatures(ctx context.Context, collection string, where records.Condition) (n int64, counted bool, err error) {
	c, err := records.FeatureCollectionNamed(collection)
	if err != nil {
		return 0, false, err
	}
	src := featureSources[c.Name]
	if c.Name == records.FeaturesWells && where == nil {
		n, err := v.CountWells(ctx)
		return n, err == nil, err
	}
	cond, err := v.compile(ctx, c, src, where)
	if err != nil {
		return 0, false, err
	}
	defer cond.release()
	most := map[string]int64{records.FeaturesWells: mostTried, records.FeaturesStrata: mostTriedStrata, records.FeaturesStrikes: mostTriedStrikes}[c.Name]
	if most > 0 {
		tried := cond.candidates
		if tried < 0 {
			if tried, err = v.CountWells(ctx); err != nil {
				return 0, false, err
			}
		}
		if tried > most {
			return 0, false, nil
		}
	}
	_, err = v.one(ctx, "SELECT count(*) FROM "+src.from+v.stagedIn(src)+" WHERE "+v.always(src)+cond.sql, cond.args, &n)
	return n, err == nil, err
}

// FeatureExtent implements records.FeatureView.
func (v *view) FeatureExtent(ctx context.Context, collection string) (x records.FeatureExtent, err error) {
	c, err := records.FeatureCollectionNamed(collection)
	if err != nil {
		return x, err
	}
	src := featureSources[c.Name]
	if when := src.read[c.When]; when != "" {
		query := "SELECT min(" + when + "), max(" + when + ") FROM " + src.from + v.stagedIn(src)
		if src.well != "" { // parts of a log are as old as their wells
			query = "SELECT min(w.completed), max(w.completed) FROM wells w WHERE 1" + v.staged
		}
		var from, to sql.NullString
		if _, err := v.one(ctx, query, nil, &from, &to); err != nil {
			return x, err
		}
		x.From, x.To = from.String, to.String
	}
	if src.well != "" {
		var west, south, east, north sql.NullFloat64
		_, err := v.one(ctx, `SELECT extent_min_x, extent_min_y, extent_max_x, extent_max_y FROM geometry_columns_statistics
			WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'`, nil, &west, &south, &east, &north)
		x.Located = west.Valid && south.Valid && east.Valid && north.Valid
		x.Box = records.Bounds{West: west.Float64, South: south.Float64, East: east.Float64, North: north.Float64}
		return x, err
	}
	err = each(ctx, v, "SELECT "+src.geom+" FROM "+src.from+v.stagedIn(src), nil, func(rows *sql.Rows) error {
		var geom sql.RawBytes
		if err := rows.Scan(&geom); err != nil || geom == nil {
			return err
		}
		if lon, lat, err := parsePoint(geom); err == nil {
			at := records.Bounds{West: lon, South: lat, East: lon, North: lat}
			if x.Located {
				at = records.Bounds{West: min(x.Box.West, lon), South: min(x.Box.South, lat), East: max(x.Box.East, lon), North: max(x.Box.North, lat)}
			}
			x.Located, x.Box = true, at
		}
		return nil
	})
	return x, err
}

// Feature implements records.FeatureView.
func (v *view) Feature(ctx context.Context, collection, id string) (*records.Feature, error) {
	c, err := records.FeatureCollectionNamed(collection)
	if err != nil {
		return nil, err
	}
	none := records.Errorf(records.NotFound, "the collection %s has no feature %q", c.Name, clipID(id))
	src := featureSources[c.Name]
	args := []any{id}
	if src.key[1] != "" {
		uid, part, ok := cutLast(id, '.')
		n, err := strconv.ParseInt(part, 10, 64)
		if !ok || err != nil || strconv.FormatInt(n, 10) != part {
			return nil, none
		}
		args = []any{uid, n}
	}
	var found *records.Feature
	err = v.eachFeature(ctx, c, v.featureSelect(c, src)+v.always(src)+" AND "+src.byID, args, func(f *records.Feature) error {
		one := *f
		one.Values = append([]any(nil), f.Values...)
		one.Doc = append([]byte(nil), f.Doc...)
		found = &one
		return nil
	})
	if err == nil && found == nil {
		return nil, none
	}
	return found, err
}

func cutLast(s string, sep byte) (before, after string, found bool) {
	if i := strings.LastIndexByte(s, sep); i >= 0 {
		return s[:i], s[i+1:], true
	}
	return s, "", false
}

func clipID(id string) string { return id[:min(len(id), 60)] }
