-- Drafts: forms of records that somebody is still filling in. A draft is no
-- record: it is written over as it grows, belongs to one person and is shown
-- to nobody else, and is ended by the record that is saved from it or by being
-- discarded, which can be taken back for a while. It stands in no layer.
-- +goose Up
CREATE TABLE drafts(
  id            INTEGER PRIMARY KEY AUTOINCREMENT,
  revision      INTEGER NOT NULL,
  person_id     INTEGER NOT NULL,
  person        TEXT NOT NULL,
  well_id       INTEGER NOT NULL, -- 0: of a record that is not there yet
  well_revision INTEGER NOT NULL, -- the state that the form was made from
  title         TEXT NOT NULL,
  started_at    TEXT NOT NULL,
  kept_at       TEXT NOT NULL,
  ended         TEXT NOT NULL DEFAULT '' CHECK (ended IN ('', 'saved', 'discarded')),
  typed         TEXT NOT NULL CHECK (json_valid(typed)) -- an object of texts by field
);
CREATE INDEX drafts_of_person ON drafts(person_id, ended, kept_at);
