package main

import (
	"errors"
	"fmt"
	"log/slog"
	"net"
	"time"

	"tallybook/server"
)

// watchEvery is how often a server looks for what other programs wrote.
const watchEvery = time.Second

type serveCommand struct {
	dbFlag
	Addr string `default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Loopback address to answer on; port 0 takes any free one."`
}

// Help teaches the command.
func (serveCommand) Help() string {
	return `The first line on standard output holds the address once it answers. The
program answers to this machine alone. Imports and exports may run beside it.

Example:
  tallybook serve --db county.db --addr 127.0.0.1:8080`
}

// Run serves until interrupted.
func (cmd *serveCommand) Run(c *console) error {
	l, err := server.Listen(cmd.Addr)
	if err != nil {
		return err
	}
	return c.serve(cmd.DB, l, "")
}

// serve answers on a listener, which it closes.
func (c *console) serve(path string, l net.Listener, note string) error {
	d, err := c.openDesk(path, opening{serve: true, watch: watchEvery, picture: true})
	if err != nil {
		return errors.Join(err, l.Close())
	}
	log := slog.New(slog.NewTextHandler(c.err, &slog.HandlerOptions{Level: slog.LevelInfo}))
	s, err := server.New(server.Options{Desk: d, Log: log, Note: note})
	if err != nil {
		return errors.Join(err, l.Close(), d.Close())
	}
	fmt.Fprintf(c.out, "http://%s/\n", l.Addr())
	return closeAfter(d, s.Serve(c.ctx, l))
}
