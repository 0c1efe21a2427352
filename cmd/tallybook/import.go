package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/records/lithology"
)

type importCommand struct {
	DB       string            `name:"db" placeholder:"FILE" help:"The database. Not needed with --look."`
	Look     bool              `help:"Say what the file holds and write a guessed mapping, to be looked through, edited and given back with --mapping. Nothing is taken in."`
	Rehearse bool              `help:"Go through the whole file, say what would be accepted and refused, and write nothing to the database."`
	Mapping  string            `placeholder:"FILE" help:"What the sheets and columns mean, as --look wrote it."`
	With     map[string]string `placeholder:"SHEET=FILE" mapsep:"none" help:"A table that goes with the wells, such as strata=strata.csv, joined by a key. Repeat for more."`
	Sheet    string            `placeholder:"NAME" help:"The one sheet of a workbook to read."`
	Col      map[string]string `placeholder:"FIELD=COLUMN" mapsep:"none" help:"Which column of a table holds a field, such as depth_to_bedrock=BEDROCK_FT. Repeat for more."`
	Unit     map[string]string `placeholder:"FIELD=UNIT" mapsep:"none" help:"Which unit a field is in, such as yield=gpm; for a date the order of its parts, ymd, mdy or dmy. Repeat for more."`
	Refused  string            `placeholder:"FILE" help:"Where refused rows go, with line, reason and the row unchanged; the rows alone, to be mended and sent again, go to FILE.rows beside it (and those of further sheets to FILE.SHEET.rows)."`
	CopyOf   int64             `placeholder:"N" help:"The file is a later copy of intake N: its rows are compared with the records that came in then. What the office has corrected stays."`
	Format   string            `enum:"auto,geojson,csv,xlsx" default:"auto" help:"auto, geojson, csv or xlsx."`
	Encoding string            `enum:"auto,utf-8,windows-1252" default:"auto" help:"auto, utf-8 or windows-1252 (which holds Latin-1). UTF-16 is told by itself."`
	mapped   *importer.Mapping // by which the file is read
	Source   string            `arg:"" help:"GeoJSON (a FeatureCollection or one feature a line), a table (CSV, with any delimiter) or a workbook (XLSX)."`
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
with each record and comes back on export. For any other table: look, look
through the mapping, rehearse, take in.

  tallybook import --look county.xlsx > county.mapping.json
  (edit county.mapping.json)
  tallybook import --db county.db --mapping county.mapping.json --rehearse county.xlsx
  tallybook import --db county.db --mapping county.mapping.json --refused refused county.xlsx

In a mapping each column has a "field" and, where they are needed, a "unit"
(ft, gpm…), a "datum" (NAD27, NAD83, WGS 84), the "order" of its dates (mdy, dmy,
ymd), the texts that stand for "unknown" (["99", "N/A"]) and "ditto": true where
marks repeat the row above. "pivot": 1930 says that 87 is 1987 and 05 is 2005,
"serials": "1900" that bare numbers are a spreadsheet's days, "decimal": "comma"
that 1,250 is one and a quarter. What the file's own rows speak for (the order of
its dates, swapped coordinates, a number for unknown) is told as "proposed" and
changes nothing until the mapping says so. The field "log" is a whole log in free
text (0-12 clay; 12-40 hardpan), "legal" a land description (NE SW Sec 14 T12N
R5W, Lot 12 Con 5), located by the parts that your own layers have. A column
without a field is kept as it stands; "leave_out": true drops it. The properties
of GeoJSON are mapped alike. "splits" cut a column into several, by what parts
them or by a pattern, and "joins" make one of several:

  {"version": 1, "sheets": [{"role": "wells", "columns": [
     {"column": "TD", "field": "total_depth", "unit": "ft", "unknown": ["0", "999"]},
     {"column": "lat", "field": "lat"}, {"column": "lon", "field": "lon"}],
   "splits": [{"column": "LATLON", "by": ",", "into": ["lat", "lon"]}]}]}

A workbook may have a sheet of wells and sheets of their strata, casing, water
strikes and levels, joined by the column that each names as its "key"; files may
too (--with strata=strata.csv). One table may have the well's columns on every
row of its strata: give it the role "strata". A well and the rows that go with it
are taken in together or refused together; a row whose well is not there is a
refused row of its own.

Examples:
  tallybook import --db county.db wells.geojson
  tallybook import --db county.db --col total_depth=TD --unit total_depth=ft \
      --col lon=X --col lat=Y --refused refused.ndjson wells.csv
  tallybook import --db county.db --with strata=strata.csv --mapping m.json wells.csv`
}

// Run takes the file in, or looks at it.
func (cmd *importCommand) Run(c *console) error {
	o, err := cmd.options()
	if err != nil {
		return err
	}
	if cmd.Look {
		return cmd.look(c, o)
	}
	if cmd.DB == "" {
		return records.Errorf(records.Invalid, "say which database: --db FILE")
	}
	for _, name := range cmd.refusedFiles() {
		if err := apart("--refused", name, append(cmd.inputs(), cmd.DB)...); err != nil {
			return err
		}
	}
	told, err := cmd.apply(&o)
	if err != nil {
		return err
	}
	// The source first: where it cannot be read, no database is made.
	src, err := importer.Open(cmd.Source, o)
	if err != nil {
		return err
	}
	var unread unread
	b, err := cmd.withDesk(c, src, &unread)
	if err = errors.Join(err, src.Close()); err != nil {
		return err
	}
	return cmd.report(c, b, src, told, &unread)
}

// options are those of the source.
func (cmd *importCommand) options() (importer.Options, error) {
	o := importer.Options{
		Columns: cmd.Col, Units: cmd.Unit, Sheet: cmd.Sheet,
		Validate: desk.ValidationAt(time.Now(), lithology.Default()),
	}
	if cmd.Encoding != "auto" {
		o.Encoding = cmd.Encoding
	}
	format, err := importer.ParseFormat(cmp.Or(cmd.Format, "auto"))
	if err != nil {
		return o, err
	}
	o.Format = format
	for _, name := range slices.Sorted(maps.Keys(cmd.With)) {
		o.With = append(o.With, importer.Beside{Sheet: name, Path: cmd.With[name]})
	}
	if cmd.Mapping == "" {
		return o, nil
	}
	text, err := os.ReadFile(cmd.Mapping)
	if err != nil {
		return o, records.WrapError(records.NotFound, err, "the mapping %s cannot be read", cmd.Mapping)
	}
	o.Mapping, err = importer.ReadMapping(text)
	return o, err
}

// apply fits a mapping to the file, and gives in words what does not fit.
func (cmd *importCommand) apply(o *importer.Options) (told []string, err error) {
	if o.Mapping == nil {
		return nil, nil
	}
	look := *o
	look.Columns, look.Units, look.Mapping = nil, nil, nil
	l, err := importer.LookAt(cmd.Source, look)
	if err != nil {
		return nil, err
	}
	if l.Format == importer.GeoJSON {
		return nil, nil
	}
	o.Mapping, told = o.Mapping.Applied(l)
	cmd.mapped = o.Mapping
	return told, nil
}

// withDesk opens the database and goes through the file.
func (cmd *importCommand) withDesk(c *console, src *importer.Source, u *unread) (*records.Batch, error) {
	if _, err := os.Stat(cmd.DB); cmd.Rehearse && cmd.CopyOf == 0 && errors.Is(err, os.ErrNotExist) {
		return cmd.through(c, src, u) // and make none
	}
	d, err := c.openDesk(cmd.DB, opening{create: !cmd.Rehearse})
	if err != nil {
		return nil, err
	}
	take := d.TakeIn
	if cmd.Rehearse {
		take = d.Rehearse
	}
	b, err := cmd.keepRefused(c, src, func(in desk.Intake) (*records.Batch, error) {
		in.Accepted, in.CopyOf = u.look, cmd.CopyOf
		if cmd.mapped != nil {
			in.Mapping, in.Named = string(cmd.mapped.JSON()), cmd.mapped.Name
		}
		return take(c.ctx, desk.LocalPerson(), in)
	})
	return b, closeAfter(d, err)
}

// through rehearses where there is no database yet.
func (cmd *importCommand) through(c *console, src *importer.Source, u *unread) (*records.Batch, error) {
	return cmd.keepRefused(c, src, func(in desk.Intake) (*records.Batch, error) {
		b := &records.Batch{Source: in.Name}
		err := importer.Pipeline(c.ctx, src, runtime.GOMAXPROCS(0), func(r *importer.Row) error {
			b.Read++
			if len(r.Faults) > 0 {
				in.Told(r)
			}
			if r.Refused() {
				b.Refused++
				return in.Refused.Write(r)
			}
			b.Accepted++
			if r.Warned() {
				b.Warned++
			}
			u.look(r)
			return nil
		})
		return b, errors.Join(err, in.Refused.Close())
	})
}

// keepRefused goes through the file, with what was refused written to files of
// their own, which are only there when all went well.
func (cmd *importCommand) keepRefused(c *console, src *importer.Source, run func(desk.Intake) (*records.Batch, error)) (*records.Batch, error) {
	told := 0
	tell := func(r *importer.Row) {
		for _, f := range r.Faults {
			if r.Refused() && f.Severity != records.Refusal {
				continue // what keeps it out is enough to say
			}
			if told++; told <= mostTold {
				where := fmt.Sprintf("line %d, row %d", r.Line, r.Number)
				if r.Sheet != "" {
					where = fmt.Sprintf("sheet %q, row %d", r.Sheet, r.Line)
				}
				fmt.Fprintf(c.err, "%s: %s: %s\n", where, f.Severity, f)
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
	begin := func(name string) (io.Writer, error) {
		f, err := newDraft(name, 0o600)
		if err == nil {
			drafts = append(drafts, f)
		}
		return f, err
	}
	var to [2]io.Writer
	for i, name := range cmd.refusedFiles() {
		f, err := begin(name)
		if err != nil {
			return nil, end((*draft).drop, err)
		}
		to[i] = f
	}
	refused := importer.NewRefusals(to[1], to[0], src)
	if cmd.Refused != "" {
		refused.Others(func(sheet string) (io.Writer, error) { return begin(cmd.refusedSheet(sheet)) })
	}
	bar := c.progress("taking in")
	b, err := run(desk.Intake{
		Source: src, Name: filepath.Base(cmd.Source), Told: tell, Refused: refused,
		Progress: func(done, size, rows int64) { bar.at(done, size, fmt.Sprintf("%d rows", rows)) },
	})
	bar.end()
	if err != nil {
		return nil, end((*draft).drop, err)
	}
	return b, end((*draft).keep, nil)
}

// inputs are the files that are read.
func (cmd *importCommand) inputs() []string {
	in := []string{cmd.Source}
	for _, path := range cmd.With {
		in = append(in, path)
	}
	if cmd.Mapping != "" {
		in = append(in, cmd.Mapping)
	}
	return in
}

// refusedFiles are the files that refused rows go to: with reasons, and alone.
func (cmd *importCommand) refusedFiles() []string {
	if cmd.Refused == "" {
		return nil
	}
	return []string{cmd.Refused, cmd.Refused + ".rows"}
}

// refusedSheet is the file for the refused rows of a further sheet.
func (cmd *importCommand) refusedSheet(sheet string) string {
	plain := strings.Map(func(r rune) rune {
		if r == '/' || r == '\\' || r == ':' || r < ' ' || r == 0x7f {
			return '_'
		}
		return r
	}, sheet)
	return cmd.Refused + "." + plain + ".rows"
}

// mostTold is how many faults are told of on the terminal.
const mostTold = 20
