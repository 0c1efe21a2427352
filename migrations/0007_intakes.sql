-- What is kept of an intake beside its counts, and what a later copy of a
-- source says of records that are there already.
-- +goose Up
ALTER TABLE batches ADD COLUMN copy_of INTEGER; -- the intake of which this is a later copy
ALTER TABLE batches ADD COLUMN changed INTEGER NOT NULL DEFAULT 0; -- rows that a later copy changed a record by
ALTER TABLE batches ADD COLUMN same    INTEGER NOT NULL DEFAULT 0; -- rows that say nothing new
ALTER TABLE batches ADD COLUMN clashes INTEGER NOT NULL DEFAULT 0; -- records of which copy and office say different things
ALTER TABLE batches ADD COLUMN gone    INTEGER NOT NULL DEFAULT 0; -- records that the copy no longer has

-- The row report of an intake: rows are those with something to tell, JSON a
-- line, compressed (RFC 1952); refused are the rows that were kept out, as they
-- stood in the file, as a ZIP archive of a text for each of its tables. There
-- are people's names in both.
CREATE TABLE intake_reports(
  batch_id INTEGER PRIMARY KEY,
  about    TEXT NOT NULL,
  rows     BLOB NOT NULL,
  refused  BLOB NOT NULL
);

-- What a later copy says of a record differently from the copy before, or that
-- it has it no longer. image is the record as the copy has it: the ground on
-- which the copy after is compared. It is staged with its intake: nothing of
-- it counts before the intake is published.
CREATE TABLE intake_changes(
  batch_id INTEGER NOT NULL,
  well_id  INTEGER NOT NULL,
  row      INTEGER NOT NULL, -- of the copy; 0 where it has none
  what     TEXT NOT NULL CHECK (what IN ('differs', 'gone')),
  image    TEXT,
  wrote    INTEGER NOT NULL, -- the revision of the record that came of it; 0: none
  clashes  TEXT NOT NULL,    -- JSON
  PRIMARY KEY (batch_id, well_id)
);
CREATE INDEX intake_changes_well ON intake_changes(well_id);
CREATE INDEX removed_uid ON removed(uid) WHERE uid IS NOT NULL;
