-- What is kept for scouting: sightings, forecasts, jobs, and every earlier
-- value of the office's settings.
--
-- As with wells, a doc is the truth and what stands in columns is written from
-- it in the same transaction; people's names stand in docs alone.
-- +goose Up

-- A layer for maps. What it says of bedrock and yield is what estimates read.
-- It is edited in the program alone: there is no index of it to keep in step.
CREATE TABLE sightings(
  id                 INTEGER PRIMARY KEY AUTOINCREMENT,
  uid                TEXT NOT NULL UNIQUE,
  revision           INTEGER NOT NULL,
  changed_commit     INTEGER NOT NULL,
  kind               TEXT NOT NULL,
  seen_on            TEXT, -- 2004, 2004-06 or 2004-06-15, as far as known
  depth_m            REAL, -- how deep one looked
  depth_to_bedrock_m REAL,
  depth_to_bedrock_qualifier TEXT,
  yield_lps          REAL,
  yield_qualifier    TEXT,
  accuracy_m         REAL, -- of the position
  note               TEXT,
  geom               POINT NOT NULL,
  CONSTRAINT sightings_geom_blob CHECK (
    typeof(geom) = 'blob' AND length(geom) = 60 AND substr(geom, 1, 6) = x'0001E6100000'
    AND substr(geom, 39, 5) = x'7C01000000' AND substr(geom, 60) = x'FE'
    AND substr(geom, 7, 16) = substr(geom, 44, 16) AND substr(geom, 23, 16) = substr(geom, 44, 16))
);
CREATE INDEX sightings_changed_commit ON sightings(changed_commit);
INSERT INTO geometry_columns VALUES('sightings', 'geom', 1, 2, 4326, 0);
INSERT INTO geometry_columns_auth VALUES('sightings', 'geom', 1, 0);
INSERT INTO geometry_columns_time(f_table_name, f_geometry_column) VALUES('sightings', 'geom');

CREATE TABLE sighting_docs(
  id  INTEGER PRIMARY KEY,
  doc TEXT NOT NULL
);

-- Earlier images, and the last one of what was taken out.
CREATE TABLE sighting_revisions(
  id       INTEGER NOT NULL,
  revision INTEGER NOT NULL, -- of the image
  until    TEXT NOT NULL,
  by       TEXT NOT NULL,
  why      TEXT,
  image    TEXT NOT NULL,
  PRIMARY KEY (id, revision)
);

CREATE TABLE sightings_removed(
  id             INTEGER PRIMARY KEY,
  uid            TEXT NOT NULL,
  removed_commit INTEGER NOT NULL
);
CREATE INDEX sightings_removed_commit ON sightings_removed(removed_commit);

-- +goose StatementBegin
CREATE TRIGGER sightings_outside_insert BEFORE INSERT ON sightings WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'sightings are entered in the program');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sightings_outside_update BEFORE UPDATE ON sightings WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'sightings are edited in the program');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sightings_outside_delete BEFORE DELETE ON sightings WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'sightings are taken out in the program');
END;
-- +goose StatementEnd

-- A forecast as it was kept; nothing of it ever changes. What was decided of
-- it afterwards stands in forecast_links.
CREATE TABLE forecasts(
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  uid         TEXT NOT NULL UNIQUE,
  kept_at     TEXT NOT NULL,
  kept_by     TEXT NOT NULL,
  label       TEXT,
  lon         REAL NOT NULL, -- degrees, WGS 84
  lat         REAL NOT NULL,
  data_commit INTEGER NOT NULL, -- the state of the records that it was made from
  job_uid     TEXT,
  doc         TEXT NOT NULL
);
CREATE INDEX forecasts_job ON forecasts(job_uid) WHERE job_uid IS NOT NULL;
-- +goose StatementBegin
CREATE TRIGGER forecasts_never_change BEFORE UPDATE ON forecasts BEGIN
  SELECT raise(ABORT, 'a kept forecast never changes');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER forecasts_stay BEFORE DELETE ON forecasts BEGIN
  SELECT raise(ABORT, 'a kept forecast stays; it can be withdrawn');
END;
-- +goose StatementEnd

-- Each row is the whole state from then on: the well that shows the outcome,
-- and whether the forecast was withdrawn. The latest row counts; to undo one
-- is to write the row before it again. Wells are named by uid, which they keep
-- when they are taken out and brought back.
CREATE TABLE forecast_links(
  forecast_id INTEGER NOT NULL REFERENCES forecasts(id),
  revision    INTEGER NOT NULL, -- from 1; as kept it is at 0
  at          TEXT NOT NULL,
  by          TEXT NOT NULL,
  why         TEXT,
  well_uid    TEXT,
  how         TEXT NOT NULL, -- by_hand, proposed; '' where no well is linked
  withdrawn   INTEGER NOT NULL,
  PRIMARY KEY (forecast_id, revision)
);
CREATE INDEX forecast_links_well ON forecast_links(well_uid) WHERE well_uid IS NOT NULL;

-- stage_no and due put jobs in the order in which they are listed.
CREATE TABLE jobs(
  id             INTEGER PRIMARY KEY AUTOINCREMENT,
  uid            TEXT NOT NULL UNIQUE,
  revision       INTEGER NOT NULL,
  changed_commit INTEGER NOT NULL,
  stage          TEXT NOT NULL,
  stage_no       INTEGER NOT NULL,
  due            TEXT, -- the earliest date by which something is still to be done
  label          TEXT,
  well_uid       TEXT,
  forecast_uid   TEXT,
  doc            TEXT NOT NULL
);
CREATE INDEX jobs_order ON jobs(stage_no, due);

CREATE TABLE job_revisions(
  id       INTEGER NOT NULL,
  revision INTEGER NOT NULL, -- of the image
  until    TEXT NOT NULL,
  by       TEXT NOT NULL,
  why      TEXT,
  image    TEXT NOT NULL,
  PRIMARY KEY (id, revision)
);

-- Settings get a revision and a writer; what was set before this program kept
-- count is at revision 1.
ALTER TABLE settings ADD COLUMN revision INTEGER NOT NULL DEFAULT 1;
ALTER TABLE settings ADD COLUMN at TEXT NOT NULL DEFAULT '';
ALTER TABLE settings ADD COLUMN by TEXT NOT NULL DEFAULT '';

CREATE TABLE setting_revisions(
  name     TEXT NOT NULL,
  revision INTEGER NOT NULL, -- of the value
  at       TEXT NOT NULL,    -- when and by whom it was set
  by       TEXT NOT NULL,
  until    TEXT NOT NULL,    -- when, by whom and why it was replaced
  until_by TEXT NOT NULL,
  why      TEXT,
  value    TEXT NOT NULL,
  PRIMARY KEY (name, revision)
) WITHOUT ROWID;
