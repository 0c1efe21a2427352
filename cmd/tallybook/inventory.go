package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/server/say"
)

type inventoryCommand struct {
	dbFlag
	At      string `placeholder:"POSITION" help:"The place around which wells are listed; --radius goes with it."`
	Radius  string `placeholder:"DISTANCE" default:"0.5mi" help:"How far around it, such as 0.5mi, 2640ft, 800m or 1km."`
	Outline string `placeholder:"FILE" help:"GeoJSON of polygons within which wells are listed, in WGS 84 degrees; - for standard input."`
	Area    string `placeholder:"NAME" help:"A named area of one of the office's layers."`
	Picks   string `placeholder:"SET" help:"Bedrock as picked in this set, where it has a pick."`
	Quality bool   `help:"With a table: the results of water quality, one a row, in place of the wells."`
	Private bool   `help:"With owners, addresses and telephone numbers."`
	Format  string `enum:"text,csv,geojson," default:"" help:"text, csv (base units) or geojson (whole records); by the ending of --out when left out."`
	Out     string `placeholder:"FILE" help:"Write here instead of to the screen."`
	Units   string `enum:"us,si" default:"us" help:"Units of the text: us or si."`
}

// Help teaches the command.
func (inventoryCommand) Help() string {
	return `Lists every well within a distance of a place, or within an outline, nearest
first: where it lies, how that is known, depth, sound bedrock, yield, static
level and casing. Wells whose circle of accuracy crosses the edge are told
apart: they may lie within, and as well not. Distances run along the geodesic of
WGS 84. Logs that are marked unreliable are listed with their mark.

A list of records is no list of all wells, and a result of water quality is of
its own place and day: whether water may be drunk is for the local health
authority and a certified laboratory.

Examples:
  tallybook inventory --db county.db --at 44.25,-38.75 --radius 0.5mi
  tallybook inventory --db county.db --outline lot.geojson --out wells.csv
  tallybook inventory --db county.db --area "North lot" --quality --format csv`
}

// Run lists the wells.
func (cmd *inventoryCommand) Run(c *console) error {
	ask, err := cmd.ask()
	if err != nil {
		return err
	}
	if cmd.Out != "" {
		if err := apart("--out", cmd.Out, cmd.DB); err != nil {
			return err
		}
	}
	d, err := c.openDesk(cmd.DB, opening{picture: true})
	if err != nil {
		return err
	}
	return closeAfter(d, cmd.list(c, d, ask))
}

func (cmd *inventoryCommand) ask() (desk.InventoryAsk, error) {
	ask := desk.InventoryAsk{Picks: cmd.Picks, Private: cmd.Private}
	given := 0
	for _, t := range []string{cmd.At, cmd.Outline, cmd.Area} {
		if t != "" {
			given++
		}
	}
	if given != 1 {
		return ask, records.Errorf(records.Invalid, "say where: one of --at (with --radius), --outline and --area")
	}
	switch {
	case cmd.At != "":
		at, err := readPosition(cmd.At)
		if err != nil {
			return ask, err
		}
		ask.At = at
		u, _ := say.Parse(cmd.Units)
		ask.RadiusM, err = u.ParseDistance(cmd.Radius)
		return ask, err
	case cmd.Outline != "":
		text, err := readOutline(cmd.Outline)
		if err != nil {
			return ask, err
		}
		ask.Outline, err = review.ParseOutline(text)
		return ask, err
	}
	ask.Name = cmd.Area
	return ask, nil
}

// mostOutline is how much of a file of an outline is read.
const mostOutline = 16 << 20

func readOutline(path string) ([]byte, error) {
	if path == "-" {
		return io.ReadAll(io.LimitReader(os.Stdin, mostOutline))
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, records.WrapError(records.NotFound, err, "--outline %s cannot be read", path)
	}
	return []byte(strings.TrimPrefix(string(text), "\ufeff")), nil
}

func (cmd *inventoryCommand) format() string {
	switch {
	case cmd.Format != "":
		return cmd.Format
	case strings.HasSuffix(cmd.Out, ".csv"):
		return "csv"
	case strings.HasSuffix(cmd.Out, ".geojson"), strings.HasSuffix(cmd.Out, ".json"):
		return "geojson"
	}
	return "text"
}

func (cmd *inventoryCommand) list(c *console, d *desk.Desk, ask desk.InventoryAsk) error {
	me := desk.LocalPerson()
	if ask.Name != "" {
		area, err := d.AreaNamed(c.ctx, me, ask.Name)
		if err != nil {
			return err
		}
		ask.Outline = area.Shape
	}
	if _, err := (&trustFlags{Picks: cmd.Picks}).trust(d); err != nil {
		return err
	}
	inv, err := d.Inventory(c.ctx, me, ask)
	if err != nil {
		return err
	}
	write := func(w io.Writer) error {
		switch cmd.format() {
		case "csv":
			if cmd.Quality {
				return d.InventoryQualityCSV(c.ctx, me, inv, w)
			}
			return d.InventoryCSV(c.ctx, me, inv, w)
		case "geojson":
			return d.InventoryGeoJSON(c.ctx, me, inv, w)
		}
		return cmd.text(w, inv)
	}
	if cmd.Out == "" {
		err = write(c.out)
	} else {
		err = writeFile(cmd.Out, 0o600, write)
	}
	if err == nil {
		about := ""
		if ask.Outline == nil { // the distance may be the one that stands by itself
			about = " " + cmd.Radius + " of " + ask.At.String()
		}
		fmt.Fprintf(c.err, "%s within%s, %d more may lie there, %d records have no position; state %d of the records\n", counted(int64(inv.Within), "well"), about, inv.May, inv.Unlocated, inv.Commit)
	}
	return err
}

// text is the table for people.
func (cmd *inventoryCommand) text(out io.Writer, inv *desk.Inventory) error {
	u, _ := say.Parse(cmd.Units)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	p := &printer{w: w}
	if cmd.Quality {
		p.f("well\twhere\twithin\twhen\twhat\tresult\tmethod\n")
	} else {
		p.f("well\twhere\twithin\tyear\tdepth\tbedrock\tcasing\tyield\tstatic\tlocated\tmarked\n")
	}
	for i := range inv.Wells {
		x := &inv.Wells[i]
		r := x.Well
		name := r.Number
		if name == "" {
			name = fmt.Sprintf("no. %d", r.ID)
		}
		within := "yes"
		if x.May {
			within = "may"
		}
		where := u.Distance(x.DistanceM) + " " + say.Bearing(x.BearingDeg)
		if cmd.Quality {
			for j := range r.Quality {
				q := &r.Quality[j]
				p.f("%s\t%s\t%s\t%s\t%s\t%s\t%s\n", name, where, within, q.Date, q.Kind, u.Value(q.Value, q.Unit), q.Method)
			}
			continue
		}
		seat := ""
		if m, ok := r.CasingSeat(); ok {
			seat = u.Metres(float64(m))
		}
		located := r.Place.Method
		if r.Place.Accuracy.Known() {
			located += " to " + u.Distance(float64(r.Place.Accuracy.Value))
		}
		var marked []string
		for j := range r.Unreliable {
			marked = append(marked, r.Unreliable[j].About)
		}
		year := ""
		if r.Completed.Year > 0 {
			year = fmt.Sprint(r.Completed.Year)
		}
		p.f("%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", name, where, within, year, u.Depth(r.TotalDepth), u.Depth(x.Picks.Bedrock.Depth), seat,
			u.Yield(r.Yield), u.Level(r.StaticLevel), located, strings.Join(marked, ", "))
	}
	if p.err != nil {
		return p.err
	}
	return w.Flush()
}
