package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/server"
)

// demoSeed makes the township that everybody gets.
const demoSeed = 9

type demoCommand struct {
	DB   string `name:"db" placeholder:"FILE" help:"The demonstration database; made where it is absent. Default: tallybook-demo.db in the folder for temporary files."`
	Addr string `default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Loopback address to answer on; port 0 takes any free one."`
}

// Help teaches the command.
func (demoCommand) Help() string {
	return `Makes an invented township of 900 wells (plainly said to be invented), serves it
on this machine and prints the address. Change what you like: delete the file to
begin anew.

Example:
  tallybook demo`
}

// Run makes the database where it is absent and serves it.
func (cmd *demoCommand) Run(c *console) error {
	path := cmd.DB
	if path == "" {
		path = filepath.Join(os.TempDir(), "tallybook-demo.db")
	}
	// The address first: where it cannot be had, nothing is made.
	l, err := server.Listen(cmd.Addr)
	if err != nil {
		return err
	}
	_, err = os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		fmt.Fprintf(c.err, "making the demonstration database %s\n", path)
		if err := c.makeDemo(path); err != nil {
			return errors.Join(err, l.Close())
		}
	case err != nil:
		return errors.Join(records.WrapError(records.Invalid, err, "%s cannot be used", path), l.Close())
	}
	return c.serve(path, l, demo.Note)
}

// makeDemo makes the database beside its place and moves it there when it is
// whole, so that an interruption cannot leave half a township.
func (c *console) makeDemo(path string) error {
	dir, err := os.MkdirTemp(filepath.Dir(path), ".tallybook-demo-")
	if err != nil {
		return records.WrapError(records.Invalid, err, "cannot write in the folder of %s", path)
	}
	err = c.fillDemo(filepath.Join(dir, "demo.db"))
	if err == nil {
		err = os.Rename(filepath.Join(dir, "demo.db"), path)
	}
	return errors.Join(err, os.RemoveAll(dir))
}

func (c *console) fillDemo(path string) error {
	d, err := c.openDesk(path, opening{create: true, picture: true})
	if err != nil {
		return err
	}
	t := demo.Make(demoSeed)
	plates := make([]desk.PlateOf, len(t.Plates))
	for i, p := range t.Plates {
		plates[i] = desk.PlateOf{Plate: p.Plate, Well: p.Well}
	}
	err = d.AddAll(c.ctx, desk.LocalPerson(), t.Wells, plates, t.Layers)
	if err == nil {
		err = c.fillGround(d, t.Terrain())
	}
	if err == nil { // so that a scouting shows a cost at once
		err = d.SetInventedOffice(c.ctx, desk.LocalPerson())
	}
	if err == nil {
		err = c.fillOffice(d, t)
	}
	return closeAfter(d, err)
}

// fillGround loads the township's heights.
func (c *console) fillGround(d *desk.Desk, g demo.Terrain) error {
	_, err := d.LoadGround(c.ctx, desk.LocalPerson(), desk.GroundLoad{File: bytes.NewReader(g.ASC), Size: int64(len(g.ASC)),
		Name: g.Name, Source: g.File, Note: g.Note, EPSG: g.EPSG, Unit: "m", VertDatum: g.VertDatum})
	return err
}

// fillOffice keeps what was seen, the forecasts that quotes stand on, and the
// jobs.
func (c *console) fillOffice(d *desk.Desk, t *demo.Township) error {
	office := t.Office(d.Validation().Today)
	for _, s := range office.Sightings {
		if _, err := d.SaveSighting(c.ctx, desk.LocalPerson(), s, ""); err != nil {
			return fmt.Errorf("sighting: %w", err)
		}
	}
	for _, p := range t.FieldPlates(d.Validation().Today) {
		if _, err := d.KeepPlate(c.ctx, desk.LocalPerson(), p, ""); err != nil {
			return fmt.Errorf("plate %s: %w", p.Number, err)
		}
	}
	for _, j := range office.Jobs {
		if j.Forecast {
			if err := c.keepForecast(d, j.Job); err != nil {
				return fmt.Errorf("forecast of %s: %w", j.Job.Label, err)
			}
		}
		if j.Well >= 0 {
			j.Job.WellUID = t.Wells[j.Well].UID
		}
		if _, err := d.SaveJob(c.ctx, desk.LocalPerson(), j.Job, ""); err != nil {
			return fmt.Errorf("job %s: %w", j.Job.Label, err)
		}
	}
	return nil
}

// keepForecast scouts the place of a job as its page would, keeps the answer
// and makes the quote of it.
func (c *console) keepForecast(d *desk.Desk, j *records.Job) error {
	ask, question, err := server.StartingQuestion(position.LonLat{Lon: j.Lon, Lat: j.Lat})
	if err != nil {
		return err
	}
	f, err := d.KeepScouting(c.ctx, desk.LocalPerson(), ask, j.Label, question)
	if err != nil {
		return err
	}
	j.ForecastUID = f.UID
	cost, ok := f.Quantity(records.CostQuantity)
	if !ok {
		return nil
	}
	expected, _, err := desk.ExpectedOf(cost)
	if err != nil {
		return err
	}
	cents, until := expected.Scaled(100), j.Quote.ValidUntil
	j.Quote, _, _ = desk.QuoteOf(&cents, 0, cost.Unit)
	j.Quote.ValidUntil = until
	return nil
}
