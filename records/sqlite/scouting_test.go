package sqlite_test

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/pressly/goose/v3"

	"tallybook/migrations"
	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

// fresh opens an empty store for the checks that every store has to pass.
func fresh(t *testing.T) records.Store {
	s, _ := newStore(t)
	return s
}

func TestSightingsConform(t *testing.T)  { recordstest.ConformSightings(t, fresh) }
func TestSettingsConform(t *testing.T)   { recordstest.ConformSettings(t, fresh) }
func TestIntakesConform(t *testing.T)    { recordstest.ConformIntakes(t, fresh) }
func TestReviewsConform(t *testing.T)    { recordstest.ConformReviews(t, fresh) }
func TestForecastsConform(t *testing.T)  { recordstest.ConformForecasts(t, fresh) }
func TestJobsConform(t *testing.T)       { recordstest.ConformJobs(t, fresh) }
func TestPlateDeskConforms(t *testing.T) { recordstest.ConformPlateDesk(t, fresh) }

// seen is a file with two sightings, a job and a forecast that nobody has open.
func seen(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "seen.sqlite")
	s, err := sqlite.Open(t.Context(), options(path))
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, invented(1), invented(2))
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.PutSighting(ctx, recordstest.FullSighting(), ""); err != nil {
			return err
		}
		pit := &records.Sighting{Kind: records.SawNoRefusal, Located: true, Lon: -72, Lat: 44, Depth: recordstest.Feet[records.Depth]("8"), By: "Invented Neighbour"}
		return errors.Join(tx.PutSighting(ctx, pit, ""), tx.PutJob(ctx, recordstest.FullJob(), ""), tx.KeepForecast(ctx, recordstest.FullForecast()))
	})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// The layer says what estimates read and nothing of people; other programs may
// read it and not write it.
func TestLayerOfSightings(t *testing.T) {
	path := seen(t)
	s := open(t, path)
	ex(t, s, "SELECT count(*) FROM sightings WHERE instr(quote(note) || quote(kind) || quote(seen_on), 'Invented') > 0", int64(0))
	ex(t, s, "SELECT group_concat(kind || ' ' || depth_to_bedrock_m || ' ' || depth_to_bedrock_qualifier, ', ') FROM sightings ORDER BY id",
		"refusal 2.4384 about, no_refusal 2.4384 greater_than")
	ex(t, s, "SELECT group_concat(hex(geom)) FROM sightings WHERE id = 2", strings.Trim(geom(-72, 44), "x'"))
	for _, query := range []string{
		"INSERT INTO sightings(uid, revision, changed_commit, kind, geom) VALUES ('x', 1, 1, 'ledge', " + geom(1, 2) + ")",
		"UPDATE sightings SET kind = 'ledge'", "DELETE FROM sightings",
	} {
		if err := tryForeign(t, path, query); err == nil || !strings.Contains(err.Error(), "in the program") {
			t.Errorf("%.30s by another program: %v", query, err)
		}
	}
}

// A GIS that makes an index of the layer leaves triggers that need its own
// functions: the next write takes them out and goes on.
func TestSightingsAfterAForeignIndex(t *testing.T) {
	path := seen(t)
	foreign(t, path,
		"CREATE VIRTUAL TABLE idx_sightings_geom USING rtree(pkid, xmin, xmax, ymin, ymax)",
		"UPDATE geometry_columns SET spatial_index_enabled = 1 WHERE f_table_name = 'sightings'",
		"CREATE TRIGGER gii_sightings_geom AFTER INSERT ON sightings BEGIN SELECT RTreeAlign('idx_sightings_geom', NEW.id, NEW.geom); END",
		"CREATE TRIGGER ggi_sightings_geom BEFORE INSERT ON sightings BEGIN SELECT GeometryConstraints(NEW.geom, 'POINT', 4326); END",
		"INSERT OR REPLACE INTO geometry_columns_statistics(f_table_name, f_geometry_column, last_verified, row_count) VALUES ('sightings', 'geom', '2026-01-01', 2)")
	s := open(t, path)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutSighting(ctx, &records.Sighting{Kind: records.SawLedge, Located: true, Lon: -72, Lat: 44}, "")
	})
	ex(t, s, "SELECT count(*) FROM sightings", int64(3))
	ex(t, s, "SELECT count(*) FROM sqlite_schema WHERE tbl_name = 'sightings' AND type = 'trigger'", int64(3))
	ex(t, s, "SELECT count(*) FROM sqlite_schema WHERE name LIKE 'idx_sightings%'", int64(0))
	ex(t, s, "SELECT spatial_index_enabled FROM geometry_columns WHERE f_table_name = 'sightings'", int64(0))
	ex(t, s, "SELECT row_count || ' ' || extent_min_x || ' ' || extent_min_y || ' ' || extent_max_x || ' ' || extent_max_y FROM geometry_columns_statistics WHERE f_table_name = 'sightings'", "3 -72.5125 44.0 -72.0 44.2575")
	ex(t, s, "PRAGMA integrity_check", "ok")
}

func TestIntegrityOfScouting(t *testing.T) {
	path := seen(t)
	faults := func() (out []string) {
		t.Helper()
		s := open(t, path)
		fs, err := s.CheckIntegrity(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range fs {
			out = append(out, f.String())
		}
		return out
	}
	if got := faults(); len(got) > 0 {
		t.Fatalf("a sound file has faults: %v", got)
	}
	// Only somebody who goes behind the triggers can do this.
	foreign(t, path, "INSERT INTO own_write VALUES (1)",
		"UPDATE sightings SET depth_to_bedrock_m = 77 WHERE id = 1", "DELETE FROM sighting_docs WHERE id = 2",
		"UPDATE jobs SET stage_no = 0", "INSERT INTO forecasts(uid, kept_at, kept_by, lon, lat, data_commit, doc) VALUES ('x', '', '', 0, 0, 0, '{')", "DELETE FROM own_write")
	got := faults()
	if len(got) != 4 || !strings.Contains(got[0], "sighting 2 is in the layer without a text") || !strings.Contains(got[1], "sighting 1: the layer says") || !strings.Contains(got[1], "77") ||
		!strings.Contains(got[2], "job 1: the list says") || !strings.Contains(got[3], "forecast 2 cannot be read") {
		t.Errorf("found %q", got)
	}
}

// oldFile makes a file as the program made it before anything was kept for
// scouting: with the first three migrations.
func oldFile(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "old.sqlite")
	old := fstest.MapFS{}
	for _, name := range []string{"0001_spatial_metadata.sql", "0002_records.sql", "0003_triggers.sql"} {
		text, err := fs.ReadFile(migrations.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		old[name] = &fstest.MapFile{Data: text}
	}
	db, err := sql.Open("sqlite3", "file:"+path+"?_txlock=immediate&_foreign_keys=on")
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	}()
	p, err := goose.NewProvider(goose.DialectSQLite3, db, old, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Up(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, query := range []string{
		"PRAGMA application_id = 0x746c7962",
		"INSERT INTO wells(number, total_depth_m, geom) VALUES ('F-1', 12, " + geom(-72, 44) + ")",
		"INSERT INTO settings(name, value) VALUES ('units', 'us')",
	} {
		if _, err := db.ExecContext(t.Context(), query); err != nil {
			t.Fatalf("%s: %v", query, err)
		}
	}
	return path
}

func TestOldFileIsBroughtUp(t *testing.T) {
	path := oldFile(t)
	s := open(t, path)
	if w := read(t, s, 1); w.Number != "F-1" || w.TotalDepth.Value != 12 {
		t.Errorf("the well has become %+v", w)
	}
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		units, err := v.SettingValue(ctx, "units")
		if units != (records.SettingValue{Name: "units", Value: "us", Revision: 1}) {
			t.Errorf("units %+v", units)
		}
		return err
	})
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutSighting(ctx, recordstest.FullSighting(), ""), tx.PutJob(ctx, recordstest.FullJob(), ""),
			tx.KeepForecast(ctx, recordstest.FullForecast()), tx.PutSetting(ctx, "units", "si"))
	})
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		revs, err := v.SettingRevisions(ctx, "units")
		if len(revs) != 1 || revs[0].Value != "us" {
			t.Errorf("earlier units: %+v", revs)
		}
		return err
	})
	ex(t, s, "SELECT count(*) FROM sightings", int64(1))
	indexInStep(t, s)
	if faults, err := s.CheckIntegrity(t.Context()); err != nil || len(faults) > 0 {
		t.Errorf("integrity: %v %v", faults, err)
	}
}

// Not even the program can change or take out what was kept.
func TestForecastsNeverChange(t *testing.T) {
	s, _ := newStore(t)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.KeepForecast(ctx, recordstest.FullForecast())
	})
	for _, query := range []string{"UPDATE forecasts SET doc = '{}'", "UPDATE forecasts SET data_commit = 99", "DELETE FROM forecasts"} {
		if _, err := s.Writer().ExecContext(t.Context(), query); err == nil {
			t.Errorf("%s is let through", query)
		}
	}
	ex(t, s, "SELECT count(*) FROM forecasts WHERE data_commit = 12", int64(1))
}
