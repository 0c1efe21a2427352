package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"math"
	"slices"
)

// repairTriggers puts our triggers of the spatial index back where others
// stand in their place: a GIS user who had SpatiaLite make the index again
// leaves triggers that plain SQLite cannot run, and no record could be
// written any more. The index is then compared with the layer.
func (t *tx) repairTriggers(ctx context.Context) error {
	names := spatialTriggerNames()
	var have []string
	err := each(ctx, &t.view, "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'wells' ORDER BY name", nil, func(rows *sql.Rows) error {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			return err
		}
		if slices.Contains(names, name) {
			have = append(have, text)
		}
		return nil
	})
	if err != nil {
		return err
	}
	want := spatialTriggers()
	slices.Sort(want)
	slices.Sort(have)
	if !slices.Equal(have, want) {
		t.store.o.Log.Warn("the spatial index had triggers of another program; they are replaced", "path", t.store.path)
		for _, name := range names {
			if _, err := t.write(ctx, "DROP TRIGGER IF EXISTS "+name); err != nil {
				return err
			}
		}
		for _, text := range spatialTriggers() {
			if _, err := t.write(ctx, text); err != nil {
				return err
			}
		}
		if err := t.rebuildIndex(ctx); err != nil {
			return err
		}
	}
	return t.noteSchema(ctx)
}

// rebuildIndex fills the spatial index afresh from the geometries.
func (t *tx) rebuildIndex(ctx context.Context) error {
	var tables int
	if _, err := t.one(ctx, "SELECT count(*) FROM sqlite_schema WHERE name = 'idx_wells_geom'", nil, &tables); err != nil {
		return err
	}
	if tables == 0 {
		if _, err := t.write(ctx, "CREATE VIRTUAL TABLE idx_wells_geom USING rtree(pkid, xmin, xmax, ymin, ymax)"); err != nil {
			return err
		}
	}
	for _, query := range []string{
		"UPDATE geometry_columns SET spatial_index_enabled = 1 WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'",
		"DELETE FROM idx_wells_geom",
	} {
		if _, err := t.write(ctx, query); err != nil {
			return err
		}
	}
	for last := int64(math.MinInt64); ; {
		var args []driver.NamedValue
		n := 0
		err := each(ctx, &t.view, "SELECT id, geom FROM wells WHERE id > ? AND geom IS NOT NULL ORDER BY id LIMIT ?", []any{last, pageSize}, func(rows *sql.Rows) error {
			var geom sql.RawBytes
			if err := rows.Scan(&last, &geom); err != nil {
				return err
			}
			n++
			if lon, lat, err := parsePoint(geom); err == nil {
				args = appendArgs(args, last, lon, lon, lat, lat)
			}
			return nil
		})
		if err != nil {
			return err
		}
		if err := t.raw(func(dc any) error { return t.store.index.insert(dc, args) }); err != nil {
			return t.fail(translate(err, "fill the spatial index"))
		}
		if n < pageSize {
			break
		}
	}
	return t.refreshStatistics(ctx)
}

// watchSchema looks at the triggers again when somebody has changed the
// file's schema while it was open.
func (t *tx) watchSchema(ctx context.Context) error {
	var version int64
	if _, err := t.one(ctx, "PRAGMA schema_version", nil, &version); err != nil {
		return err
	}
	if version == t.store.schema {
		return nil
	}
	return t.repairTriggers(ctx)
}

func (t *tx) noteSchema(ctx context.Context) error {
	_, err := t.one(ctx, "PRAGMA schema_version", nil, &t.store.schema)
	return err
}
