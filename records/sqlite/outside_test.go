package sqlite_test

import (
	"context"
	"database/sql"
	"net/url"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// foreign writes to the file as a program does that knows nothing of this
// one: on its own connection with SQLite's own settings.
func foreign(t testing.TB, path string, statements ...string) {
	t.Helper()
	if err := tryForeign(t, path, statements...); err != nil {
		t.Fatal(err)
	}
}

func tryForeign(t testing.TB, path string, statements ...string) error {
	t.Helper()
	u := url.URL{Path: path}
	db, err := sql.Open("sqlite3", "file:"+u.EscapedPath()+"?_busy_timeout=5000")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range statements {
		if _, err := db.ExecContext(t.Context(), q); err != nil {
			return err
		}
	}
	return nil
}

// geom is the BLOB literal of a point.
func geom(lon, lat float64) string { return sqlite.PointLiteral(lon, lat) }

// indexInStep compares the spatial index with the geometries.
func indexInStep(t *testing.T, s *sqlite.Store) {
	t.Helper()
	type box struct{ West, East, South, North float32 }
	want := map[int64]box{}
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachWell(ctx, nil, func(w *records.Well) error {
			if w.Place.Located {
				x, y := float32(w.Place.Lon), float32(w.Place.Lat)
				want[w.ID] = box{x, x, y, y}
			}
			return nil
		})
	})
	got := map[int64]box{}
	rows, err := s.Writer().QueryContext(t.Context(), "SELECT pkid, xmin, xmax, ymin, ymax FROM idx_wells_geom")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var b box
		if err := rows.Scan(&id, &b.West, &b.East, &b.South, &b.North); err != nil {
			t.Fatal(err)
		}
		got[id] = b
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	// SQLite rounds the box outwards to 32 bits: an ulp of 180 is 1.5e-5.
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 3.1e-5)); diff != "" {
		t.Errorf("spatial index (-geometries +index):\n%s", diff)
	}
}

func TestSpatialIndexFollowsOwnWrites(t *testing.T) {
	s, _ := newStore(t)
	a, b, c := at(1, 2), at(-179.5, -89), &records.Well{}
	put(t, s, a, b, c)
	indexInStep(t, s)
	a.Place.Lon = 170
	c.Place = records.Place{Located: true, Lon: 5, Lat: 5}
	b.Place = records.Place{}
	put(t, s, a, b, c)
	indexInStep(t, s)
	extent(t, s, 3, 5, 2, 170, 5)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, a.ID, a.Revision, "") })
	indexInStep(t, s)
	extent(t, s, 2, 5, 5, 5, 5)
}

// extent compares the layer's statistics, which GIS programs go by.
func extent(t *testing.T, s *sqlite.Store, count int64, west, south, east, north float64) {
	t.Helper()
	var n int64
	var got [4]float64
	scan(t, s, "SELECT row_count, extent_min_x, extent_min_y, extent_max_x, extent_max_y FROM geometry_columns_statistics WHERE f_table_name = 'wells'",
		&n, &got[0], &got[1], &got[2], &got[3])
	if want := [4]float64{west, south, east, north}; n != count || !cmp.Equal(want, got, cmpopts.EquateApprox(0, 3.1e-5)) {
		t.Errorf("statistics: %d wells in %v, want %d in %v", n, got, count, want)
	}
}

func TestOtherProgramsMayWrite(t *testing.T) {
	s, path := newStore(t)
	w := rich(t)
	put(t, s, w)
	put(t, s, at(1, 1))
	before := read(t, s, w.ID)
	start, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	foreign(t, path,
		"UPDATE wells SET geom = "+geom(-70.25, 44.125)+", status = 'unused', total_depth_m = 70.5, yield_lps = NULL, static_level_m = 3, static_level_qualifier = 'less_than', completed = '1988' WHERE id = 1",
		"INSERT INTO wells(number, total_depth_m, geom) VALUES ('F-1', 12, "+geom(-0.1, -0.2)+")",
		"DELETE FROM wells WHERE id = 2")
	after, err := s.Changes(t.Context())
	if err != nil || after != start+3 {
		t.Errorf("commit %d (%v) after three writes at %d", after, err, start)
	}
	want := *before
	want.Revision = 2
	want.Place.Lon, want.Place.Lat, want.Place.LonText, want.Place.LatText = -70.25, 44.125, "", ""
	want.Status, want.Completed = "unused", records.Date{Year: 1988}
	want.TotalDepth, want.Yield = records.Of(records.Depth(70.5)), records.Amount[records.Flow]{}
	want.StaticLevel = records.Under(records.Depth(3))
	check := func(when string) {
		t.Helper()
		if diff := cmp.Diff(&want, read(t, s, 1), cmpopts.EquateEmpty(), ignoreGiven); diff != "" {
			t.Errorf("%s, the changed record (-want +got):\n%s", when, diff)
		}
		got := read(t, s, 3)
		if got.Number != "F-1" || got.TotalDepth.Value != 12 || got.Place.Lon != -0.1 || got.Place.Lat != -0.2 || len(got.UID) != 36 || got.Revision != 1 {
			t.Errorf("%s, the added record: %+v", when, got)
		}
		indexInStep(t, s)
		agree(t, s, when)
		view(t, s, func(ctx context.Context, v records.StoreView) error {
			rs, err := v.Revisions(ctx, 1)
			if err != nil || len(rs) != 1 || rs[0].By != "outside" {
				t.Fatalf("%s, revisions: %+v (%v)", when, rs, err)
			}
			if diff := cmp.Diff(before, rs[0].Image, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("%s, the earlier image (-want +got):\n%s", when, diff)
			}
			rs, err = v.Revisions(ctx, 2)
			if len(rs) != 1 {
				t.Errorf("%s, the removed record has %d images", when, len(rs))
			}
			_, gone, err2 := v.DigestsSince(ctx, start)
			if !cmp.Equal(gone, []int64{2}) || err2 != nil {
				t.Errorf("%s, gone: %v (%v)", when, gone, err2)
			}
			return err
		})
	}
	check("before the program writes")
	ex(t, s, "SELECT count(*) FROM outside", int64(2))

	// The next write takes it in; nothing more changes by that.
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSetting(ctx, "a", "b") })
	ex(t, s, "SELECT count(*) FROM outside", int64(0))
	check("after")
	ex(t, s, "SELECT json_extract(doc, '$.properties.status') FROM well_records WHERE well_id = 1", "unused")

	// Who read it before the change may not write over it.
	err = s.Update(t.Context(), someone, func(tx records.StoreTx) error { return tx.PutWell(t.Context(), before, "") })
	if records.CodeOf(err) != records.Conflict {
		t.Errorf("writing over another program's change: %v", err)
	}
}

var ignoreGiven = cmpopts.IgnoreTypes(records.Given{})

func TestOtherProgramsCannotBreakRecords(t *testing.T) {
	s, path := newStore(t)
	w := rich(t)
	put(t, s, w)
	for name, statement := range map[string]string{
		"another SRID":        "UPDATE wells SET geom = x'0001E7100000000000000000254000000000000A046400000000000025400000000000A046407C0100000000000000000025400000000000A04640FE'",
		"not a geometry":      "UPDATE wells SET geom = 'POINT(1 2)'",
		"the key":             "UPDATE wells SET id = 50",
		"the uid":             "UPDATE wells SET uid = 'x'",
		"the document":        "UPDATE well_records SET doc = '{}'",
		"no document":         "DELETE FROM well_records",
		"strata":              "UPDATE strata SET top_m = 1",
		"no strata":           "DELETE FROM strata",
		"batch state unknown": "INSERT INTO batches(uid, source, sha256, started_at, by, state, read, accepted, warned, refused, state_commit) VALUES ('', '', '', '', '', 'x', 0, 0, 0, 0, 0)",
	} {
		if err := tryForeign(t, path, statement); err == nil {
			t.Errorf("%s: not refused", name)
		}
	}
	before := read(t, s, 1)
	// What cannot be used is left out, and the rest is taken.
	foreign(t, path, "UPDATE wells SET total_depth_m = 'deep', completed = 'last year', yield_qualifier = 'some', parcel = 77, geom = "+geom(500, 0)+" WHERE id = 1")
	for _, when := range []string{"read", "taken in"} {
		got := read(t, s, 1)
		want := *before
		want.Revision, want.Place.Parcel = 2, "77"
		if diff := cmp.Diff(&want, got, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", when, diff)
		}
		update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSetting(ctx, "a", "b") })
	}
	indexInStep(t, s)
}

func TestTriggersOfAnotherProgramAreReplaced(t *testing.T) {
	s, path := newStore(t)
	put(t, s, at(1, 1), at(2, 2), at(3, 3))
	break_ := []string{
		"DROP TRIGGER gii_wells_geom", "DROP TRIGGER giu_wells_geom",
		"CREATE TRIGGER gii_wells_geom AFTER INSERT ON wells BEGIN DELETE FROM idx_wells_geom WHERE pkid=NEW.id; SELECT RTreeAlign('idx_wells_geom', NEW.id, NEW.geom); END",
		"CREATE TRIGGER ggi_wells_geom BEFORE INSERT ON wells BEGIN SELECT RAISE(ROLLBACK, 'x') WHERE (SELECT geometry_type FROM geometry_columns WHERE GeometryConstraints(NEW.geom, 1, 4326) <> 1); END",
		"UPDATE geometry_columns SET spatial_index_enabled = 0", "DELETE FROM idx_wells_geom WHERE pkid = 2",
	}
	// While the store is open, which notices that the schema changed.
	foreign(t, path, break_...)
	put(t, s, at(4, 4))
	indexInStep(t, s)
	foreign(t, path, "INSERT INTO wells(geom) VALUES ("+geom(5, 5)+")")
	indexInStep(t, s)
	extentAfterOpening := open(t, path)
	extent(t, extentAfterOpening, 5, 1, 1, 5, 5)
	// While nobody has it open.
	foreign(t, path, break_...)
	again := open(t, path)
	put(t, again, at(6, 6))
	indexInStep(t, again)
	ex(t, again, "SELECT spatial_index_enabled FROM geometry_columns", int64(1))
	extent(t, again, 6, 1, 1, 6, 6)
}

// The position that the triggers decode from the hexadecimal digits of a
// double is the double.
func TestTriggersDecodePositionsExactly(t *testing.T) {
	s, path := newStore(t)
	positions := [][2]float64{{0, 0}, {180, 90}, {-180, -90}, {1e-9, -1e-9}, {1.0 / 3, -2.0 / 3}, {-71.123456789012345, 44.98765432109876}, {0.1, 0.2}, {127.99999999999999, 1}, {5e-324, 0}}
	for _, p := range positions {
		foreign(t, path, "INSERT INTO wells(geom) VALUES ("+geom(p[0], p[1])+")")
		var x, y float64
		scan(t, s, "SELECT x, y FROM "+sqlite.SQLPosition(geom(p[0], p[1])), &x, &y)
		if p[0] == 5e-324 {
			p[0] = 0 // below what is normal: nought, 1e-300 of a micrometre away
		}
		if x != p[0] || y != p[1] {
			t.Errorf("decoded %v as %v, %v", p, x, y)
		}
	}
	indexInStep(t, s)
}
