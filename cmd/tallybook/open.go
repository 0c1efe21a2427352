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

// openDesk opens a database. create makes it where there is none; watch is how
// often to look for what other programs wrote, 0 for never.
func (c *console) openDesk(path string, create bool, watch time.Duration) (*desk.Desk, error) {
	log := slog.New(slog.NewTextHandler(c.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	vocabulary := lithology.Default()
	store, err := sqlite.Open(c.ctx, sqlite.Options{Path: path, Create: create, Reader: vocabulary, Log: log})
	if err != nil {
		return nil, err
	}
	d, err := desk.Open(c.ctx, desk.Options{Store: store, Vocabulary: vocabulary, Log: log, Watch: watch})
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
