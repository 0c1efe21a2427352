-- What is written in records, to be searched. The index holds no text of its
-- own: a docid leads through word_docs to the record, which holds it.
-- A docid is never used for another text; those that word_docs no longer
-- names are passed over, and swept when they are many.
--
-- The index follows the records a little later: word_state says up to which
-- change they have come.
-- +goose Up
-- private: people's names, addresses and telephones, and what the model has no
-- place for.
CREATE VIRTUAL TABLE words USING fts4(content="", tokenize=unicode61 "remove_diacritics=1", open, private);
CREATE TABLE word_docs(
  docid    INTEGER PRIMARY KEY AUTOINCREMENT,
  well_id  INTEGER NOT NULL,
  revision INTEGER NOT NULL -- of the record whose text this is
);
CREATE INDEX word_docs_well ON word_docs(well_id);
CREATE TABLE word_state(
  commit_no INTEGER NOT NULL, -- of the last record taken in
  well_id   INTEGER NOT NULL
);
INSERT INTO word_state VALUES (0, 0);
