package main

import (
	"fmt"
	"io"
	"io/fs"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/exchange"
)

type exportCommand struct {
	dbFlag
	BBox    string `name:"bbox" placeholder:"W,S,E,N" help:"Only wells in this box, degrees; W greater than E crosses the antimeridian."`
	Filter  string `placeholder:"TEXT" help:"Only wells that a filter in CQL2 text chooses, by the fields of the web service's collection wells."`
	Format  string `enum:",geojson,geojsonl,csv,kml,gpkg" default:"" help:"geojson, geojsonl (one feature a line), csv, kml or gpkg (GeoPackage); by the ending of --out when left out."`
	Out     string `placeholder:"FILE" help:"Where to write; standard output when left out or -. A name ending in .csv gives a flat table; csv in a folder or in FILE.zip gives a set of tables; .ndjson or .geojsonl gives one feature a line; .kml gives KML, .gpkg a GeoPackage."`
	Private bool   `help:"With owners' names, addresses and telephone numbers."`
	Derived bool   `default:"true" negatable:"" help:"Where an elevation grid is in use: with the elevation derived from it, in columns of its own."`

	grids  bool          // whether elevations are derived
	ground desk.GroundAt // at the well that is being written
}

// options are what the writers are told.
func (cmd *exportCommand) options(lines bool) exchange.Options {
	o := exchange.Options{Private: cmd.Private, NDJSON: lines}
	if cmd.grids {
		o.Ground = func(*records.Well) (exchange.DerivedGround, bool) {
			return exchange.DerivedGround{ElevationM: cmd.ground.ElevationM, From: cmd.ground.Grid, Datum: cmd.ground.Datum}, cmd.ground.OK
		}
	}
	return o
}

// told takes what a grid has at the next well.
func (cmd *exportCommand) told() func(desk.GroundAt) {
	if !cmd.grids {
		return nil
	}
	return func(at desk.GroundAt) { cmd.ground = at }
}

// Help teaches the command.
func (exportCommand) Help() string {
	return `Writes each well as a GeoJSON feature (RFC 7946) with everything the record
holds; what came in from a file comes back as it came, to the digit. Owners and
addresses are left out unless asked for, and so are the names of attached scans.
The scans themselves are never in it: 'copy --private' makes a whole copy.

As csv, a folder (or FILE.zip) gets a set of tables: wells.csv, and strata.csv,
casing.csv, strikes.csv and so on for the lists that any well has, joined by the
column uid; plates.csv, plate_seen.csv and sightings.csv stand beside them, and
with --private attachments.csv, the list of scans. A GeoPackage has the same
tables, what has a place as points. A text that a spreadsheet would run as a
formula has an apostrophe before it in a table, which import takes away again;
numbers are as they are.

Where an elevation grid is in use (see 'tallybook ground'), the elevation that it
has at each well goes along, with the grid's name, apart from what the record
says: in the property derived, or in columns that begin with it. import passes it
over. --no-derived leaves it out.

--filter chooses wells by what their records say, in the text form of the open
standard CQL2: a value that is missing is neither more nor less than another,
and a bound such as <1 counts as the number in it, with yield_qualifier beside
it. Depths are asked in metres or feet (total_depth_m, total_depth_ft), yields in
litres a second or gallons a minute (yield_lps, yield_gpm). A date that knows only its year is before or after a day only where every
day of that year is.

Examples:
  tallybook export --db county.db --out county.geojson
  tallybook export --db county.db --out deep.csv \
      --filter "yield_gpm >= 3 AND total_depth_ft > 200 AND completed >= DATE('2000-01-01')"
  tallybook export --db county.db --bbox -38.8,44.2,-38.7,44.3 > part.geojson
  tallybook export --db county.db --format csv --out county-tables
  tallybook import --db other.db --with strata=county-tables/strata.csv \
      --with casing=county-tables/casing.csv county-tables/wells.csv`
}

// wellWriter is what the writers of package exchange have in common.
type wellWriter interface {
	Write(*records.Well) error
	Close() error
}

// besideWriter is one that has tables for what stands beside the wells.
type besideWriter interface {
	WritePlate(*records.Plate) error
	WriteSighting(*records.Sighting) error
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
	form, err := cmd.form()
	if err != nil {
		return err
	}
	if err := apart("--out", cmd.Out, cmd.DB); err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	if cmd.Derived {
		if cmd.grids, err = d.HasGround(c.ctx, desk.LocalPerson()); err != nil {
			return closeAfter(d, err)
		}
	}
	n, err := cmd.to(c, form, func(out wellWriter) (int64, error) { return cmd.each(c, d, in, out) })
	if err == nil {
		fmt.Fprintln(c.err, counted(n, "well"), "written")
	}
	return closeAfter(d, err)
}

// to writes in a form to where it is asked for.
func (cmd *exportCommand) to(c *console, form exportForm, each func(wellWriter) (int64, error)) (n int64, err error) {
	mode := fs.FileMode(0o644)
	if cmd.Private {
		mode = 0o600
	}
	write := func(w io.Writer) error {
		out, err := cmd.writer(form, w)
		if err == nil {
			n, err = each(out)
		}
		return err
	}
	switch {
	case form == formSet:
		err = writeTables(cmd.Out, mode, cmd.options(false), func(s *exchange.CSVSet) error { n, err = each(s); return err })
	case form == formPackage:
		err = cmd.writePackage(mode, func(out wellWriter) error { n, err = each(out); return err })
	case cmd.toScreen():
		if err = write(c.out); err != nil && c.ctx.Err() != nil {
			err = errOutputCut
		}
	default:
		err = writeFile(cmd.Out, mode, write)
	}
	return n, err
}

func (cmd *exportCommand) toScreen() bool { return cmd.Out == "" || cmd.Out == "-" }

// each hands the wells to a writer, and ends it.
func (cmd *exportCommand) each(c *console, d *desk.Desk, in *records.Bounds, out wellWriter) (int64, error) {
	bar := c.progress("writing")
	defer bar.end()
	n := int64(0)
	err := d.GiveOutWanted(c.ctx, desk.LocalPerson(), desk.Wanted{In: in, Filter: cmd.Filter, Private: cmd.Private, Ground: cmd.told()}, func(w *records.Well, total int64) error {
		if n++; n%500 == 0 {
			bar.at(n, total, "")
		}
		return out.Write(w)
	})
	if other, ok := out.(besideWriter); ok && err == nil && cmd.Filter == "" {
		err = d.GiveOutBeside(c.ctx, desk.LocalPerson(), in, cmd.Private, other.WritePlate, other.WriteSighting)
	}
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
