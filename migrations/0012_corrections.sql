-- Changes made alike to many records, each undone as a whole.
-- +goose Up
CREATE TABLE corrections(
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  rule      TEXT NOT NULL, -- which records, and what is changed: JSON
  at        TEXT NOT NULL,
  by        TEXT NOT NULL,
  why       TEXT,
  records   INTEGER NOT NULL, -- how many it changed
  undone_at TEXT,
  undone_by TEXT,
  left_over INTEGER NOT NULL DEFAULT 0 -- how many undoing left alone
);
CREATE TABLE corrected(
  correction_id   INTEGER NOT NULL REFERENCES corrections(id),
  well_id         INTEGER NOT NULL,
  before_revision INTEGER NOT NULL,
  after_revision  INTEGER NOT NULL,
  PRIMARY KEY (correction_id, well_id)
) WITHOUT ROWID;
