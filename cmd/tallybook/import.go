package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/records/lithology"
)

type importCommand struct {
	dbFlag
	Col     map[string]string `placeholder:"FIELD=COLUMN" mapsep:"none" help:"Which column of a table holds a field, such as depth_to_bedrock=BEDROCK_FT. Repeat for more."`
	Unit    map[string]string `placeholder:"FIELD=UNIT" mapsep:"none" help:"Which unit a field is in, such as yield=gpm; for a date the order of its parts, ymd, mdy or dmy. Repeat for more."`
	Refused string            `placeholder:"FILE" help:"Where refused rows go, with line, reason and the row unchanged; the rows alone, to be mended and sent again, go to FILE.rows beside it."`
	Format  string            `enum:"auto,geojson,csv" default:"auto" help:"auto, geojson or csv."`
	Source  string            `arg:"" help:"GeoJSON (a FeatureCollection or one feature a line) or a table of wells (CSV)."`
}

// Help teaches the command.
func (importCommand) Help() string {
	return `Makes the database where there is none. Each row is accepted, accepted with
warnings, or refused; the last line counts them, and rows read are rows accepted
plus rows refused. A file that breaks off, or an import that is interrupted,
leaves nothing behind. Ends with 3 when rows were refused. A server may run on
the same database meanwhile.

Columns whose names are those of the profile (lon, lat, depth_to_bedrock_m,
total_depth_ft, yield_gpm, completed…) are found by themselves; the rest is kept
with each record and comes back on export.

Examples:
  tallybook import --db county.db wells.geojson
  tallybook import --db county.db --col total_depth=TD --unit total_depth=ft \
      --col lon=X --col lat=Y --refused refused.ndjson wells.csv`
}

// Run takes the file in.
func (cmd *importCommand) Run(c *console) error {
	format := importer.Auto
	switch cmd.Format {
	case "geojson":
		format = importer.GeoJSON
	case "csv":
		format = importer.CSV
	}
	for _, name := range cmd.refusedFiles() {
		if err := apart("--refused", name, cmd.Source, cmd.DB); err != nil {
			return err
		}
	}
	// The source first: where it cannot be read, no database is made.
	src, err := importer.Open(cmd.Source, importer.Options{
		Format: format, Columns: cmd.Col, Units: cmd.Unit,
		Validate: desk.ValidationAt(time.Now(), lithology.Default()),
	})
	if err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{create: true})
	if err != nil {
		return closeAfter(src, err)
	}
	var unread unread
	b, err := cmd.takeIn(c, d, src, &unread)
	err = errors.Join(err, src.Close())
	if err := closeAfter(d, err); err != nil {
		return err
	}
	p := &printer{w: c.out}
	for _, n := range src.Notes() {
		p.f("note: %s\n", n)
	}
	if words := unread.words(); words != "" {
		p.f("note: kept with the records and given back on export, but not understood: %s\n", words)
	}
	p.f("%d read, %d accepted, %d of them with warnings, %d refused\n", b.Read, b.Accepted, b.Warned, b.Refused)
	if p.err == nil && b.Refused > 0 {
		return errPartial
	}
	return p.err
}

func (cmd *importCommand) takeIn(c *console, d *desk.Desk, src *importer.Source, u *unread) (*records.Batch, error) {
	told := 0
	tell := func(r *importer.Row) {
		for _, f := range r.Faults {
			if r.Refused() && f.Severity != records.Refusal {
				continue // what keeps it out is enough to say
			}
			if told++; told <= mostTold {
				fmt.Fprintf(c.err, "line %d, row %d: %s: %s\n", r.Line, r.Number, f.Severity, f)
			}
			if told == mostTold+1 {
				fmt.Fprintln(c.err, "…and more; every row is counted at the end, and --refused keeps those that were refused")
			}
		}
	}
	var drafts []*draft
	end := func(how func(*draft) error, err error) error {
		for _, d := range drafts {
			err = errors.Join(err, how(d))
		}
		return err
	}
	var to [2]io.Writer
	for i, name := range cmd.refusedFiles() {
		f, err := newDraft(name, 0o600)
		if err != nil {
			return nil, end((*draft).drop, err)
		}
		drafts = append(drafts, f)
		to[i] = f
	}
	bar := c.progress("taking in")
	b, err := d.TakeIn(c.ctx, desk.LocalPerson(), desk.Intake{
		Source: src, Name: filepath.Base(cmd.Source), Told: tell, Accepted: u.look,
		Refused:  importer.NewRefusals(to[1], to[0], src),
		Progress: func(done, size, rows int64) { bar.at(done, size, fmt.Sprintf("%d rows", rows)) },
	})
	bar.end()
	if err != nil {
		return nil, end((*draft).drop, err)
	}
	return b, end((*draft).keep, nil)
}

// refusedFiles are the files that refused rows go to: with reasons, and alone.
func (cmd *importCommand) refusedFiles() []string {
	if cmd.Refused == "" {
		return nil
	}
	return []string{cmd.Refused, cmd.Refused + ".rows"}
}

// mostTold is how many faults are told of on the terminal.
const mostTold = 20
