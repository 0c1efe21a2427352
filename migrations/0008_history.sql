-- What became of records: merges of two records of one well, and what somebody
-- decided of two records that are likely of one well. Earlier images stand in
-- revisions, as those of every record do.
-- +goose Up
CREATE TABLE merges(
  id           INTEGER PRIMARY KEY AUTOINCREMENT,
  uid          TEXT NOT NULL,    -- of the record that was taken out; it leads to into_uid
  well_id      INTEGER NOT NULL, -- the key it had
  revision     INTEGER NOT NULL, -- its last image, in revisions
  into_uid     TEXT NOT NULL,
  into_well_id INTEGER NOT NULL,
  before       INTEGER NOT NULL, -- revision of the record that was kept, ahead of the merge
  after        INTEGER NOT NULL, -- and behind it
  how          TEXT NOT NULL CHECK (how IN ('fields', 'works', 'twin')),
  plates       TEXT,             -- keys of the plates that moved along, a JSON array; NULL for none
  at           TEXT NOT NULL,
  by           TEXT NOT NULL,
  why          TEXT,
  split_at     TEXT,             -- when the record came back; NULL: it is merged
  split_by     TEXT,
  split_why    TEXT,
  CHECK (uid <> into_uid)
);
-- A name leads to one place at a time.
CREATE UNIQUE INDEX merges_uid ON merges(uid) WHERE split_at IS NULL;
CREATE INDEX merges_into ON merges(into_uid);

-- Decisions are only ever added: the latest of a pair counts.
CREATE TABLE pair_decisions(
  uid_a       TEXT NOT NULL,
  uid_b       TEXT NOT NULL,
  revision    INTEGER NOT NULL,
  verdict     TEXT NOT NULL CHECK (verdict IN ('merged', 'works', 'twin', 'different', 'unsure', 'open')),
  probability REAL,
  reasons     TEXT, -- as they stood, a JSON array; NULL for none
  mark_a  TEXT, -- a digest of what was compared of each
  mark_b  TEXT,
  at          TEXT NOT NULL,
  by          TEXT NOT NULL,
  why         TEXT,
  PRIMARY KEY (uid_a, uid_b, revision),
  CHECK (uid_a < uid_b)
) WITHOUT ROWID;

-- The latest search for pairs, and what it found. A cache: it can be made anew.
CREATE TABLE pair_runs(
  one      INTEGER PRIMARY KEY CHECK (one = 1),
  at       TEXT NOT NULL,
  by       TEXT NOT NULL,
  data_commit INTEGER NOT NULL,
  records  INTEGER NOT NULL,
  note     TEXT
);
CREATE TABLE found_pairs(
  uid_a       TEXT NOT NULL,
  uid_b       TEXT NOT NULL,
  id_a        INTEGER NOT NULL,
  id_b        INTEGER NOT NULL,
  probability REAL NOT NULL,
  reasons     TEXT NOT NULL, -- a JSON array
  PRIMARY KEY (uid_a, uid_b)
) WITHOUT ROWID;
