package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"math"

	"tallybook/records"
)

// Layers that a GIS reads and does not edit: sightings, and plates where they
// were seen last. They have no index; their number and extent stand in the
// statistics, without which QGIS shows an empty layer.

// spotLayers are those layers, with the triggers that they have.
var spotLayers = map[string]string{
	"sightings": "'sightings_outside_insert', 'sightings_outside_update', 'sightings_outside_delete'",
	"plates":    "'plates_outside_insert', 'plates_keep_text', 'plates_outside_update', 'plates_outside_delete'",
}

// openLayer makes a layer writable by this program again where a GIS has made
// an index of it, whose triggers plain SQLite cannot run, and has its
// statistics written when the transaction ends.
func (t *tx) openLayer(ctx context.Context, table string) error {
	if _, begun := t.spots[table]; begun {
		return nil
	}
	var foreign []string
	err := each(ctx, &t.view, `SELECT 'DROP TRIGGER "' || replace(name, '"', '""') || '"' FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ?1
		AND name NOT IN (`+spotLayers[table]+`)
		UNION ALL SELECT 'DROP TABLE ' || name FROM sqlite_schema WHERE type = 'table' AND name = 'idx_' || ?1 || '_geom'`, []any{table}, func(rows *sql.Rows) error {
		var drop string
		err := rows.Scan(&drop)
		foreign = append(foreign, drop)
		return err
	})
	if err != nil {
		return err
	}
	for _, drop := range foreign {
		if _, err := t.write(ctx, drop); err != nil {
			return err
		}
	}
	if len(foreign) > 0 {
		t.store.o.Log.Warn("the layer of "+table+" had a spatial index of another program; it is taken out", "path", t.store.path)
		if _, err := t.write(ctx, "UPDATE geometry_columns SET spatial_index_enabled = 0 WHERE f_table_name = ?", table); err != nil {
			return err
		}
	}
	if t.spots == nil {
		t.spots = map[string]*box{}
	}
	t.spots[table] = &box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	return nil
}

// spot notes where a row of a layer that was opened has come to lie.
func (t *tx) spot(table string, lon, lat float64) {
	b := t.spots[table]
	b.west, b.east = math.Min(b.west, lon), math.Max(b.east, lon)
	b.south, b.north = math.Min(b.south, lat), math.Max(b.north, lat)
}

// writeSpotStatistics brings the statistics of the layers that were written up
// to date. Extents only grow here.
func (t *tx) writeSpotStatistics(ctx context.Context) error {
	for table, b := range t.spots {
		var west sql.NullFloat64
		if _, err := t.one(ctx, "SELECT extent_min_x FROM geometry_columns_statistics WHERE f_table_name = ?", []any{table}, &west); err != nil {
			return err
		}
		if !west.Valid {
			if err := t.refreshSpots(ctx, table); err != nil {
				return err
			}
			continue
		}
		args := []any{table, nil, nil, nil, nil}
		if b.west <= b.east {
			args = []any{table, b.west, b.south, b.east, b.north}
		}
		if _, err := t.write(ctx, `UPDATE geometry_columns_statistics SET last_verified = strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), row_count = (SELECT count(*) FROM `+table+`),
			extent_min_x = ifnull(min(extent_min_x, ?2), extent_min_x), extent_min_y = ifnull(min(extent_min_y, ?3), extent_min_y),
			extent_max_x = ifnull(max(extent_max_x, ?4), extent_max_x), extent_max_y = ifnull(max(extent_max_y, ?5), extent_max_y)
			WHERE f_table_name = ?1`, args...); err != nil {
			return err
		}
	}
	return nil
}

// refreshSpots works the statistics of a layer out from its rows.
func (t *tx) refreshSpots(ctx context.Context, table string) error {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	rows := 0
	err := each(ctx, &t.view, "SELECT geom FROM "+table, nil, func(r *sql.Rows) error {
		var geom sql.RawBytes
		if err := r.Scan(&geom); err != nil {
			return err
		}
		rows++
		if lon, lat, err := parsePoint(geom); err == nil {
			b.west, b.east = math.Min(b.west, lon), math.Max(b.east, lon)
			b.south, b.north = math.Min(b.south, lat), math.Max(b.north, lat)
		}
		return nil
	})
	if err != nil {
		return err
	}
	extent := []any{nil, nil, nil, nil}
	if b.west <= b.east {
		extent = []any{b.west, b.south, b.east, b.north}
	}
	_, err = t.write(ctx, "INSERT OR REPLACE INTO geometry_columns_statistics VALUES (?, 'geom', strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), ?, ?, ?, ?, ?)", append([]any{table, rows}, extent...)...)
	return err
}

// checkSpots places the plates that an earlier version of the program wrote,
// and writes the statistics that another program has left half done.
func (t *tx) checkSpots(ctx context.Context) error {
	if err := t.placePlates(ctx); err != nil {
		return err
	}
	for table := range spotLayers {
		var west sql.NullFloat64
		var stated, there int64
		if _, err := t.one(ctx, `SELECT (SELECT extent_min_x FROM geometry_columns_statistics WHERE f_table_name = ?1),
			ifnull((SELECT row_count FROM geometry_columns_statistics WHERE f_table_name = ?1), -1), (SELECT count(*) FROM `+table+`)`, []any{table}, &west, &stated, &there); err != nil {
			return err
		}
		if stated != there || !west.Valid && there > 0 {
			if err := t.refreshSpots(ctx, table); err != nil {
				return err
			}
		}
	}
	return nil
}

// plateSpot is where a plate was seen last, as its layer has it.
func plateSpot(p *records.Plate) []byte {
	if s := p.LastSeen(); s != nil && onEarth(s.Lon, s.Lat) {
		return appendPoint(nil, s.Lon, s.Lat)
	}
	return nil
}

func (t *tx) placePlates(ctx context.Context) error {
	for {
		spots := map[int64][]byte{}
		err := each(ctx, &t.view, "SELECT id, doc FROM plates WHERE placed = 0 LIMIT ?", []any{pageSize}, func(rows *sql.Rows) error {
			var id int64
			var doc []byte
			err := rows.Scan(&id, &doc)
			var p records.Plate
			p.ParsePlate(doc) // what cannot be read of it is told where it is shown
			spots[id] = plateSpot(&p)
			return err
		})
		if err != nil || len(spots) == 0 {
			return err
		}
		if _, err := t.write(ctx, "INSERT OR IGNORE INTO own_write VALUES (1)"); err != nil {
			return err
		}
		for id, geom := range spots {
			if _, err := t.write(ctx, "UPDATE plates SET geom = ?, placed = 1 WHERE id = ?", blobOrNull(geom), id); err != nil {
				return err
			}
		}
		if _, err := t.write(ctx, "DELETE FROM own_write"); err != nil {
			return err
		}
	}
}

func blobOrNull(b []byte) any {
	if b == nil {
		return nil
	}
	return b
}

// plateSpots holds the layer of plates against their texts.
func (c *integrity) plateSpots(ctx context.Context) error {
	found := 0
	return each(ctx, c.view, "SELECT id, doc, geom FROM plates WHERE placed = 1", nil, func(rows *sql.Rows) error {
		var id int64
		var doc, geom []byte
		if err := rows.Scan(&id, &doc, &geom); err != nil || found >= mostFaults {
			return err
		}
		var p records.Plate
		if p.ParsePlate(doc); !bytes.Equal(plateSpot(&p), geom) {
			found++
			c.add("plates", fmt.Sprintf("plate %d does not stand in the layer where it was seen last", id), "write the plate again: change anything in it and save")
		}
		return nil
	})
}
