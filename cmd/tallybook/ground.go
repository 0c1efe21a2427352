package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
)

type groundCommand struct {
	Load    groundLoadCommand    `cmd:"" help:"Load an elevation grid."`
	List    groundListCommand    `cmd:"" help:"List the grids, and what they do for the wells."`
	At      groundAtCommand      `cmd:"" help:"Say the elevation of the ground at places."`
	Remove  groundRemoveCommand  `cmd:"" help:"Take a grid out of use; it can be put back."`
	Restore groundRestoreCommand `cmd:"" help:"Put a grid back into use."`
}

// Help teaches the command.
func (groundCommand) Help() string {
	return `A grid of ground elevations (a terrain model) gives every well without an
elevation a derived one, marked with the grid's name and never stored as if
somebody had measured it. Several grids may be loaded: the finest that has a
height at a place counts.

Example:
  tallybook ground load --db county.db --name "County terrain" --datum NAVD88 dem.asc
  tallybook ground list --db county.db`
}

type groundLoadCommand struct {
	dbFlag
	Name   string `required:"" help:"What the grid is called; what is derived from it bears this name."`
	SRID   int    `name:"srid" placeholder:"N" help:"EPSG code of its coordinates: 4326 (degrees), 32601 to 32660 and 32701 to 32760 (UTM). Read from FILE.prj when left out."`
	Unit   string `enum:"m,ft,us-ft" default:"m" help:"Unit of its heights: m, ft (0.3048 m) or us-ft (1200/3937 m)."`
	Datum  string `required:"" placeholder:"NAME" help:"The vertical datum that its heights are counted from, as its source names it."`
	Note   string `help:"Whence it is, how old it is, what it may be used for."`
	Source string `arg:"" name:"file" help:"An ESRI ASCII grid, FILE.asc, of any size."`
}

// Help teaches the command.
func (groundLoadCommand) Help() string {
	return `The grid is kept in the database, packed without loss; a county of 36 million
cells takes some seconds and little memory. A grid in use of the same name is
taken out and can be put back.

A GeoTIFF or any other raster becomes an ASCII grid by a general GIS tool, which
writes FILE.prj beside it:
  gdal_translate -of AAIGrid terrain.tif terrain.asc
Coordinates other than degrees and UTM, or on another datum than WGS 84 and
NAD83, are brought there first (with the number of your own zone):
  gdalwarp -t_srs EPSG:32619 -r bilinear other.tif terrain.tif

Example:
  tallybook ground load --db county.db --name "County terrain" --datum NAVD88 \
      --unit ft terrain.asc`
}

// Run loads the grid.
func (cmd *groundLoadCommand) Run(c *console) error {
	f, err := os.Open(cmd.Source)
	if err != nil {
		code := records.Invalid
		if errors.Is(err, fs.ErrNotExist) {
			code = records.NotFound
		}
		return records.WrapError(code, err, "the grid %s cannot be read", cmd.Source)
	}
	err = cmd.load(c, f)
	return errors.Join(err, f.Close())
}

func (cmd *groundLoadCommand) load(c *console, f *os.File) error {
	st, err := f.Stat()
	if err != nil || st.IsDir() {
		return records.WrapError(records.Invalid, err, "%s is no file of a grid", cmd.Source)
	}
	in := desk.GroundLoad{File: f, Size: st.Size(), Name: cmd.Name, Source: filepath.Base(cmd.Source), Note: cmd.Note,
		EPSG: cmd.SRID, Unit: cmd.Unit, VertDatum: cmd.Datum}
	if strings.TrimSpace(cmd.Datum) == "" {
		return records.Errorf(records.Invalid, "--datum: say what the heights are counted from, as the source of the grid names it")
	}
	if in.PRJ, err = besidePRJ(cmd.Source); err != nil {
		return err
	}
	if _, err := position.ParseCRSText(in.PRJ); cmd.SRID != 0 && in.PRJ != "" && err != nil {
		fmt.Fprintf(c.err, "the .prj file beside it is not gone by, but EPSG:%d: %v\n", cmd.SRID, err)
		in.PRJ = ""
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	bar := c.progress("loading")
	in.Progress = func(read, size int64) { bar.at(read, size, "") }
	g, err := d.LoadGround(c.ctx, desk.LocalPerson(), in)
	bar.end()
	if err != nil {
		return closeAfter(d, err)
	}
	p := &printer{w: c.out}
	p.f("%s: %d by %d cells of %.4g m, %d of them with a height, %.2f to %.2f m above %s, %.1f MB in the database\n",
		g.Name, g.Cols, g.Rows, g.CellM, g.Filled, g.LowM, g.HighM, g.VertDatum, float64(g.Bytes)/1e6)
	if g.Datum == position.DatumNAD83.String() {
		p.f("its coordinates are on NAD83, which agrees with WGS 84 within one to two metres; they are taken as they are\n")
	}
	return closeAfter(d, p.err)
}

// besidePRJ reads the description of coordinates beside a raster; "" where there
// is none.
func besidePRJ(path string) (string, error) {
	base := strings.TrimSuffix(path, filepath.Ext(path))
	for _, ext := range []string{".prj", ".PRJ"} {
		f, err := os.Open(base + ext)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return "", records.WrapError(records.Invalid, err, "%s cannot be read", base+ext)
		}
		const most = 64<<10 + 1
		text, err := io.ReadAll(io.LimitReader(f, most))
		return string(text), errors.Join(err, f.Close())
	}
	return "", nil
}

type groundListCommand struct{ dbFlag }

// Help teaches the command.
func (groundListCommand) Help() string {
	return `Example:
  tallybook ground list --db county.db`
}

// Run lists the grids.
func (cmd *groundListCommand) Run(c *console) error {
	d, err := c.openDesk(cmd.DB, opening{picture: true})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.list(c, d))
}

func (cmd *groundListCommand) list(c *console, d *desk.Desk) error {
	grids, err := d.GroundGrids(c.ctx, desk.LocalPerson())
	if err != nil {
		return err
	}
	p := &printer{w: c.out}
	if len(grids) == 0 {
		p.f("no elevation grid was loaded yet; see 'tallybook ground load --help'\n")
		return p.err
	}
	cover, err := d.GroundCover(c.ctx, desk.LocalPerson())
	if err != nil {
		return err
	}
	for _, g := range grids {
		state := fmt.Sprintf("answers for %s", counted(int64(cover.By[g.ID]), "well"))
		if g.State != records.GroundInUse {
			state = "taken out"
		}
		p.f("%s  %s  %d by %d cells of %.4g m in EPSG:%d, %.2f to %.2f m above %s, from %s: %s\n", g.Name,
			boxWords(g.Bounds), g.Cols, g.Rows, g.CellM, g.EPSG, g.LowM, g.HighM, g.VertDatum, g.Source, state)
	}
	p.f("of %s, %d have an elevation of their own, %d get one derived from a grid, %d have none\n",
		counted(int64(cover.Located), "located well"), cover.Recorded, cover.Derived, cover.Without)
	if cover.Held > 0 {
		p.f("%d elevations could be held against a grid: in the middle they differ by %.1f m, %d by more than %.1f m\n",
			cover.Held, cover.MiddleApartM, cover.Apart, desk.GroundApartM)
	}
	return p.err
}

func boxWords(b records.Bounds) string {
	return fmt.Sprintf("%.4f,%.4f to %.4f,%.4f", b.West, b.South, b.East, b.North)
}

type groundAtCommand struct {
	dbFlag
	Places []string `arg:"" name:"position" help:"Positions in any form that 'scout' takes."`
}

// Help teaches the command.
func (groundAtCommand) Help() string {
	return `Example:
  tallybook ground at --db county.db "44.25 N 70.5 W"`
}

// Run says the elevations.
func (cmd *groundAtCommand) Run(c *console) error {
	var places []position.LonLat
	for _, text := range cmd.Places {
		at, err := readPosition(text)
		if err != nil {
			return err
		}
		places = append(places, at)
	}
	d, err := c.openDesk(cmd.DB, opening{})
	if err != nil {
		return err
	}
	found, err := d.GroundAlong(c.ctx, desk.LocalPerson(), places)
	if err != nil {
		return closeAfter(d, err)
	}
	p := &printer{w: c.out}
	for i, at := range found {
		if !at.OK {
			p.f("%s: no grid in use has a height there\n", cmd.Places[i])
			continue
		}
		p.f("%s: %.3f m above %s, derived from %s (cells of %.4g m)\n", cmd.Places[i], at.ElevationM, at.Datum, at.Grid, at.CellM)
	}
	return closeAfter(d, p.err)
}

type groundRemoveCommand struct {
	dbFlag
	Name    string `arg:"" help:"The grid's name."`
	ForGood bool   `help:"Delete one that was taken out, with its heights: nothing brings it back but its file."`
}

// Help teaches the command.
func (groundRemoveCommand) Help() string {
	return `What was derived from the grid is no longer shown. It can be put back with
'tallybook ground restore' until it is removed once more with --for-good.

Example:
  tallybook ground remove --db county.db "County terrain"`
}

// Run takes the grid out.
func (cmd *groundRemoveCommand) Run(c *console) error {
	from := records.GroundInUse
	if cmd.ForGood {
		from = records.GroundOut
	}
	return groundChange(c, cmd.DB, cmd.Name, from, func(d *desk.Desk, g *records.GroundGrid, p *printer) error {
		if cmd.ForGood {
			p.f("%s: deleted\n", g.Name)
			return d.DeleteGround(c.ctx, desk.LocalPerson(), g.ID, g.Revision, "")
		}
		p.f("%s: taken out; 'tallybook ground restore' puts it back\n", g.Name)
		_, err := d.TakeOutGround(c.ctx, desk.LocalPerson(), g.ID, g.Revision, "")
		return err
	})
}

type groundRestoreCommand struct {
	dbFlag
	Name string `arg:"" help:"The grid's name; of several the one that was loaded last."`
}

// Help teaches the command.
func (groundRestoreCommand) Help() string {
	return `Example:
  tallybook ground restore --db county.db "County terrain"`
}

// Run puts the grid back.
func (cmd *groundRestoreCommand) Run(c *console) error {
	return groundChange(c, cmd.DB, cmd.Name, records.GroundOut, func(d *desk.Desk, g *records.GroundGrid, p *printer) error {
		p.f("%s: in use again\n", g.Name)
		_, err := d.PutBackGround(c.ctx, desk.LocalPerson(), g.ID, g.Revision, "")
		return err
	})
}

// groundChange finds a grid by its name and state and changes it.
func groundChange(c *console, db, name, state string, change func(*desk.Desk, *records.GroundGrid, *printer) error) error {
	d, err := c.openDesk(db, opening{})
	if err != nil {
		return err
	}
	grids, err := d.GroundGrids(c.ctx, desk.LocalPerson())
	if err != nil {
		return closeAfter(d, err)
	}
	words := map[string]string{records.GroundInUse: "in use", records.GroundOut: "taken out"}[state]
	var have []string
	other := ""
	var found *records.GroundGrid
	for _, g := range grids {
		if g.State == state {
			have = append(have, fmt.Sprintf("%q", g.Name))
			if g.Name == name && (found == nil || g.ID > found.ID) {
				found = g
			}
		} else if g.Name == name {
			other = map[string]string{records.GroundInUse: "; that one is taken out: 'tallybook ground restore' puts it back",
				records.GroundOut: "; that one is in use: take it out first, with 'tallybook ground remove'"}[state]
		}
	}
	if found == nil {
		list := "there is none"
		if len(have) > 0 {
			list = "there is " + strings.Join(have, ", ")
		}
		return closeAfter(d, records.Errorf(records.NotFound, "no elevation grid %s is called %q; %s%s", words, name, list, other))
	}
	var out strings.Builder
	if err := change(d, found, &printer{w: &out}); err != nil {
		return closeAfter(d, err)
	}
	p := &printer{w: c.out}
	p.f("%s", out.String())
	return closeAfter(d, p.err)
}
