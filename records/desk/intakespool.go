package desk

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"sync"
	"syscall"
	"time"

	"tallybook/records"
)

// Sent is a file that somebody sent, on its way in: it is looked at, mapped,
// rehearsed and accepted, or dropped.
type Sent struct {
	Token  string
	Name   string
	Size   int64
	SHA256 string
	At     time.Time
	By     string

	// Revision counts what was chosen of it.
	Revision int64
	Mapping  string // JSON; "": as guessed
	Named    string // the name of the mapping, "" for none
	CopyOf   int64  // the intake of which it is a later copy
	// Rehearsed tells of the last rehearsal, nil where what was chosen since
	// was not rehearsed.
	Rehearsed *Rehearsed
	Batch     int64 // what it became; 0: it was not accepted yet
}

// Rehearsed is what taking a file in would come to.
type Rehearsed struct {
	At    time.Time
	Tally records.Batch
}

// Of files that were sent.
const (
	// MostSent is the largest file that is taken from a page, bytes.
	MostSent = 2 << 30
	// keptSent is how long one that nobody accepted is kept.
	keptSent = 14 * 24 * time.Hour
	mostName = 200
)

// spool keeps the files that were sent in a folder beside the database.
type spool struct {
	mu     sync.Mutex
	folder string // "": one of the system's own, made when it is needed
	own    bool
}

func (s *spool) path(parts ...string) (string, error) {
	if s.folder == "" {
		dir, err := os.MkdirTemp("", "tallybook-intake-")
		if err != nil {
			return "", records.WrapError(records.Internal, err, "there is no room for files that are sent")
		}
		s.folder, s.own = dir, true
	}
	return filepath.Join(append([]string{s.folder}, parts...)...), nil
}

// close takes away a folder of the system's own.
func (s *spool) close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.own || s.folder == "" {
		return nil
	}
	return os.RemoveAll(s.folder)
}

var sentToken = regexp.MustCompile(`^[0-9a-f]{16}$`)

const (
	sentFile   = "file"
	sentAbout  = "about.json"
	sentReport = "report.json"
)

// Receive takes a file that is sent, of at most MostSent bytes, and keeps it
// beside the database until it is accepted, dropped, or too old.
func (d *Desk) Receive(ctx context.Context, actor records.Actor, name string, r io.Reader) (*Sent, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, err
	}
	d.sweepSent()
	var random [8]byte
	if _, err := rand.Read(random[:]); err != nil {
		return nil, err
	}
	s := &Sent{Token: hex.EncodeToString(random[:]), Name: plainFileName(name), At: d.now().UTC(), By: actor.Name, Revision: 1}
	d.spool.mu.Lock()
	dir, err := d.spool.path(s.Token)
	d.spool.mu.Unlock()
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, spoolError(err)
	}
	if err := receive(ctx, filepath.Join(dir, sentFile), r, s); err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	if err := d.putSent(s); err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	return s, nil
}

// receive writes what is sent to a file.
func receive(ctx context.Context, path string, r io.Reader, s *Sent) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return spoolError(err)
	}
	digest := sha256.New()
	read := &reading{ctx: ctx, r: io.LimitReader(r, MostSent+1)}
	s.Size, err = io.Copy(io.MultiWriter(f, digest), read)
	switch {
	case read.err != nil && !errors.Is(read.err, io.EOF):
		err = records.WrapError(records.Invalid, read.err, "the file did not arrive whole; send it again")
	case err != nil:
		err = spoolError(err)
	case s.Size > MostSent:
		err = records.Errorf(records.TooLarge, "the file is larger than %d MB; cut it into several, or take it in on the command line (tallybook import)", MostSent>>20)
	case s.Size == 0:
		err = &records.Error{Code: records.Invalid, Field: "file", Message: "there is no file, or it is empty: choose one and send it"}
	}
	s.SHA256 = hex.EncodeToString(digest.Sum(nil))
	if cerr := f.Close(); err == nil && cerr != nil {
		err = spoolError(cerr)
	}
	return err
}

// reading tells what went wrong with the sender from what went wrong with the
// disk.
type reading struct {
	ctx context.Context
	r   io.Reader
	err error
}

func (r *reading) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		r.err = err
		return 0, err
	}
	n, err := r.r.Read(p)
	if err != nil {
		r.err = err
	}
	return n, err
}

func spoolError(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return records.WrapError(records.TooLarge, err, "the disk is full: make room, then send the file again")
	case errors.Is(err, fs.ErrPermission):
		return records.WrapError(records.Forbidden, err, "the file cannot be kept beside the database: its folder may not be written to")
	}
	return records.WrapError(records.Internal, err, "the file cannot be kept beside the database")
}

// plainFileName is the last part of a name, whatever system it comes from.
func plainFileName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if r < 0x20 || r == 0x7f {
			return -1
		}
		return r
	}, strings.ToValidUTF8(name, "\uFFFD"))
	for len(name) > mostName {
		name = name[1:]
	}
	if name = strings.ToValidUTF8(strings.TrimSpace(name), ""); name == "" || name == "." || name == ".." {
		return "file without a name"
	}
	return name
}

// putSent writes what is known of a file that was sent.
func (d *Desk) putSent(s *Sent) error {
	text, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return d.writeSent(s.Token, sentAbout, text)
}

// writeSent writes a file of the spool whole or not.
func (d *Desk) writeSent(token, name string, data []byte) error {
	d.spool.mu.Lock()
	defer d.spool.mu.Unlock()
	path, err := d.spool.path(token, name)
	if err != nil {
		return err
	}
	if err := os.WriteFile(path+".new", data, 0o600); err != nil {
		return spoolError(err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		return spoolError(err)
	}
	return nil
}

// readSent reads a file of the spool; NotFound where it is not there.
func (d *Desk) readSent(token, name string) ([]byte, error) {
	gone := records.Errorf(records.NotFound, "this file is no longer here: it was dropped, or nobody took it in for %d days; send it again", int(keptSent.Hours()/24))
	if !sentToken.MatchString(token) {
		return nil, gone
	}
	d.spool.mu.Lock()
	defer d.spool.mu.Unlock()
	path, err := d.spool.path(token, name)
	if err != nil {
		return nil, err
	}
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, gone
	}
	if err != nil {
		return nil, spoolError(err)
	}
	return text, nil
}

// SentFile tells of a file that was sent.
func (d *Desk) SentFile(_ context.Context, actor records.Actor, token string) (*Sent, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, err
	}
	text, err := d.readSent(token, sentAbout)
	if err != nil {
		return nil, err
	}
	s := &Sent{}
	if err := json.Unmarshal(text, s); err != nil {
		return nil, records.WrapError(records.Internal, err, "what is known of the file cannot be read; send it again")
	}
	return s, nil
}

// SentFiles lists the files that were sent and not accepted, the latest first.
func (d *Desk) SentFiles(ctx context.Context, actor records.Actor) ([]*Sent, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, err
	}
	var out []*Sent
	for _, token := range d.sentTokens() {
		s, err := d.SentFile(ctx, actor, token)
		if err != nil || s.Batch != 0 {
			continue // one that is being dropped, or is in
		}
		out = append(out, s)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].At.After(out[j].At) })
	return out, nil
}

func (d *Desk) sentTokens() []string {
	d.spool.mu.Lock()
	defer d.spool.mu.Unlock()
	if d.spool.folder == "" {
		return nil
	}
	entries, err := os.ReadDir(d.spool.folder)
	if err != nil {
		return nil // none was sent yet
	}
	var out []string
	for _, e := range entries {
		if e.IsDir() && sentToken.MatchString(e.Name()) {
			out = append(out, e.Name())
		}
	}
	return out
}

// DropSent forgets a file that was sent and not accepted.
func (d *Desk) DropSent(ctx context.Context, actor records.Actor, token string) error {
	if _, err := d.SentFile(ctx, actor, token); err != nil {
		return err
	}
	if w := d.works.of(token); w != nil && !w.Over() {
		return records.Errorf(records.Busy, "the file is being worked on; cancel that first")
	}
	return d.removeSent(token)
}

func (d *Desk) removeSent(token string) error {
	d.spool.mu.Lock()
	defer d.spool.mu.Unlock()
	path, err := d.spool.path(token)
	if err != nil {
		return err
	}
	if err := os.RemoveAll(path); err != nil {
		return spoolError(err)
	}
	return nil
}

// sweepSent drops what is too old, and what broke off.
func (d *Desk) sweepSent() {
	for _, token := range d.sentTokens() {
		d.spool.mu.Lock()
		path, err := d.spool.path(token)
		d.spool.mu.Unlock()
		if err != nil {
			return
		}
		info, err := os.Stat(path)
		if err != nil || d.now().Sub(info.ModTime()) < keptSent || d.works.of(token) != nil && !d.works.of(token).Over() {
			continue
		}
		if err := d.removeSent(token); err != nil {
			d.log.Warn("an old file that was sent cannot be taken away", "err", err)
		}
	}
}

// sentPath is where the file itself lies.
func (d *Desk) sentPath(token string) (string, error) {
	if !sentToken.MatchString(token) {
		return "", fmt.Errorf("desk: %q is no token", token)
	}
	d.spool.mu.Lock()
	defer d.spool.mu.Unlock()
	return d.spool.path(token, sentFile)
}

// removeSentFile takes away the file itself and its rehearsal: what is known
// of it stays until it is swept, so that its address still leads somewhere.
func (d *Desk) removeSentFile(token string) error {
	d.spool.mu.Lock()
	defer d.spool.mu.Unlock()
	var all error
	for _, name := range []string{sentFile, sentReport} {
		path, err := d.spool.path(token, name)
		if err == nil {
			err = os.Remove(path)
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			all = errors.Join(all, err)
		}
	}
	return all
}
