package main

import (
	"log/slog"
	"time"

	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/sqlite"
)

// dbFlag names the database.
type dbFlag struct {
	DB string `name:"db" required:"" placeholder:"FILE" help:"The database."`
}

// opening says what a command needs of a database.
type opening struct {
	create  bool          // make it where there is none
	serve   bool          // keep other servers off it
	watch   time.Duration // how often to look for what others wrote; 0: never
	picture bool          // whether it asks anything of the picture of all wells
}

// openDesk opens a database.
func (c *console) openDesk(path string, o opening) (*desk.Desk, error) {
	log := slog.New(slog.NewTextHandler(c.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	vocabulary := lithology.Default()
	store, err := sqlite.Open(c.ctx, sqlite.Options{Path: path, Create: o.create, Reader: vocabulary, Log: log})
	if err != nil {
		return nil, err
	}
	if o.serve {
		// The claim ends with the store.
		if _, _, err := store.Claim("server"); err != nil {
			return nil, closeAfter(store, err)
		}
	}
	// Files that are sent to a server wait beside its database.
	spool := ""
	if o.serve {
		spool = path + ".intake"
	}
	d, err := desk.Open(c.ctx, desk.Options{Store: store, Vocabulary: vocabulary, Log: log, Watch: o.watch, NoPicture: !o.picture, Spool: spool, Program: "tallybook " + version})
	if err != nil {
		return nil, closeAfter(store, err)
	}
	return d, nil
}

// closeAfter closes something after an error and keeps the first.
func closeAfter(c interface{ Close() error }, err error) error {
	if e := c.Close(); err == nil {
		return e
	}
	return err
}
