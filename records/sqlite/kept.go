package sqlite

import (
	"context"
	"database/sql"
	"slices"
	"strings"

	"github.com/google/uuid"

	"tallybook/records"
)

// keptKind is a sort of record that is kept as a document with every earlier
// image: where its rows, documents and images stand, and what it is called.
type keptKind struct{ word, table, docs, revisions string }

// newUID gives uid, or a fresh one where it is empty.
func newUID(uid string) (string, error) {
	if uid != "" {
		return uid, nil
	}
	id, err := uuid.NewV7()
	if err != nil {
		return "", translate(err, "new uid")
	}
	return id.String(), nil
}

// admit looks whether a record may be written over what is stored, and gives
// the uid and the revision that it will have.
func (t *tx) admit(ctx context.Context, k keptKind, id, revision int64, uid string) (string, int64, error) {
	if id == 0 {
		if revision != 0 {
			return "", 0, records.Errorf(records.Conflict, "a new %s has no revision", k.word)
		}
		uid, err := newUID(uid)
		if err != nil {
			return "", 0, err
		}
		if taken, err := t.uidTaken(ctx, k.table, uid, 0); err != nil || taken {
			if err == nil {
				err = &records.Error{Code: records.Conflict, Field: "uid", Message: "there is a " + k.word + " with this uid already"}
			}
			return "", 0, err
		}
		return uid, 1, nil
	}
	stored, err := t.current(ctx, k, id, revision)
	if err != nil {
		return "", 0, err
	}
	if uid != "" && uid != stored {
		return "", 0, &records.Error{Code: records.Conflict, Field: "uid", Message: "the uid of a " + k.word + " never changes"}
	}
	return stored, revision + 1, nil
}

// current gives the uid of a record that must be there at a revision.
func (t *tx) current(ctx context.Context, k keptKind, id, revision int64) (uid string, err error) {
	var stored int64
	found, err := t.one(ctx, "SELECT revision, uid FROM "+k.table+" WHERE id = ?", []any{id}, &stored, &uid)
	switch {
	case err != nil:
		return "", err
	case !found:
		return "", records.Errorf(records.NotFound, "the %s is no longer there: somebody took it out meanwhile", k.word)
	case stored != revision:
		return "", records.Errorf(records.Conflict, "the %s was changed by somebody else meanwhile (you have revision %d, it is now at %d): look at it again before writing", k.word, revision, stored)
	}
	return uid, nil
}

// putRow writes the columns of a record's row, a new one where id is 0, and
// keeps the image of the one before.
func (t *tx) putRow(ctx context.Context, k keptKind, id int64, columns string, values []any, why string) (int64, error) {
	marks := "(?" + strings.Repeat(", ?", len(values)-1) + ")"
	if id != 0 {
		if err := t.keepImage(ctx, k, id, why); err != nil {
			return 0, err
		}
		_, err := t.write(ctx, "UPDATE "+k.table+" SET ("+columns+") = "+marks+" WHERE id = ?", slices.Concat(values, []any{id})...)
		return id, err
	}
	result, err := t.write(ctx, "INSERT INTO "+k.table+"("+columns+") VALUES "+marks, values...)
	if err != nil {
		return 0, err
	}
	id, err = result.LastInsertId()
	return id, t.fail(translate(err, "new "+k.word))
}

// keepImage keeps the image of a record that is about to be replaced.
func (t *tx) keepImage(ctx context.Context, k keptKind, id int64, why string) error {
	_, err := t.write(ctx, "INSERT INTO "+k.revisions+"(id, revision, until, by, why, image) SELECT r.id, r.revision, ?, ?, ?, d.doc FROM "+
		k.table+" r JOIN "+k.docs+" d ON d.id = r.id WHERE r.id = ?", formatTime(t.now), t.actor.Name, textOrNull(why), id)
	return err
}

// earlier reads the images of a record, the latest first. parse fills one and
// tells what it could not read.
func earlier[T any](ctx context.Context, v *view, k keptKind, id int64, parse func(image *T, doc []byte, revision int64) []records.Fault) ([]records.Earlier[T], error) {
	var out []records.Earlier[T]
	err := each(ctx, v, "SELECT revision, until, by, ifnull(why, ''), image FROM "+k.revisions+" WHERE id = ? ORDER BY revision DESC", []any{id}, func(rows *sql.Rows) error {
		e := records.Earlier[T]{Image: new(T)}
		var until string
		var image []byte
		if err := rows.Scan(&e.Revision, &until, &e.By, &e.Why, &image); err != nil {
			return err
		}
		var err error
		if e.Until, err = parseTime(until); err != nil {
			return err
		}
		v.tellUnread(k, id, parse(e.Image, image, e.Revision))
		out = append(out, e)
		return nil
	})
	return out, err
}

// tellUnread logs what could not be read of a document: the rest is used.
func (v *view) tellUnread(k keptKind, id int64, faults []records.Fault) {
	if records.Refuses(faults) {
		v.store.o.Log.Warn("a "+k.word+" cannot be read in full", "id", id, "error", records.FaultError(faults))
	}
}
