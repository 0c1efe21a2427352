package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"tallybook/records"
)

// draft is a file that is written beside its place and moved there when it is
// whole, so that a failure leaves what was there before. What is no ordinary
// file, such as a pipe, is written to as it is.
type draft struct {
	*os.File
	path   string
	mode   fs.FileMode
	direct bool
}

// newDraft begins a file. mode is what it gets where there is none yet.
func newDraft(path string, mode fs.FileMode) (*draft, error) {
	d := &draft{path: path, mode: mode}
	st, err := os.Stat(path)
	switch {
	case err == nil && st.IsDir():
		return nil, records.Errorf(records.Invalid, "%s is a folder; name a file in it", path)
	case err == nil && !st.Mode().IsRegular():
		if d.File, err = os.OpenFile(path, os.O_WRONLY, 0); err != nil {
			return nil, d.failed(err)
		}
		d.direct = true
		return d, nil
	case err == nil:
		d.mode = st.Mode().Perm()
		if d.path, err = filepath.EvalSymlinks(path); err != nil {
			return nil, d.failed(err)
		}
	}
	d.File, err = os.CreateTemp(filepath.Dir(d.path), ".tallybook-*")
	if err != nil {
		return nil, d.failed(err)
	}
	return d, nil
}

// failed says why the file cannot be written.
func (d *draft) failed(err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return records.WrapError(records.NotFound, err, "%s cannot be written: its folder is not there; make it first", d.path)
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return records.WrapError(records.TooLarge, err, "the disk is full, and %s was not written: make room and try again", d.path)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return records.WrapError(records.Forbidden, err, "%s may not be written: name another place, or ask whoever owns it", d.path)
	}
	return records.WrapError(records.Internal, err, "%s cannot be written", d.path)
}

// Write keeps the words of what may fail.
func (d *draft) Write(b []byte) (int, error) {
	n, err := d.File.Write(b)
	if err != nil {
		err = d.failed(err)
	}
	return n, err
}

// keep puts the file in its place.
func (d *draft) keep() error {
	if d.direct {
		return d.Close()
	}
	err := d.Sync()
	if e := d.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(d.Name(), d.mode)
	}
	if err == nil {
		err = os.Rename(d.Name(), d.path)
	}
	if err != nil {
		return errors.Join(d.failed(err), d.remove())
	}
	return nil
}

// drop leaves what was there before.
func (d *draft) drop() error {
	err := d.Close()
	if d.direct {
		return err
	}
	return errors.Join(err, d.remove())
}

func (d *draft) remove() error {
	if err := os.Remove(d.Name()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is left over: %w", d.Name(), err)
	}
	return nil
}

// writeFile writes a file as a whole or not at all.
func writeFile(path string, mode fs.FileMode, write func(io.Writer) error) error {
	d, err := newDraft(path, mode)
	if err != nil {
		return err
	}
	if err := write(d); err != nil {
		return errors.Join(err, d.drop())
	}
	return d.keep()
}

// apart refuses to write over a file that is read or kept.
func apart(option, path string, others ...string) error {
	st, err := os.Stat(path)
	if err != nil {
		return nil // not there: nothing is written over
	}
	for _, other := range others {
		if o, err := os.Stat(other); err == nil && os.SameFile(st, o) {
			return records.Errorf(records.Invalid, "%s %s would write over %s itself: name another file", option, path, other)
		}
	}
	return nil
}
