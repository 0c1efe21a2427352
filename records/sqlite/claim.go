package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"

	"tallybook/records"
)

// errNoClaims says that this kind of system has no locks of the kind needed.
var errNoClaims = errors.New("sqlite: no claims on this system")

// errClaimed says that somebody has the claim.
var errClaimed = errors.New("sqlite: claimed")

// claims are what only one program, or one part of it, may do with a file at a
// time, by the byte that is locked for it. The bytes lie far beyond any that
// the file has and any that SQLite locks (1 GiB and 510 bytes from there).
var claims = map[string]int64{"intake": 1<<62 + 1, "server": 1<<62 + 2, "ground": 1<<62 + 3}

// claimed are the claims that a store holds.
type claimed struct {
	mu   sync.Mutex
	file *os.File // nil until the first claim
	held map[string]bool
}

// Claim takes one of the things that are done by one at a time, 'intake',
// 'server' and 'ground', until release or the end of the program, however it ends. held is
// false, without an error, where it cannot be known whether another has it: on
// some systems and on some shared folders. An Error with code Busy says that
// another has it.
func (s *Store) Claim(what string) (release func() error, held bool, err error) {
	at, ok := claims[what]
	if !ok {
		return nil, false, fmt.Errorf("sqlite: there is no claim %q", what)
	}
	c := &s.claimed
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.held[what] {
		return nil, false, records.WrapError(records.Busy, errClaimed, "%s", busyWith[what])
	}
	if c.file == nil {
		f, err := os.OpenFile(s.path, os.O_RDWR, 0)
		if errors.Is(err, fs.ErrPermission) {
			return nil, false, records.WrapError(records.Forbidden, err, "the file %s may not be written to", s.path)
		}
		if err != nil {
			return nil, false, fmt.Errorf("sqlite: claim: %w", err)
		}
		c.file, c.held = f, map[string]bool{}
	}
	switch err := lockByte(c.file, at, true); {
	case errors.Is(err, errClaimed):
		return nil, false, records.WrapError(records.Busy, err, "%s", busyWith[what])
	case errors.Is(err, errNoClaims):
		return func() error { return nil }, false, nil
	case err != nil:
		return nil, false, fmt.Errorf("sqlite: claim: %w", err)
	}
	c.held[what] = true
	return func() error { return c.release(what, at) }, true, nil
}

func (c *claimed) release(what string, at int64) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.held[what] {
		return nil
	}
	delete(c.held, what)
	return lockByte(c.file, at, false)
}

// close lets go of all claims. Closing any handle of a file drops the locks
// that SQLite holds on it for this process, so it comes after the pools.
func (c *claimed) close() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.file == nil {
		return nil
	}
	err := c.file.Close()
	c.file, c.held = nil, nil
	return err
}

var busyWith = map[string]string{
	"intake": "another file is being taken in to this database: wait until that has ended, and try again",
	"server": "this database is being served already: use the address that the other program printed, or end that program first",
	"ground": "another elevation grid is being loaded or deleted: wait until that has ended, and try again",
}
