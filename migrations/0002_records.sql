-- The records. Numbers are in base units (metres, litres per second), which
-- the column names say; a bound or an estimate has its word beside it.
--
-- well_records.doc is the truth: a whole record as a GeoJSON feature. The
-- columns of wells and the rows of strata are written from it in the same
-- transaction, for maps and for SQL. People's names, addresses and telephone
-- numbers stand in doc alone, so that a layer of wells does not show them;
-- but whoever has the file has them.
-- +goose Up
CREATE TABLE commits(
  no     INTEGER PRIMARY KEY AUTOINCREMENT,
  at     TEXT NOT NULL,
  actor_id INTEGER,
  actor  TEXT NOT NULL,
  why    TEXT
);

-- Holds a row only inside a transaction of the program's own: the triggers
-- look here to tell its writes from those of others.
CREATE TABLE own_write(one INTEGER PRIMARY KEY CHECK (one = 1));

CREATE TABLE batches(
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  uid        TEXT NOT NULL UNIQUE,
  source     TEXT NOT NULL,
  sha256     TEXT NOT NULL,
  started_at TEXT NOT NULL,
  by         TEXT NOT NULL,
  state      TEXT NOT NULL CHECK (state IN ('staged', 'published', 'withdrawn')),
  read       INTEGER NOT NULL,
  accepted   INTEGER NOT NULL,
  warned     INTEGER NOT NULL,
  refused    INTEGER NOT NULL,
  state_commit INTEGER NOT NULL -- the commit in which state last changed
);
CREATE INDEX batches_state_commit ON batches(state_commit);

-- The layer of wells. A batch that is staged is hidden by the program, not by
-- the file: its wells stand here from the start, with their batch_id. Keys are never used twice (AUTOINCREMENT), since
-- earlier images and plates refer to them. geom is a SpatiaLite BLOB: point,
-- WGS 84, longitude first.
CREATE TABLE wells(
  id                 INTEGER PRIMARY KEY AUTOINCREMENT,
  uid                TEXT UNIQUE,
  revision           INTEGER NOT NULL DEFAULT 1,
  changed_commit     INTEGER NOT NULL DEFAULT 0,
  number             TEXT,
  permit_number      TEXT,
  status             TEXT,
  purpose            TEXT,
  setting            TEXT,
  rock_unit          TEXT,
  parcel             TEXT,
  completed          TEXT, -- 2004, 2004-06 or 2004-06-15, as far as known
  total_depth_m      REAL,
  total_depth_qualifier TEXT,
  depth_to_bedrock_m REAL, -- as the driller stated it
  depth_to_bedrock_qualifier TEXT,
  yield_lps          REAL,
  yield_qualifier    TEXT,
  static_level_m     REAL, -- below ground; negative for a flowing well
  static_level_qualifier TEXT,
  casing_depth_m     REAL, -- the lowest end of casing; not edited here
  ground_elevation_m REAL,
  accuracy_m         REAL, -- of the position
  batch_id           INTEGER, -- of batches; the program looks that it is there
  batch_row          INTEGER,
  geom               POINT,
  CONSTRAINT wells_geom_blob CHECK (geom IS NULL OR (
    typeof(geom) = 'blob' AND length(geom) = 60 AND substr(geom, 1, 6) = x'0001E6100000'
    AND substr(geom, 39, 5) = x'7C01000000' AND substr(geom, 60) = x'FE'
    AND substr(geom, 7, 16) = substr(geom, 44, 16) AND substr(geom, 23, 16) = substr(geom, 44, 16)))
);
CREATE INDEX wells_changed_commit ON wells(changed_commit);
CREATE INDEX wells_batch ON wells(batch_id) WHERE batch_id IS NOT NULL;
-- Searching: letters in upper case, without spaces, hyphens and stops.
CREATE INDEX wells_number_key ON wells(upper(replace(replace(replace(number, ' ', ''), '-', ''), '.', ''))) WHERE number IS NOT NULL;
CREATE INDEX wells_permit_key ON wells(upper(replace(replace(replace(permit_number, ' ', ''), '-', ''), '.', ''))) WHERE permit_number IS NOT NULL;
CREATE INDEX wells_parcel_key ON wells(upper(replace(replace(replace(parcel, ' ', ''), '-', ''), '.', ''))) WHERE parcel IS NOT NULL;

CREATE VIRTUAL TABLE idx_wells_geom USING rtree(pkid, xmin, xmax, ymin, ymax);
INSERT INTO geometry_columns VALUES('wells', 'geom', 1, 2, 4326, 1);
INSERT INTO geometry_columns_auth VALUES('wells', 'geom', 0, 0);
INSERT INTO geometry_columns_time(f_table_name, f_geometry_column) VALUES('wells', 'geom');
INSERT INTO geometry_columns_statistics(f_table_name, f_geometry_column, last_verified, row_count) VALUES('wells', 'geom', '1970-01-01T00:00:00.000Z', 0);

CREATE TABLE well_records(
  well_id  INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  doc      TEXT NOT NULL
);

-- material and class are as read when the record was written.
CREATE TABLE strata(
  well_id     INTEGER NOT NULL,
  position    INTEGER NOT NULL, -- from 0, downwards
  top_m       REAL,
  bottom_m    REAL,
  description TEXT,
  material    TEXT,
  class       TEXT,
  PRIMARY KEY (well_id, position)
) WITHOUT ROWID;

CREATE TABLE rock_units(
  code INTEGER PRIMARY KEY CHECK (code BETWEEN 1 AND 65535),
  name TEXT NOT NULL UNIQUE
);

-- Earlier images only: what stands now is in well_records.
CREATE TABLE revisions(
  well_id  INTEGER NOT NULL,
  revision INTEGER NOT NULL, -- of the image
  until    TEXT NOT NULL,
  by       TEXT NOT NULL,
  why      TEXT,
  image    TEXT NOT NULL,
  PRIMARY KEY (well_id, revision)
);

CREATE TABLE removed(
  well_id       INTEGER PRIMARY KEY,
  uid           TEXT,
  removed_commit INTEGER NOT NULL
);
CREATE INDEX removed_commit ON removed(removed_commit);

-- Wells whose columns were changed by another program since doc was written:
-- until doc has caught up, the columns are right where the two differ.
CREATE TABLE outside(well_id INTEGER PRIMARY KEY);

CREATE TABLE plates(
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  uid       TEXT NOT NULL UNIQUE,
  revision  INTEGER NOT NULL,
  number    TEXT,
  doc       TEXT NOT NULL,
  well_id   INTEGER REFERENCES wells(id) ON DELETE SET NULL,
  linked_by TEXT,
  linked_at TEXT
);
CREATE INDEX plates_well ON plates(well_id) WHERE well_id IS NOT NULL;
CREATE INDEX plates_number_key ON plates(upper(replace(replace(replace(number, ' ', ''), '-', ''), '.', ''))) WHERE number IS NOT NULL;

CREATE TABLE plate_revisions(
  plate_id  INTEGER NOT NULL,
  revision  INTEGER NOT NULL,
  until     TEXT NOT NULL,
  by        TEXT NOT NULL,
  why       TEXT,
  image     TEXT NOT NULL,
  well_id   INTEGER,
  linked_by TEXT,
  linked_at TEXT,
  PRIMARY KEY (plate_id, revision)
);

CREATE TABLE layers(
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  name    TEXT NOT NULL,
  kind    TEXT NOT NULL,
  geojson BLOB NOT NULL
);

-- The named places of layers of kind place, to be searched.
CREATE TABLE places(
  layer_id INTEGER NOT NULL REFERENCES layers(id) ON DELETE CASCADE,
  name     TEXT NOT NULL,
  lon      REAL NOT NULL,
  lat      REAL NOT NULL
);
CREATE INDEX places_layer ON places(layer_id);
CREATE INDEX places_name_key ON places(upper(replace(replace(replace(name, ' ', ''), '-', ''), '.', '')));

CREATE TABLE settings(
  name  TEXT PRIMARY KEY,
  value TEXT NOT NULL
) WITHOUT ROWID;

-- What maps need of wells id/4096 = chunk, packed; only a cache, made again
-- from the records where a row is missing or its stamp is not the program's.
CREATE TABLE picture(
  chunk INTEGER PRIMARY KEY,
  stamp TEXT NOT NULL,
  data  BLOB NOT NULL
);
