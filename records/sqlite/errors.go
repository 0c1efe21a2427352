package sqlite

import (
	"context"
	"errors"
	"fmt"
	"syscall"

	"github.com/mattn/go-sqlite3"

	"tallybook/records"
)

// translate turns what SQLite says, known by its numbers and never by its
// text, into an error for a person. doing is for the log.
func translate(err error, doing string) error {
	if err == nil {
		return nil
	}
	var known *records.Error
	if errors.As(err, &known) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	err = fmt.Errorf("sqlite: %s: %w", doing, err)
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return err
	}
	if e.SystemErrno == syscall.ENOSPC {
		return records.WrapError(records.TooLarge, err, "%s", diskFull)
	}
	switch e.Code {
	case sqlite3.ErrBusy, sqlite3.ErrLocked:
		return records.WrapError(records.Busy, err, "another program is writing to the file; nothing was changed, try again")
	case sqlite3.ErrFull:
		return records.WrapError(records.TooLarge, err, "%s", diskFull)
	case sqlite3.ErrReadonly, sqlite3.ErrPerm, sqlite3.ErrAuth:
		return records.WrapError(records.Forbidden, err, "the file or its folder cannot be written to; the program needs both, since two companion files (-wal and -shm) stand beside it while it is open")
	case sqlite3.ErrCantOpen:
		return records.WrapError(records.Forbidden, err, "the file cannot be opened; the program needs to read and write it and the folder that it is in")
	case sqlite3.ErrCorrupt:
		return records.WrapError(records.Invalid, err, "the file is damaged; keep it as it is, and go back to the latest copy")
	case sqlite3.ErrNotADB:
		return records.WrapError(records.Invalid, err, "the file is not a database of this program")
	case sqlite3.ErrTooBig:
		return records.WrapError(records.TooLarge, err, "the record is too large to be stored")
	case sqlite3.ErrInterrupt:
		return fmt.Errorf("%w: %w", context.Canceled, err)
	case sqlite3.ErrConstraint:
		switch e.ExtendedCode {
		case sqlite3.ErrConstraintUnique, sqlite3.ErrConstraintPrimaryKey, sqlite3.ErrConstraintRowID:
			return records.WrapError(records.Conflict, err, "there is a record of that name already")
		case sqlite3.ErrConstraintForeignKey:
			return records.WrapError(records.Invalid, err, "it refers to a record that is not there")
		}
		return records.WrapError(records.Invalid, err, "the file does not take such a value")
	}
	return err
}

const diskFull = "the disk is full; nothing was changed: make room and try again"
