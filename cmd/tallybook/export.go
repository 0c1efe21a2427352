package main

import (
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/exchange"
)

type exportCommand struct {
	dbFlag
	BBox    string `name:"bbox" placeholder:"W,S,E,N" help:"Only wells in this box, degrees; W greater than E crosses the antimeridian."`
	Out     string `placeholder:"FILE" help:"Where to write; standard output when left out or -. A name ending in .csv gives a flat table, .ndjson or .geojsonl one feature a line."`
	Private bool   `help:"With owners' names, addresses and telephone numbers."`
}

// Help teaches the command.
func (exportCommand) Help() string {
	return `Writes each well as a GeoJSON feature (RFC 7946) with everything the record
holds; what came in from a file comes back as it came, to the digit. Owners and
addresses are left out unless asked for, and so are the names of attached scans.
The scans themselves are never in it: a whole copy is the database and, where
there is one, the folder beside it whose name ends in .attached, both copied
while no program has them open.

Examples:
  tallybook export --db county.db --out county.geojson
  tallybook export --db county.db --bbox -71.3,44.4,-71.1,44.6 > part.geojson`
}

// wellWriter is what the writers of package exchange have in common.
type wellWriter interface {
	Write(*records.Well) error
	Close() error
}

// Run writes the wells.
func (cmd *exportCommand) Run(c *console) error {
	var in *records.Bounds
	if cmd.BBox != "" {
		b, err := parseBox(cmd.BBox)
		if err != nil {
			return err
		}
		if err := degreesBox(b); err != nil {
			return err
		}
		in = &records.Bounds{West: b[0], South: b[1], East: b[2], North: b[3]}
	}
	toScreen := cmd.Out == "" || cmd.Out == "-"
	if err := apart("--out", cmd.Out, cmd.DB); err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	var n int64
	write := func(w io.Writer) error {
		var err error
		n, err = cmd.write(c, d, in, w)
		return err
	}
	mode := fs.FileMode(0o644)
	if cmd.Private {
		mode = 0o600
	}
	if toScreen {
		if err = write(c.out); err != nil && c.ctx.Err() != nil {
			err = errOutputCut
		}
	} else {
		err = writeFile(cmd.Out, mode, write)
	}
	if err == nil {
		fmt.Fprintln(c.err, counted(n, "well"), "written")
	}
	return closeAfter(d, err)
}

func (cmd *exportCommand) write(c *console, d *desk.Desk, in *records.Bounds, w io.Writer) (int64, error) {
	o := exchange.Options{Private: cmd.Private}
	var out wellWriter
	switch ext := strings.ToLower(filepath.Ext(cmd.Out)); ext {
	case ".csv":
		csv, err := exchange.NewCSV(w, exchange.CSVColumns(cmd.Private), o)
		if err != nil {
			return 0, err
		}
		out = csv
	default:
		o.NDJSON = ext == ".ndjson" || ext == ".geojsonl" || ext == ".jsonl" || ext == ".geojsons"
		out = exchange.NewGeoJSON(w, o)
	}
	bar := c.progress("writing")
	defer bar.end()
	n := int64(0)
	err := d.GiveOut(c.ctx, desk.LocalPerson(), in, cmd.Private, func(w *records.Well, total int64) error {
		if n++; n%500 == 0 {
			bar.at(n, total, "")
		}
		return out.Write(w)
	})
	if err != nil {
		return n, err
	}
	return n, out.Close()
}

// parseBox reads four numbers parted by commas.
func parseBox(text string) ([4]float64, error) {
	var b [4]float64
	parts := strings.Split(text, ",")
	if len(parts) != 4 {
		return b, records.Errorf(records.Invalid, "--bbox %s: give four numbers, west,south,east,north", text)
	}
	for i, p := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || v-v != 0 {
			return b, records.Errorf(records.Invalid, "--bbox %s: %q is not a number", text, p)
		}
		b[i] = v
	}
	if b[1] >= b[3] {
		return b, records.Errorf(records.Invalid, "--bbox %s: south is not below north; the order is west,south,east,north", text)
	}
	return b, nil
}

// degreesBox says what keeps a box from being one of degrees.
func degreesBox(b [4]float64) error {
	if b[0] < -180 || b[0] > 180 || b[2] < -180 || b[2] > 180 || b[1] < -90 || b[3] > 90 {
		return records.Errorf(records.Invalid, "--bbox: longitudes lie within ±180 and latitudes within ±90 degrees")
	}
	return nil
}
