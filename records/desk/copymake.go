package desk

import (
	"archive/zip"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"tallybook/records"
	"tallybook/records/exchange"
)

// CopyWork is a copy that is being made for somebody to download, or was made
// last.
type CopyWork struct {
	Token       string
	Kind        CopyKind
	Private     bool
	Begun       time.Time
	Ended       time.Time // zero while it goes on
	Done, Total int64
	Err         error // why it came to nothing
	Made        CopyMade
	Size        int64  // bytes, of the file
	Name        string // under which it is downloaded
}

// Over says whether it has ended.
func (w *CopyWork) Over() bool { return !w.Ended.IsZero() }

// copyShelf holds the one copy that is being made or waits to be downloaded.
type copyShelf struct {
	mu     sync.Mutex
	last   *CopyWork
	folder string // of the last; goes with the desk
	cancel context.CancelFunc
	ending sync.WaitGroup
	shut   bool
}

// BeginCopy makes a copy in the background, in the place of the last one. One
// at a time.
func (d *Desk) BeginCopy(ctx context.Context, actor records.Actor, kind CopyKind, private bool) error {
	ask := CopyAsk{Kind: kind, Private: private}
	if err := d.permitCopy(actor, ask); err != nil {
		return err
	}
	s := &d.copies
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.shut:
		return records.Errorf(records.Busy, "the program is ending")
	case s.last != nil && !s.last.Over() && s.last.Kind == kind && s.last.Private == private:
		return nil // asked for twice
	case s.last != nil && !s.last.Over():
		return records.Errorf(records.Busy, "another copy is being made just now; wait until it is done, or break it off")
	}
	if err := s.drop(); err != nil {
		return err
	}
	var random [8]byte
	if _, err := rand.Read(random[:]); err != nil {
		return err
	}
	folder, err := d.copyFolder()
	if err != nil {
		return err
	}
	// It goes on when the page is closed, and ends with the program.
	inner, cancel := context.WithCancel(context.WithoutCancel(ctx))
	work := &CopyWork{Token: hex.EncodeToString(random[:]), Kind: kind, Private: private, Begun: d.now()}
	work.Name = copyName(kind, private, work.Begun)
	s.last, s.folder, s.cancel = work, folder, cancel
	ask.Path = filepath.Join(folder, "copy")
	ask.Progress = func(done, total int64) {
		s.mu.Lock()
		defer s.mu.Unlock()
		work.Done, work.Total = done, total
	}
	s.ending.Add(1)
	go func() {
		defer s.ending.Done()
		defer cancel()
		made, err := d.MakeCopy(inner, actor, ask)
		var size int64
		packed := false
		if err == nil {
			size, packed, err = packCopy(ask.Path, work.Name)
		}
		s.mu.Lock()
		defer s.mu.Unlock()
		if packed {
			work.Name += ".zip"
		}
		work.Ended, work.Made, work.Err, work.Size = d.now(), made, err, size
	}()
	return nil
}

// copyFolder makes the folder of a copy: beside the database, where there is
// room for one, if files that are sent wait there too. What a program that was
// killed had left of another copy goes.
func (d *Desk) copyFolder() (string, error) {
	within, name := "", "tallybook-copy-"
	if d.spool.folder != "" && !d.spool.own {
		within, name = filepath.Split(strings.TrimSuffix(d.spool.folder, ".intake") + ".copy-")
		left, err := filepath.Glob(filepath.Join(within, name+"*")) // one server has a database
		if err != nil {
			return "", err
		}
		for _, path := range left {
			if err := os.RemoveAll(path); err != nil {
				return "", err
			}
		}
	}
	folder, err := os.MkdirTemp(within, name)
	if err != nil {
		return "", records.WrapError(records.Internal, err, "there is no room for a copy")
	}
	return folder, nil
}

func copyName(kind CopyKind, private bool, at time.Time) string {
	name := map[CopyKind]string{CopyWhole: "whole", CopyToGive: "to-give", CopyForGIS: "layers"}[kind]
	ending := ".db"
	if kind == CopyForGIS {
		ending = ".sqlite"
		if private {
			name += "-private"
		}
	}
	return "tallybook-" + name + "-" + at.UTC().Format("2006-01-02-1504") + ending
}

// packCopy puts a copy and the scans beside it into one archive, where there
// are any, in the place of the copy.
func packCopy(path, name string) (size int64, packed bool, err error) {
	beside := path + ".attached"
	if _, err := os.Stat(beside); errors.Is(err, fs.ErrNotExist) {
		st, err := os.Stat(path)
		if err != nil {
			return 0, false, err
		}
		return st.Size(), false, nil
	}
	out, err := os.OpenFile(path+".zip", os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return 0, false, err
	}
	z := zip.NewWriter(out)
	err = exchange.PackFile(z, name, path)
	if err == nil {
		err = filepath.WalkDir(beside, func(file string, d fs.DirEntry, err error) error {
			if err != nil || !d.Type().IsRegular() {
				return err
			}
			rel, err := filepath.Rel(beside, file)
			if err != nil {
				return err
			}
			return exchange.PackFile(z, name+".attached/"+filepath.ToSlash(rel), file)
		})
	}
	err = errors.Join(err, z.Close(), out.Close())
	if err == nil {
		err = errors.Join(os.RemoveAll(beside), os.Rename(path+".zip", path))
	}
	if err != nil {
		return 0, false, err
	}
	st, err := os.Stat(path)
	if err != nil {
		return 0, false, err
	}
	return st.Size(), true, nil
}

// CopyWork tells of the copy that is being made or was made last; nil for none.
func (d *Desk) CopyWork(actor records.Actor) (*CopyWork, error) {
	if err := d.Permit(actor, GiveOut); err != nil {
		return nil, err
	}
	d.copies.mu.Lock()
	defer d.copies.mu.Unlock()
	if d.copies.last == nil {
		return nil, nil
	}
	out := *d.copies.last
	return &out, nil
}

// OpenCopy opens a copy to be downloaded. It has to be closed.
func (d *Desk) OpenCopy(actor records.Actor, token string) (*os.File, *CopyWork, error) {
	w, err := d.CopyWork(actor)
	if err != nil {
		return nil, nil, err
	}
	if w == nil || w.Token != token || !w.Over() || w.Err != nil {
		return nil, nil, records.Errorf(records.NotFound, "this copy is no longer here: make it again")
	}
	if err := d.permitCopy(actor, CopyAsk{Kind: w.Kind, Private: w.Private}); err != nil {
		return nil, nil, err
	}
	d.copies.mu.Lock()
	defer d.copies.mu.Unlock()
	f, err := os.Open(filepath.Join(d.copies.folder, "copy"))
	if err != nil {
		return nil, nil, records.WrapError(records.NotFound, err, "this copy is no longer here: make it again")
	}
	return f, w, nil
}

// DropCopy breaks off the copy that is being made, or deletes the last one.
func (d *Desk) DropCopy(actor records.Actor) error {
	if err := d.Permit(actor, GiveOut); err != nil {
		return err
	}
	d.copies.mu.Lock()
	cancel := d.copies.cancel
	d.copies.mu.Unlock()
	if cancel != nil {
		cancel()
	}
	d.copies.ending.Wait()
	d.copies.mu.Lock()
	defer d.copies.mu.Unlock()
	return d.copies.drop()
}

// drop deletes the last copy. mu is held.
func (s *copyShelf) drop() error {
	folder := s.folder
	s.last, s.folder, s.cancel = nil, "", nil
	if folder == "" {
		return nil
	}
	return os.RemoveAll(folder)
}

func (s *copyShelf) close() error {
	s.mu.Lock()
	s.shut = true
	if s.cancel != nil {
		s.cancel()
	}
	s.mu.Unlock()
	s.ending.Wait()
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.drop()
}
