package sqlite

import (
	"context"
	"database/sql"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// Layers implements records.StoreView.
func (v *view) Layers(ctx context.Context) ([]records.Layer, error) {
	var out []records.Layer
	err := each(ctx, v, "SELECT id, name, kind, geojson FROM layers ORDER BY id", nil, func(rows *sql.Rows) error {
		var l records.Layer
		err := rows.Scan(&l.ID, &l.Name, &l.Kind, &l.GeoJSON)
		out = append(out, l)
		return err
	})
	return out, err
}

// PutLayer implements records.StoreTx. A layer with an ID replaces the one
// that has it.
func (t *tx) PutLayer(ctx context.Context, l *records.Layer) error {
	if !jsontext.Value(l.GeoJSON).IsValid() {
		return &records.Error{Code: records.Invalid, Field: "geojson", Message: "the layer is not JSON"}
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if l.ID == 0 {
		result, err := t.write(ctx, "INSERT INTO layers(name, kind, geojson) VALUES (?, ?, ?)", l.Name, l.Kind, l.GeoJSON)
		if err != nil {
			return err
		}
		l.ID, err = result.LastInsertId()
		return t.fail(translate(err, "new layer"))
	}
	result, err := t.write(ctx, "UPDATE layers SET name = ?, kind = ?, geojson = ? WHERE id = ?", l.Name, l.Kind, l.GeoJSON, l.ID)
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	if err == nil && n == 0 {
		return records.Errorf(records.NotFound, "there is no layer %d", l.ID)
	}
	return t.fail(translate(err, "put layer"))
}
