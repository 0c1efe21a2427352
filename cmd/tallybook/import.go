package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
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
	d, err := c.openDesk(cmd.DB, true, 0)
	if err != nil {
		return err
	}
	src, err := importer.Open(cmd.Source, importer.Options{
		Format: format, Columns: cmd.Col, Units: cmd.Unit,
		Validate: d.Validation(),
	})
	if err != nil {
		return closeAfter(d, err)
	}
	b, err := cmd.takeIn(c, d, src)
	err = errors.Join(err, src.Close())
	if err := closeAfter(d, err); err != nil {
		return err
	}
	p := &printer{w: c.out}
	for _, n := range src.Notes() {
		p.f("note: %s\n", n)
	}
	p.f("%d read, %d accepted, %d of them with warnings, %d refused\n", b.Read, b.Accepted, b.Warned, b.Refused)
	if p.err == nil && b.Refused > 0 {
		return errPartial
	}
	return p.err
}

func (cmd *importCommand) takeIn(c *console, d *desk.Desk, src *importer.Source) (*records.Batch, error) {
	in := desk.Intake{Source: src, Name: filepath.Base(cmd.Source)}
	told := 0
	tell := func(r *importer.Row) {
		if told++; told > mostTold {
			return
		}
		for _, f := range r.Faults {
			fmt.Fprintf(c.err, "line %d, row %d: %s: %s\n", r.Line, r.Number, f.Severity, f)
		}
		if told == mostTold {
			fmt.Fprintln(c.err, "…and more, which are counted below")
		}
	}
	var files []*os.File
	closeFiles := func() error {
		var err error
		for _, f := range files {
			err = errors.Join(err, f.Close())
		}
		return err
	}
	var refusals *importer.Refusals
	if cmd.Refused != "" {
		for _, name := range []string{cmd.Refused + ".rows", cmd.Refused} {
			f, err := os.Create(name)
			if err != nil {
				return nil, errors.Join(records.WrapError(records.Invalid, err, "the refused rows cannot be written to %s", name), closeFiles())
			}
			files = append(files, f)
		}
		refusals = importer.NewRefusals(files[0], files[1], src)
	} else {
		refusals = importer.NewRefusals(nil, nil, src)
	}
	in.Refused = refusals
	in.Told = tell
	bar := c.progress("taking in")
	in.Progress = func(done, size, rows int64) { bar.at(done, size, fmt.Sprintf("%d rows", rows)) }
	b, err := d.TakeIn(c.ctx, desk.LocalPerson(), in)
	bar.end()
	return b, errors.Join(err, closeFiles())
}

// mostTold is how many rows with faults are told of on the terminal.
const mostTold = 20
