package sqlite

import (
	"context"
	"database/sql"

	"tallybook/records"
)

// mostStaleWords is how many texts that no record bears any more are left in
// the index, beside as many as there are records, before it is made anew.
const mostStaleWords = 20_000

// IndexWords implements records.WordsTx. Records that are still staged are
// taken in like others: what is found is looked at in the layer, where they
// cannot be seen.
func (t *tx) IndexWords(ctx context.Context, most int) (looked int, err error) {
	type pending struct{ id, revision, commit, had int64 }
	var list []pending
	err = each(ctx, &t.view, `SELECT w.id, w.revision, w.changed_commit, ifnull((SELECT max(d.revision) FROM word_docs d WHERE d.well_id = w.id), 0) `+
		wordsPending+" ORDER BY w.changed_commit, w.id LIMIT ?", []any{most}, func(rows *sql.Rows) error {
		var p pending
		err := rows.Scan(&p.id, &p.revision, &p.commit, &p.had)
		list = append(list, p)
		return err
	})
	if err != nil || len(list) == 0 {
		return 0, err
	}
	for _, p := range list {
		if p.had == p.revision {
			continue // its plate changed, not its words
		}
		if err := t.indexWell(ctx, p.id, p.revision, p.had > 0); err != nil {
			return 0, err
		}
	}
	last := list[len(list)-1]
	if _, err = t.write(ctx, "UPDATE word_state SET commit_no = ?, well_id = ?", last.commit, last.id); err == nil && len(list) < most {
		err = t.sweepWords(ctx)
	}
	return len(list), err
}

func (t *tx) indexWell(ctx context.Context, id, revision int64, had bool) error {
	w, err := t.wellAsStored(ctx, id)
	if err != nil {
		return err
	}
	if had {
		if _, err := t.write(ctx, "DELETE FROM word_docs WHERE well_id = ?", id); err != nil {
			return err
		}
	}
	result, err := t.write(ctx, "INSERT INTO word_docs(well_id, revision) VALUES (?, ?)", id, revision)
	if err != nil {
		return err
	}
	doc, err := result.LastInsertId()
	if err != nil {
		return t.fail(translate(err, "new words"))
	}
	open, private := w.SearchText()
	_, err = t.write(ctx, "INSERT INTO words(docid, open, private) VALUES (?, ?, ?)", doc, open, private)
	return err
}

// sweepWords makes the index anew, a little at a time from here on, where most
// of what it holds is of no record any more.
func (t *tx) sweepWords(ctx context.Context) error {
	var docs, given int64 // docids are given from 1 on in each index
	if _, err := t.one(ctx, "SELECT count(*), ifnull(max(docid), 0) FROM word_docs", nil, &docs, &given); err != nil {
		return err
	}
	if given-docs < max(docs, mostStaleWords) {
		return nil
	}
	for _, q := range []string{
		"DROP TABLE words", "DELETE FROM word_docs", "DELETE FROM sqlite_sequence WHERE name = 'word_docs'",
		`CREATE VIRTUAL TABLE words USING fts4(content="", tokenize=unicode61 "remove_diacritics=1", open, private)`,
		"UPDATE word_state SET commit_no = 0, well_id = 0",
	} {
		if _, err := t.write(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

var _ records.WordsTx = (*tx)(nil)

// wellAsStored reads a record whether its batch is published or not.
func (v *view) wellAsStored(ctx context.Context, id int64) (*records.Well, error) {
	var stored storedWell
	err := each(ctx, v, wellSelect+"w.id = ?", []any{id}, func(rows *sql.Rows) (err error) {
		stored, err = scanWell(rows)
		return err
	})
	if err != nil {
		return nil, err
	}
	return v.unpack(ctx, stored)
}
