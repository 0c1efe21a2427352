-- Reviews of how the ground varies, kept as they were made. The doc holds what
-- was asked, of which records, and every number that came of it; what was
-- decided of a review afterwards stands beside it.
-- +goose Up
CREATE TABLE reviews(
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  uid         TEXT NOT NULL UNIQUE,
  kept_at     TEXT NOT NULL,
  kept_by     TEXT NOT NULL,
  title       TEXT NOT NULL,
  author      TEXT,
  note        TEXT,
  data_commit INTEGER NOT NULL, -- the state of the records that it was made from
  data_digest TEXT NOT NULL,    -- their fingerprint
  wells       INTEGER NOT NULL, -- how many were chosen
  doc         TEXT NOT NULL
);
CREATE TABLE review_states(
  review_id INTEGER NOT NULL REFERENCES reviews(id),
  revision  INTEGER NOT NULL, -- from 1; as kept it is at 0
  at        TEXT NOT NULL,
  by        TEXT NOT NULL,
  why       TEXT,
  withdrawn INTEGER NOT NULL,
  PRIMARY KEY (review_id, revision)
) WITHOUT ROWID;
-- +goose StatementBegin
CREATE TRIGGER reviews_never_change BEFORE UPDATE ON reviews BEGIN
  SELECT raise(ABORT, 'a kept review never changes');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reviews_stay BEFORE DELETE ON reviews BEGIN
  SELECT raise(ABORT, 'a kept review stays; it can be withdrawn');
END;
-- +goose StatementEnd
