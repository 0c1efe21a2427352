-- Scanned logs, photographs and documents, each once, by the SHA-256 of its
-- bytes. The records that they belong to name them in their docs; what no record
-- names any more stays, since an earlier state may.
-- +goose Up
CREATE TABLE contents(
  id     INTEGER PRIMARY KEY,
  sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
  kind   TEXT NOT NULL, -- media type, told from the bytes
  size   INTEGER NOT NULL,
  at     TEXT NOT NULL,
  by     TEXT NOT NULL,
  data   BLOB -- NULL: a file of that name lies in the folder beside the database
);
-- +goose StatementBegin
CREATE TRIGGER contents_never_change BEFORE UPDATE ON contents BEGIN
  SELECT raise(ABORT, 'what is attached is kept as it came');
END;
-- +goose StatementEnd
