package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"path/filepath"
	"sync"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

// While somebody writes wells by twos, a copy holds whole twos alone.
func TestCopyIsOneState(t *testing.T) {
	s, _ := newStore(t)
	put(t, s, at(1, 1), at(2, 2))
	ctx, stop := context.WithCancel(t.Context())
	var writer sync.WaitGroup
	writer.Add(1)
	go func() {
		defer writer.Done()
		for i := 0; ctx.Err() == nil; i++ {
			err := s.Update(context.WithoutCancel(ctx), someone, func(tx records.StoreTx) error {
				for range 2 {
					if err := tx.PutWell(ctx, &records.Well{Number: fmt.Sprint(i)}, ""); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil && ctx.Err() == nil {
				t.Error(err)
			}
		}
	}()
	for i := range 6 {
		path := filepath.Join(t.TempDir(), "copy.db")
		o := records.CopyOptions{}
		if i%2 == 1 {
			o.Wash = func(*records.Well) {}
		}
		c, err := s.CopyTo(t.Context(), path, o)
		if err != nil {
			t.Fatal(err)
		}
		back := open(t, path)
		faults, err := back.CheckIntegrity(t.Context())
		if err != nil || len(faults) > 0 {
			t.Errorf("copy %d: %v %v", i, faults, err)
		}
		view(t, back, func(ctx context.Context, v records.StoreView) error {
			n, err := v.CountWells(ctx)
			if n%2 != 0 || n != c.Wells {
				t.Errorf("copy %d holds %d wells and says %d", i, n, c.Wells)
			}
			return err
		})
	}
	stop()
	writer.Wait()
}

// The spatial indexes of a file of layers stay right under plain SQL, by a
// program that knows nothing of them.
func TestLayersIndexFollowsPlainSQL(t *testing.T) {
	path := filepath.Join(t.TempDir(), "layers.sqlite")
	g, err := sqlite.NewGISFile(path)
	if err != nil {
		t.Fatal(err)
	}
	column := []records.LayerColumn{{Name: "name", Type: "text", Title: "Name"}}
	for name, shape := range map[string]records.LayerShape{"spots": records.ShapePoint, "heights": records.ShapePointZ, "lines": records.ShapeLineZ, "plain": records.ShapeNone} {
		if err := g.Layer(records.LayerForm{Name: name, Title: name, Shape: shape, Columns: column}); err != nil {
			t.Fatal(err)
		}
	}
	line := []records.Vertex{{Lon: -70.25, Lat: 44.5, Height: 100}, {Lon: -70.5, Lat: 44.75, Height: -3.5}}
	for layer, shape := range map[string][]records.Vertex{"spots": line[:1], "heights": line[:1], "lines": line, "plain": nil} {
		for range 3 {
			if err := g.Row(layer, shape, []any{layer}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := g.Row("lines", nil, []any{nil}); err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]error{
		"one vertex":  g.Row("lines", line[:1], []any{"x"}),
		"two points":  g.Row("spots", line, []any{"x"}),
		"no height":   g.Row("heights", []records.Vertex{{Height: math.NaN()}}, []any{"x"}),
		"off earth":   g.Row("spots", []records.Vertex{{Lon: 181}}, []any{"x"}),
		"no such row": g.Row("spots", nil, nil),
	} {
		if bad == nil {
			t.Errorf("%s is not refused", name)
		}
	}
	if err := g.Close(); err != nil {
		t.Fatal(err)
	}
	other := sqlite.ShapeLiteral(records.ShapeLineZ, records.Vertex{Lon: 10, Lat: -20, Height: 5}, records.Vertex{Lon: 30, Lat: -40, Height: 1}, records.Vertex{Lon: 20, Lat: -30})
	foreign(t, path,
		"UPDATE lines SET geom = "+other+" WHERE id = 1", "INSERT INTO lines(name, geom) VALUES ('new', "+other+")", "DELETE FROM lines WHERE id = 2",
		"UPDATE lines SET geom = NULL WHERE id = 3",
		"UPDATE spots SET geom = "+geom(1, 2)+" WHERE id = 1", "UPDATE spots SET id = 77 WHERE id = 2", "DELETE FROM spots WHERE id = 3")
	for name, q := range map[string]string{
		"a point among lines":   "UPDATE lines SET geom = " + geom(1, 2),
		"a line among points":   "UPDATE spots SET geom = " + other,
		"a flat point":          "UPDATE heights SET geom = " + geom(1, 2),
		"a line without an end": "UPDATE lines SET geom = substr(geom, 1, length(geom) - 1) WHERE id = 1",
	} {
		if err := tryForeign(t, path, q); err == nil {
			t.Errorf("%s is not refused", name)
		}
	}
	db, err := sql.Open("sqlite3", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for query, want := range map[string]string{
		"SELECT group_concat(pkid || ' ' || xmin || ' ' || xmax || ' ' || ymin || ' ' || ymax, '; ') FROM idx_lines_geom": "1 10.0 30.0 -40.0 -20.0; 5 10.0 30.0 -40.0 -20.0",
		"SELECT group_concat(pkid || ' ' || xmin || ' ' || xmax || ' ' || ymin || ' ' || ymax, '; ') FROM idx_spots_geom": "1 1.0 1.0 2.0 2.0; 77 -70.25 -70.25 44.5 44.5",
		// The published point of interop: SRID 4326, 10.5 45.25.
		"SELECT upper(hex(" + sqlite.ShapeLiteral(records.ShapePoint, records.Vertex{Lon: 10.5, Lat: 45.25}) + "))": "0001E610000000000000000025400000000000A0464000000000000025400000000000A046407C0100000000000000000025400000000000A04640FE",
		"PRAGMA integrity_check": "ok",
	} {
		var got string
		if err := db.QueryRow(query).Scan(&got); err != nil || got != want {
			t.Errorf("%s gives %q (%v), want %q", query, got, err, want)
		}
	}
}

// What a copy to give holds of plates, sightings and layers.
func TestWashedCopyHoldsTheRest(t *testing.T) {
	s, _ := newStore(t)
	w := recordstest.Full()
	put(t, s, w)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		p := &records.Plate{Number: "P-1", WellID: w.ID, LinkedBy: "somebody"}
		if err := tx.PutPlate(ctx, p, ""); err != nil {
			return err
		}
		if err := tx.PutLayer(ctx, &records.Layer{Name: "places", Kind: "place", GeoJSON: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point","coordinates":[1,2]},"properties":{"name":"Example Corner"}}]}`)}); err != nil {
			return err
		}
		if err := tx.PutSetting(ctx, "rates", "{}"); err != nil {
			return err
		}
		seen := recordstest.FullSighting()
		seen.By = "Nobody Invented"
		return tx.PutSighting(ctx, seen, "")
	})
	path := filepath.Join(t.TempDir(), "copy.db")
	c, err := s.CopyTo(t.Context(), path, records.CopyOptions{Wash: func(w *records.Well) { w.Owner = records.Person{}; w.Attachments = nil }})
	if err != nil || c.Wells != 1 || c.Plates != 1 || c.Sightings != 1 || c.Layers != 1 {
		t.Fatalf("%+v %v", c, err)
	}
	back := open(t, path)
	view(t, back, func(ctx context.Context, v records.StoreView) error {
		got, err := v.Well(ctx, w.ID)
		if err != nil {
			return err
		}
		if got.UID != w.UID || got.Owner.Name != "" || got.Revision != 1 || len(got.Plates) != 1 || got.Plates[0].Number != "P-1" || len(got.Strata) != len(w.Strata) {
			t.Errorf("the record came over as %+v", got)
		}
		seen, err := v.Sightings(ctx, nil)
		if len(seen) != 1 || seen[0].By != "" || seen[0].Kind == "" {
			t.Errorf("sightings %+v (%v)", seen, err)
		}
		found, err := v.Find(ctx, "Example Corner", 5)
		if len(found) != 1 {
			t.Errorf("the named place is not found: %v (%v)", found, err)
		}
		rates, err := v.Setting(ctx, "rates")
		if rates != "" {
			t.Errorf("the rates are in it: %q", rates)
		}
		return err
	})
}
