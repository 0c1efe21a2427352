package sqlite

import (
	"context"
	"database/sql"
	"math"
	"slices"
	"strings"

	"tallybook/records"
)

// pageSize is how many records are in hand at a time while streaming.
const pageSize = 256

// EachWell implements records.StoreView. It reads by pages and hands them out
// with no query open, so that fn may read and write. With a box it first
// takes the keys in it, eight bytes each, from the spatial index.
func (v *view) EachWell(ctx context.Context, in *records.Bounds, fn func(*records.Well) error) error {
	if in != nil {
		ids, err := v.idsWithin(ctx, *in)
		if err != nil {
			return err
		}
		return v.pagesOf(ctx, ids, fn)
	}
	for last := int64(math.MinInt64); ; {
		page, err := v.page(ctx, "w.id > ?", []any{last}, fn)
		if err != nil {
			return err
		}
		if len(page) < pageSize {
			return nil
		}
		last = page[len(page)-1].id
	}
}

// pagesOf hands out the records with these keys.
func (v *view) pagesOf(ctx context.Context, ids []int64, fn func(*records.Well) error) error {
	for page := range slices.Chunk(ids, pageSize) {
		marks := strings.Repeat(",?", len(page))[1:]
		args := make([]any, len(page))
		for i, id := range page {
			args[i] = id
		}
		if _, err := v.page(ctx, "w.id IN ("+marks+")", args, fn); err != nil {
			return err
		}
	}
	return nil
}

// EachWellWhere implements records.FilterView. Like EachWell with a box it
// takes the keys first.
func (v *view) EachWellWhere(ctx context.Context, in *records.Bounds, where records.Condition, fn func(*records.Well) error) error {
	if in != nil {
		where = records.And(records.CondBox{Box: *in}, where)
	}
	if where == nil {
		return v.EachWell(ctx, nil, fn)
	}
	c, err := records.FeatureCollectionNamed(records.FeaturesWells)
	if err != nil {
		return err
	}
	src := featureSources[c.Name]
	cond, err := v.compile(ctx, c, src, where)
	if err != nil {
		return err
	}
	defer cond.release()
	var ids []int64
	err = each(ctx, v, "SELECT w.id FROM "+src.from+" WHERE "+v.always(src)+cond.sql+" ORDER BY w.id", cond.args, func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		ids = append(ids, id)
		return err
	})
	if err != nil {
		return err
	}
	return v.pagesOf(ctx, ids, fn)
}

// page hands out the records that fulfil a condition, at most pageSize.
func (v *view) page(ctx context.Context, condition string, args []any, fn func(*records.Well) error) ([]storedWell, error) {
	stored := make([]storedWell, 0, pageSize)
	query := wellSelect + condition + v.staged + " ORDER BY w.id LIMIT ?"
	err := each(ctx, v, query, append(slices.Clip(args), pageSize), func(rows *sql.Rows) error {
		s, err := scanWell(rows)
		stored = append(stored, s)
		return err
	})
	if err != nil || len(stored) == 0 {
		return nil, err
	}
	plates, err := v.platesOf(ctx, stored[0].id, stored[len(stored)-1].id)
	if err != nil {
		return nil, err
	}
	for _, s := range stored {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		w, err := v.unpack(ctx, s)
		if err != nil {
			return nil, err
		}
		w.Plates = plates[s.id]
		if err := fn(w); err != nil {
			return nil, err
		}
	}
	return stored, nil
}

// idsWithin gives the keys of the wells in a box, its border included, in
// order. The index keeps boxes of 32-bit numbers, rounded outwards, so each
// candidate's position is looked at again.
func (v *view) idsWithin(ctx context.Context, in records.Bounds) ([]int64, error) {
	boxes := []records.Bounds{in}
	if in.West > in.East { // across the antimeridian: two boxes
		boxes = []records.Bounds{
			{West: in.West, South: in.South, East: 180, North: in.North},
			{West: -180, South: in.South, East: in.East, North: in.North},
		}
	}
	var ids []int64
	for _, b := range boxes {
		err := each(ctx, v, `SELECT w.id, w.geom FROM idx_wells_geom i JOIN wells w ON w.id = i.pkid
			WHERE i.xmax >= ? AND i.xmin <= ? AND i.ymax >= ? AND i.ymin <= ?`+v.staged,
			[]any{b.West, b.East, b.South, b.North}, func(rows *sql.Rows) error {
				var id int64
				var geom sql.RawBytes
				if err := rows.Scan(&id, &geom); err != nil {
					return err
				}
				lon, lat, err := parsePoint(geom)
				if err != nil {
					return nil // put there by another program; it lies nowhere
				}
				if lon >= b.West && lon <= b.East && lat >= b.South && lat <= b.North {
					ids = append(ids, id)
				}
				return nil
			})
		if err != nil {
			return nil, err
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids), nil // 180 and -180 may both hold
}
