package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"math"

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

// place is a named place of a layer, at the middle of its geometry.
type place struct {
	name     string
	lon, lat float64
}

// placesOf finds the features that have a name. A layer of another kind has
// none to search for.
func placesOf(l *records.Layer) ([]place, error) {
	if l.Kind != "place" {
		return nil, nil
	}
	var layer struct {
		Features []struct {
			Geometry struct {
				Coordinates any `json:"coordinates"`
			} `json:"geometry"`
			Properties struct {
				Name any `json:"name"`
			} `json:"properties"`
		} `json:"features"`
	}
	if err := json.Unmarshal(l.GeoJSON, &layer); err != nil {
		return nil, &records.Error{Code: records.Invalid, Field: "geojson", Message: "the layer is not a GeoJSON FeatureCollection", Err: err}
	}
	var out []place
	for _, f := range layer.Features {
		name, _ := f.Properties.Name.(string)
		box := records.Bounds{West: math.Inf(1), South: math.Inf(1), East: math.Inf(-1), North: math.Inf(-1)}
		widen(&box, f.Geometry.Coordinates)
		if lon, lat := (box.West+box.East)/2, (box.South+box.North)/2; name != "" && onEarth(lon, lat) {
			out = append(out, place{name, lon, lat})
		}
	}
	return out, nil
}

// widen makes a box hold every position in GeoJSON coordinates, however deep
// they are nested.
func widen(box *records.Bounds, coordinates any) {
	list, _ := coordinates.([]any)
	if len(list) >= 2 {
		lon, okLon := list[0].(float64)
		lat, okLat := list[1].(float64)
		if okLon && okLat {
			box.West, box.East = min(box.West, lon), max(box.East, lon)
			box.South, box.North = min(box.South, lat), max(box.North, lat)
			return
		}
	}
	for _, inner := range list {
		widen(box, inner)
	}
}

// PutLayer implements records.StoreTx. A layer with an ID replaces the one
// that has it. Places are found by the property "name" of their features.
func (t *tx) PutLayer(ctx context.Context, l *records.Layer) error {
	if !jsontext.Value(l.GeoJSON).IsValid() {
		return &records.Error{Code: records.Invalid, Field: "geojson", Message: "the layer is not JSON"}
	}
	places, err := placesOf(l)
	if err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if l.ID == 0 {
		result, err := t.write(ctx, "INSERT INTO layers(name, kind, geojson) VALUES (?, ?, ?)", l.Name, l.Kind, l.GeoJSON)
		if err != nil {
			return err
		}
		if l.ID, err = result.LastInsertId(); err != nil {
			return t.fail(translate(err, "new layer"))
		}
		return t.putPlaces(ctx, l.ID, places)
	}
	result, err := t.write(ctx, "UPDATE layers SET name = ?, kind = ?, geojson = ? WHERE id = ?", l.Name, l.Kind, l.GeoJSON, l.ID)
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	switch {
	case err != nil:
		return t.fail(translate(err, "put layer"))
	case n == 0:
		return records.Errorf(records.NotFound, "there is no layer %d", l.ID)
	}
	return t.putPlaces(ctx, l.ID, places)
}

func (t *tx) putPlaces(ctx context.Context, layer int64, places []place) error {
	if _, err := t.write(ctx, "DELETE FROM places WHERE layer_id = ?", layer); err != nil {
		return err
	}
	for _, p := range places {
		if _, err := t.write(ctx, "INSERT INTO places(layer_id, name, lon, lat) VALUES (?, ?, ?, ?)", layer, p.name, p.lon, p.lat); err != nil {
			return err
		}
	}
	return nil
}
