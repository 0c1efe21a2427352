package main

import (
	"io"
	"os"
	"path/filepath"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server"
	"tallybook/server/draw"
	"tallybook/server/say"
)

type sectionCommand struct {
	dbFlag
	trustFlags
	Line    string  `required:"" placeholder:"POSITIONS" help:"The line: its beginning, bends and end as positions in any form, latitude first, parted by semicolons; or FILE.geojson with one LineString."`
	Width   string  `required:"" placeholder:"LENGTH" help:"The width of the corridor, half of it on either side, such as 1000ft or 300m."`
	ByDepth bool    `name:"by-depth" help:"Hang all on the ground, not on sea level."`
	Times   float64 `placeholder:"N" help:"For SVG: how many times as high as long it is drawn; as fits when left out."`
	Pixels  int     `default:"1180" placeholder:"N" help:"For SVG: how wide it is drawn."`
	Units   string  `enum:"us,si" default:"us" help:"For SVG: units of the figures, us or si."`
	Of      string  `enum:"wells,line" default:"wells" help:"For CSV: the wells along the line, or the ground along it."`
	Out     string  `required:"" placeholder:"FILE" help:"FILE.svg for the drawing, FILE.csv for a table, FILE.json for all of it (SI units), FILE.geojson for the line."`
}

// Help teaches the command.
func (sectionCommand) Help() string {
	return `Puts the wells of a corridor onto a line by the shortest way, and estimates
sound bedrock under it by the same method as the map. The drawing shows each
well as a column at its place along the line, by elevation where that is known,
with its true distance off the line. Where no well supports an estimate, none is
drawn. It is drawn from records and is no survey.

Examples:
  tallybook section --db county.db --line "44.27,-38.80; 44.22,-38.69" \
      --width 1500ft --out ridge.svg
  tallybook section --db county.db --line road.geojson --width 400m --of line --out road.csv`
}

// Run makes the section.
func (cmd *sectionCommand) Run(c *console) error {
	ext := strings.ToLower(filepath.Ext(cmd.Out))
	if ext != ".svg" && ext != ".csv" && ext != ".json" && ext != ".geojson" {
		return records.Errorf(records.Invalid, "--out %s: the name must end in .svg, .csv, .json or .geojson", cmd.Out)
	}
	if err := apart("--out", cmd.Out, cmd.DB); err != nil {
		return err
	}
	ask, err := cmd.ask()
	if err != nil {
		return err
	}
	d, err := c.openDesk(cmd.DB, opening{picture: true})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.make(c, d, ask, ext))
}

func (cmd *sectionCommand) ask() (desk.SectionAsk, error) {
	ask := desk.SectionAsk{ByDepth: cmd.ByDepth}
	if cmd.Times < 0 || cmd.Times > 1000 {
		return ask, records.Errorf(records.Invalid, "--times %g: a section is drawn up to 1,000 times as high as long", cmd.Times)
	}
	units, _ := say.Parse(cmd.Units)
	var err error
	if ask.WidthM, err = server.CorridorWidth(cmd.Width, units); err != nil {
		return ask, err
	}
	ask.Line, err = cmd.line()
	return ask, err
}

// line reads the places, or the file that holds them.
func (cmd *sectionCommand) line() ([]position.LonLat, error) {
	if e := strings.ToLower(filepath.Ext(cmd.Line)); e == ".geojson" || e == ".json" {
		const most = 16 << 20
		f, err := os.Open(cmd.Line)
		if err != nil {
			return nil, records.WrapError(records.NotFound, err, "--line %s cannot be read", cmd.Line)
		}
		defer f.Close() //nolint:errcheck // it is only read
		data, err := io.ReadAll(io.LimitReader(f, most+1))
		switch {
		case err != nil:
			return nil, records.WrapError(records.Invalid, err, "--line %s cannot be read", cmd.Line)
		case len(data) > most:
			return nil, records.Errorf(records.TooLarge, "--line %s holds more than %d MB; a line is far smaller", cmd.Line, most>>20)
		}
		return desk.LineOfGeoJSON(data)
	}
	var out []position.LonLat
	for _, text := range strings.Split(cmd.Line, ";") {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		at, err := readPosition(text)
		if err != nil {
			return nil, err
		}
		out = append(out, at)
	}
	return out, nil
}

func (cmd *sectionCommand) make(c *console, d *desk.Desk, ask desk.SectionAsk, ext string) error {
	var err error
	if ask.Filter.Trust, err = cmd.trust(d); err != nil {
		return err
	}
	s, err := d.Section(c.ctx, desk.LocalPerson(), ask)
	if err != nil {
		return err
	}
	leftOut(c, d.Picture(), &ask.Filter, snapshot.Bedrock)
	write := s.WriteJSON
	switch {
	case ext == ".svg":
		write = func(w io.Writer) error { return cmd.draw(w, d, s) }
	case ext == ".csv" && cmd.Of == "line":
		write = s.WriteLineCSV
	case ext == ".csv":
		write = s.WriteWellsCSV
	case ext == ".geojson":
		write = s.WriteLine
	}
	if err := writeFile(cmd.Out, 0o644, write); err != nil {
		return err
	}
	p := &printer{w: c.out}
	p.f("%s: %.0f m of line, %s in a corridor %g m wide, %d drawn\n", cmd.Out, s.Line.LengthM(), counted(int64(s.Standing), "well"), ask.WidthM, len(s.Wells))
	if s.NoElevation {
		p.f("no elevation of the ground is known here: all hangs on the ground\n")
	}
	if s.Nearest != nil {
		p.f("the nearest well stands %.0f m off the line\n", max(s.Nearest.OffM, -s.Nearest.OffM))
	}
	return p.err
}

func (cmd *sectionCommand) draw(w io.Writer, d *desk.Desk, s *desk.Section) error {
	units, _ := say.Parse(cmd.Units)
	_, err := w.Write(draw.Section(server.SectionDrawing(s, cmd.Times, d.Vocabulary()), draw.Options{Prefix: "section", Units: units, Theme: draw.Print, Width: float64(cmd.Pixels)}))
	return err
}
