package sqlite

import (
	"context"
	"database/sql"
	"strings"

	"tallybook/records"
)

// keyOf is the SQL of what is searched by: the indexes of the migration stand
// on the same expression.
func keyOf(column string) string {
	return "upper(replace(replace(replace(" + column + ", ' ', ''), '-', ''), '.', ''))"
}

// searchKey does to a text what keyOf does to a column. SQLite's upper knows
// the letters A to Z alone.
func searchKey(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ' || r == '-' || r == '.':
			return -1
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		}
		return r
	}, strings.TrimSpace(text))
}

type searched struct{ kind, expression, column string }

var searchedColumns = [...]searched{
	{"well_number", keyOf("w.number"), "w.number"},
	{"permit_number", keyOf("w.permit_number"), "w.permit_number"},
	{"plate", "", ""},
	{"parcel", keyOf("w.parcel"), "w.parcel"},
	{"uid", "w.uid", "w.uid"},
	{"place_name", "", ""},
}

// Find implements records.StoreView. Named places of the office's layers are
// found too, last. Spaces, hyphens, stops and the case of
// letters do not matter, except in a uid, which may be given in either case.
func (v *view) Find(ctx context.Context, text string, limit int) ([]records.Match, error) {
	key := searchKey(text)
	if key == "" || limit <= 0 {
		return nil, nil
	}
	uid := strings.ToLower(strings.TrimSpace(text))
	var out []records.Match
	for _, condition := range []string{"= ?1", "> ?1 AND %s < ?1 || char(1114111)"} {
		for _, c := range searchedColumns {
			if len(out) >= limit {
				return out, nil
			}
			k := key
			if c.kind == "uid" {
				k = uid
			}
			var err error
			switch c.kind {
			case "plate":
				err = v.findPlates(ctx, condition, k, limit, &out)
			case "place_name":
				err = v.findPlaces(ctx, condition, k, limit, &out)
			default:
				err = v.findWells(ctx, c, condition, k, limit, &out)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

func (v *view) findWells(ctx context.Context, c searched, condition, key string, limit int, out *[]records.Match) error {
	where := c.expression + " " + strings.ReplaceAll(condition, "%s", c.expression) + " AND " + c.column + " IS NOT NULL"
	return each(ctx, v, "SELECT w.id, "+c.column+", ifnull(w.number, ''), w.geom FROM wells w WHERE "+where+v.staged+
		" ORDER BY "+c.expression+", w.id LIMIT ?2", []any{key, limit - len(*out)}, func(rows *sql.Rows) error {
		m := records.Match{Kind: c.kind}
		var number string
		var geom []byte
		if err := rows.Scan(&m.WellID, &m.Text, &number, &geom); err != nil {
			return err
		}
		if c.kind != "well_number" && number != "" {
			m.Note = "well " + number
		}
		locate(&m, geom)
		*out = append(*out, m)
		return nil
	})
}

// findPlates finds plates by number; one that is not linked to a well lies
// where it was last seen.
func (v *view) findPlates(ctx context.Context, condition, key string, limit int, out *[]records.Match) error {
	expression := keyOf("p.number")
	where := expression + " " + strings.ReplaceAll(condition, "%s", expression) + " AND p.number IS NOT NULL"
	return each(ctx, v, "SELECT "+plateColumns+", ifnull(w.number, ''), w.geom, w.id FROM plates p LEFT JOIN wells w ON w.id = p.well_id"+v.staged+" WHERE "+where+
		" ORDER BY "+expression+", p.id LIMIT ?2", []any{key, limit - len(*out)}, func(rows *sql.Rows) error {
		m, err := v.scanPlateMatch(rows)
		if err != nil {
			return err
		}
		*out = append(*out, m)
		return nil
	})
}

// scanPlateMatch reads a plate as the answer to a search: plateColumns, and the
// number, place and key of the well that it is linked to.
func (v *view) scanPlateMatch(rows *sql.Rows) (records.Match, error) {
	var number string
	var geom []byte
	var well sql.NullInt64
	p, err := v.scanPlate(rows, &number, &geom, &well)
	if err != nil {
		return records.Match{}, err
	}
	m := records.Match{Kind: "plate", Text: p.Number, WellID: well.Int64, PlateID: p.ID}
	switch {
	case !well.Valid:
		m.Note = "not linked to a well"
		for _, s := range p.Seen {
			if s.Located {
				m.Lon, m.Lat, m.Known = s.Lon, s.Lat, true
			}
		}
	case number != "":
		m.Note = "well " + number
	}
	locate(&m, geom)
	return m, nil
}

func (v *view) findPlaces(ctx context.Context, condition, key string, limit int, out *[]records.Match) error {
	expression := keyOf("p.name")
	return each(ctx, v, "SELECT p.name, p.lon, p.lat, l.name FROM places p JOIN layers l ON l.id = p.layer_id WHERE "+
		expression+" "+strings.ReplaceAll(condition, "%s", expression)+" ORDER BY "+expression+", p.rowid LIMIT ?2",
		[]any{key, limit - len(*out)}, func(rows *sql.Rows) error {
			m := records.Match{Kind: "place_name", Known: true}
			err := rows.Scan(&m.Text, &m.Lon, &m.Lat, &m.Note)
			*out = append(*out, m)
			return err
		})
}

// locate gives a match its well's position where it has one.
func locate(m *records.Match, geom []byte) {
	if geom == nil {
		return
	}
	if lon, lat, err := parsePoint(geom); err == nil {
		m.Lon, m.Lat, m.Known = lon, lat, true
	}
}
