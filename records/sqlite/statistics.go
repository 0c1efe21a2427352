package sqlite

import (
	"context"
	"database/sql"
	"math"
)

// GIS programs take the number of features and the extent of the layer from a
// row of statistics, which somebody has to keep right. The number is that of
// all wells, also those without a position: GDAL believes it.

// extentChange is what a transaction did to the layer's extent.
type extentChange struct {
	count       int64 // more, or fewer
	west, south float64
	east, north float64
	filled      bool
	gone        [][2]float64 // positions that are no longer there
	shrunk      bool         // only a look at the whole index can tell
}

// goneAtMost is how many positions are looked at one by one.
const goneAtMost = 1000

func (e *extentChange) remove(geom []byte) {
	lon, lat, err := parsePoint(geom)
	if err != nil || len(e.gone) == goneAtMost {
		e.shrunk = true
		return
	}
	e.gone = append(e.gone, [2]float64{lon, lat})
}

func (e *extentChange) add(located bool, lon, lat float64) {
	if !located {
		return
	}
	if !e.filled {
		e.filled = true
		e.west, e.east, e.south, e.north = lon, lon, lat, lat
	}
	e.west, e.east = math.Min(e.west, lon), math.Max(e.east, lon)
	e.south, e.north = math.Min(e.south, lat), math.Max(e.north, lat)
}

// writeStatistics refreshes the layer's statistics at the end of a
// transaction.
func (t *tx) writeStatistics(ctx context.Context) error {
	e := &t.extent
	if len(e.gone) > 0 && !e.shrunk {
		var west, south, east, north sql.NullFloat64
		if _, err := t.one(ctx, `SELECT extent_min_x, extent_min_y, extent_max_x, extent_max_y FROM geometry_columns_statistics
			WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'`, nil, &west, &south, &east, &north); err != nil {
			return err
		}
		// The index's boxes are rounded outwards to 32 bits: what lies that
		// near to the border may be the border.
		const near = 1e-4
		for _, p := range e.gone {
			if !(p[0] > west.Float64+near && p[0] < east.Float64-near && p[1] > south.Float64+near && p[1] < north.Float64-near) {
				e.shrunk = true
				break
			}
		}
	}
	switch {
	case e.shrunk:
		return t.refreshStatistics(ctx)
	case e.filled:
		_, err := t.write(ctx, `UPDATE geometry_columns_statistics SET last_verified = strftime('%Y-%m-%dT%H:%M:%fZ', 'now'),
			row_count = ifnull(row_count, 0) + ?1,
			extent_min_x = min(ifnull(extent_min_x, ?2), ?2), extent_min_y = min(ifnull(extent_min_y, ?3), ?3),
			extent_max_x = max(ifnull(extent_max_x, ?4), ?4), extent_max_y = max(ifnull(extent_max_y, ?5), ?5)
			WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'`, e.count, e.west, e.south, e.east, e.north)
		return err
	case e.count != 0:
		_, err := t.write(ctx, `UPDATE geometry_columns_statistics SET last_verified = strftime('%Y-%m-%dT%H:%M:%fZ', 'now'),
			row_count = ifnull(row_count, 0) + ? WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'`, e.count)
		return err
	}
	return nil
}

func (t *tx) refreshStatistics(ctx context.Context) error {
	_, err := t.write(ctx, `INSERT OR REPLACE INTO geometry_columns_statistics
		SELECT 'wells', 'geom', strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), (SELECT count(*) FROM wells), min(xmin), min(ymin), max(xmax), max(ymax) FROM idx_wells_geom`)
	return err
}

// checkStatistics refreshes the statistics when another program's writes have
// left them behind: what it added or changed is noted in outside, what it
// took out is missing.
func (t *tx) checkStatistics(ctx context.Context) error {
	var stated, there int64
	var west sql.NullFloat64
	var outside, placed bool
	if _, err := t.one(ctx, `SELECT
		ifnull((SELECT row_count FROM geometry_columns_statistics WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'), -1),
		(SELECT extent_min_x FROM geometry_columns_statistics WHERE f_table_name = 'wells' AND f_geometry_column = 'geom'),
		(SELECT count(*) FROM wells),
		EXISTS (SELECT 1 FROM outside), EXISTS (SELECT 1 FROM idx_wells_geom_rowid)`, nil, &stated, &west, &there, &outside, &placed); err != nil {
		return err
	}
	if stated == there && west.Valid == placed && !outside {
		return nil
	}
	return t.refreshStatistics(ctx)
}
