-- What was decided of plates, kept apart from what was seen of them, and the
-- search for numbers of which not every digit could be read.
-- +goose Up

-- Each row is the whole state from then on; the latest counts, and to undo one
-- is to write the row before it again. Row 0 is how the plate stood before
-- anybody decided. Plates and wells are named by uid, which they keep when they
-- are taken out and brought back. The link that holds now is plates.well_id.
CREATE TABLE plate_decisions(
  plate_uid      TEXT NOT NULL,
  revision       INTEGER NOT NULL,
  at             TEXT NOT NULL,
  by             TEXT NOT NULL,
  why            TEXT,
  act            TEXT NOT NULL, -- decisions with the same act were made as one
  commit_no      INTEGER NOT NULL,
  plate_revision INTEGER NOT NULL, -- of the plate, after it
  state          TEXT NOT NULL CHECK (state IN ('open', 'linked', 'later', 'no_record')),
  well_uid       TEXT,
  evidence       TEXT,
  refused        TEXT, -- uids of the wells that it is not, a JSON array
  candidates     TEXT, -- uids of the wells that were looked at, a JSON array
  reasons        TEXT, -- why they were proposed, as it stood: JSON
  PRIMARY KEY (plate_uid, revision)
) WITHOUT ROWID;
CREATE INDEX plate_decisions_act ON plate_decisions(act) WHERE act <> '';
CREATE INDEX plate_decisions_commit ON plate_decisions(commit_no);
-- +goose StatementBegin
CREATE TRIGGER plate_decisions_never_change BEFORE UPDATE ON plate_decisions BEGIN
  SELECT raise(ABORT, 'what was decided of a plate is kept as it was');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plate_decisions_stay BEFORE DELETE ON plate_decisions BEGIN
  SELECT raise(ABORT, 'what was decided of a plate is kept as it was');
END;
-- +goose StatementEnd

ALTER TABLE plates ADD COLUMN changed_commit INTEGER NOT NULL DEFAULT 0;
CREATE INDEX plates_changed_commit ON plates(changed_commit);
-- Numbers of which some digits could not be read, by their length.
CREATE INDEX plates_unread ON plates(length(upper(replace(replace(replace(number, ' ', ''), '-', ''), '.', '')))) WHERE instr(number, '?') > 0;
