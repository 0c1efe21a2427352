package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/exchange"
	"tallybook/records/snapshot"
)

type surfaceCommand struct {
	dbFlag
	trustFlags
	Field      string  `enum:"depth_to_bedrock,bedrock_elevation,yield,total_depth" default:"depth_to_bedrock" help:"The quantity: depth_to_bedrock (m), bedrock_elevation (m above the ground's datum), yield (L/s) or total_depth (m)."`
	Through    string  `enum:",better,depth,elevation" default:"" help:"For bedrock: interpolate it as depth, as elevation, or by the way that does better on wells hidden from it (better). When left out: depth_to_bedrock as depth, bedrock_elevation by the better way."`
	Method     string  `enum:"neighbours,idw,kriging" default:"neighbours" help:"The estimate from neighbours, classic inverse distance weighting, or ordinary kriging."`
	Show       string  `enum:"median,range,chance,skill" default:"median" help:"For neighbours: the median, the width of the 80 percent range, the chance of at least --reach, or the local skill."`
	Reach      float64 `help:"The threshold of --show chance, in the field's unit."`
	Power      float64 `default:"2" help:"For idw: the power of distance."`
	Neighbours *int    `help:"For idw: how many nearest wells, 12 when left out, 0 for all. For kriging: how many nearest sites, 24 when left out."`
	Radius     float64 `default:"0" placeholder:"M" help:"For idw: only wells within so many metres; 0 for any."`
	Smoothing  float64 `default:"0" placeholder:"M" help:"For idw: added to every distance as sqrt(d^2 + s^2)."`
	Scale      string  `enum:"auto,plain,log" default:"auto" help:"For kriging: of values or of their logarithms; by the field when left out (log for yield)."`
	Shape      string  `enum:"auto,spherical,exponential,gaussian" default:"auto" help:"For kriging: the shape of the variogram; spherical or exponential, as fits better, when left out."`
	Error      string  `placeholder:"FILE" help:"For kriging: also write the standard error, to a file of the same kind."`
	Grid       string  `required:"" placeholder:"COLSxROWS" help:"How many nodes; they stand at the centres of their cells."`
	BBox       string  `name:"bbox" placeholder:"W,S,E,N" help:"The grid's outer edges, in degrees or, where the numbers cannot be degrees, in the coordinates of --crs. All wells when left out."`
	CRS        string  `name:"crs" placeholder:"EPSG:N" help:"The grid's coordinates: EPSG:4326, a UTM zone (EPSG:326nn, 327nn) or EPSG:3857. The UTM zone of the middle when left out."`
	Everywhere bool    `help:"Also where no well supports it: the classic surface as other packages make it."`
	Contours   bool    `help:"For FILE.geojson: contour lines rather than the nodes."`
	Out        string  `required:"" placeholder:"FILE" help:"FILE.asc for an ESRI ASCII grid (with FILE.prj beside it), FILE.tif for a GeoTIFF of 32-bit numbers, FILE.geojson for points at the nodes."`
}

// Help teaches the command.
func (surfaceCommand) Help() string {
	return `Nodes that no well supports have no value (NODATA); --everywhere fills them as
classic packages do. With --method idw, distances are measured in the
coordinates of --crs, so that other packages give the same numbers.

With --method kriging the variogram is fitted by itself and said; its error says
how far off the estimate may be if that model is right, and no more than that.
Bounds ('deeper than 80') are no values and are left out, and counted.

The elevation of bedrock is the ground's less the depth. It takes wells whose
ground is known, from their records or from a grid ('tallybook ground'), and is
made as elevation or as depth taken off the ground, whichever did better on wells
hidden from it; which one is said. --through better does the same for the depth.

Examples:
  tallybook surface --db county.db --field depth_to_bedrock --method idw \
      --power 2 --neighbours 12 --grid 200x200 --crs EPSG:32619 --out bedrock.asc
  tallybook surface --db county.db --field depth_to_bedrock --method kriging \
      --grid 200x200 --out bedrock.tif --error bedrock-error.tif
  tallybook surface --db county.db --field bedrock_elevation --grid 200x200 --out rock.tif`
}

// Run makes the surface.
func (cmd *surfaceCommand) Run(c *console) error {
	ext := strings.ToLower(filepath.Ext(cmd.Out))
	if ext != ".asc" && ext != ".tif" && ext != ".tiff" && ext != ".geojson" {
		return records.Errorf(records.Invalid, "--out %s: the name must end in .asc, .tif or .geojson", cmd.Out)
	}
	if err := apart("--out", cmd.Out, cmd.DB); err != nil {
		return err
	}
	if err := cmd.checkError(ext); err != nil {
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

func (cmd *surfaceCommand) ask() (desk.SurfaceAsk, error) {
	var ask desk.SurfaceAsk
	var err error
	if ask.Field, err = snapshot.ParseMapField(cmd.Field); err != nil {
		return ask, err
	}
	if ask.Method, err = desk.ParseMethod(cmd.Method); err != nil {
		return ask, err
	}
	if ask.Reading, err = desk.ParseReading(cmd.Show); err != nil {
		return ask, err
	}
	if ask.Through, err = desk.ParseLevelWay(cmd.Through); err != nil {
		return ask, err
	}
	if cmd.Through != "" && ask.Field != snapshot.Bedrock && ask.Field != snapshot.BedrockElevation {
		return ask, records.Errorf(records.Invalid, "--through goes with --field depth_to_bedrock and bedrock_elevation alone")
	}
	ask.Threshold, ask.Everywhere = cmd.Reach, cmd.Everywhere
	ask.IDW = surface.IDW{Power: cmd.Power, Neighbours: 12, RadiusM: cmd.Radius, Smoothing: cmd.Smoothing}
	if cmd.Neighbours != nil {
		ask.IDW.Neighbours, ask.Kriging.Neighbours = *cmd.Neighbours, *cmd.Neighbours
		if ask.Method == desk.ByKriging && *cmd.Neighbours < 1 {
			return ask, records.Errorf(records.Invalid, "--neighbours %d: kriging takes 1 to 500", *cmd.Neighbours)
		}
	}
	ask.Kriging.Shape = cmd.Shape
	ask.Kriging.Scale, err = desk.ParseScale(cmd.Scale)
	return ask, err
}

func (cmd *surfaceCommand) make(c *console, d *desk.Desk, ask desk.SurfaceAsk, ext string) error {
	grid, on, code, err := cmd.grid(d)
	if err != nil {
		return err
	}
	if ask.Filter.Trust, err = cmd.trust(d); err != nil {
		return err
	}
	said := ask.Field
	if said == snapshot.BedrockElevation {
		said = snapshot.Bedrock
	}
	leftOut(c, d.Picture(), &ask.Filter, said)
	var model *desk.Model
	var f, wrong surface.Field
	var report desk.KrigedReport
	if ask.Method == desk.ByKriging {
		f, wrong, report, err = d.KrigedOn(c.ctx, desk.LocalPerson(), ask, grid, on)
	} else {
		f, model, err = d.SurfaceOn(c.ctx, desk.LocalPerson(), ask, grid, on)
	}
	if err != nil {
		return err
	}
	bare := 0
	for _, v := range f.Values {
		if math.IsNaN(v) {
			bare++
		}
	}
	if err := cmd.writeTo(cmd.Out, cmd.Field+"_"+cmd.suffix(), f, on, code); err != nil {
		return err
	}
	if cmd.Error != "" {
		if err := cmd.writeTo(cmd.Error, cmd.Field+"_error_"+cmd.suffix(), wrong, on, code); err != nil {
			return err
		}
	}
	p := &printer{w: c.out}
	p.f("%s: %d x %d nodes in %s", cmd.Out, grid.Cols, grid.Rows, on.Describe())
	if bare > 0 {
		p.f(", %d of them without a value (no well supports them%s)", bare, map[bool]string{true: ", or the ground's height is not known"}[model != nil && model.Level != nil])
	}
	p.f("\n")
	if model != nil && model.Level != nil {
		levelWords(p, model.Level, ask.Field, ask.Through)
	}
	if ask.Method == desk.ByKriging {
		krigedWords(p, &report, ask.Field)
	}
	return p.err
}

// writeTo writes one surface, with what describes its coordinates beside it where
// the file itself cannot.
func (cmd *surfaceCommand) writeTo(path, name string, f surface.Field, on position.Projection, code int) error {
	ext := strings.ToLower(filepath.Ext(path))
	err := writeFile(path, 0o644, func(w io.Writer) error { return cmd.write(w, name, f, on, code, ext) })
	if err != nil || ext != ".asc" {
		return err
	}
	prj := strings.TrimSuffix(path, filepath.Ext(path)) + ".prj"
	return writeFile(prj, 0o644, func(w io.Writer) error { _, err := fmt.Fprintln(w, wktOf(code)); return err })
}

func (cmd *surfaceCommand) write(w io.Writer, name string, f surface.Field, on position.Projection, code int, ext string) error {
	switch ext {
	case ".asc":
		return exchange.WriteASC(w, f)
	case ".tif", ".tiff":
		return exchange.WriteGeoTIFF(w, f, code, name)
	}
	l := exchange.Layer{Name: name, ToLonLat: func(x, y float64) (float64, float64) {
		at := on.Inverse(x, y)
		return at.Lon, at.Lat
	}}
	if !cmd.Contours {
		return exchange.WriteNodes(w, f, l)
	}
	low, high, ok := f.MinMax()
	if !ok {
		return records.Errorf(records.NotFound, "no node has a value")
	}
	lines, err := surface.Contours(f, surface.Levels(low, high, 12), nil)
	if err != nil {
		return err
	}
	return exchange.WriteContours(w, lines, l)
}

// suffix names the unit of the values.
func (cmd *surfaceCommand) suffix() string {
	if cmd.Method == "neighbours" {
		switch cmd.Show {
		case "chance":
			return "chance"
		case "skill":
			return "skill"
		case "range":
			if cmd.Field == "yield" {
				return "range_lps"
			}
			return "range_m"
		}
	}
	if cmd.Field == "yield" {
		return "lps"
	}
	return "m"
}

// mostNodes is how many nodes a surface may have: what a machine of 8 GB holds.
const mostNodes = 50e6

// grid works out the nodes and their coordinates.
func (cmd *surfaceCommand) grid(d *desk.Desk) (surface.Grid, position.Projection, int, error) {
	var g surface.Grid
	colsText, rowsText, ok := strings.Cut(strings.ToLower(cmd.Grid), "x")
	cols, err1 := strconv.Atoi(strings.TrimSpace(colsText))
	rows, err2 := strconv.Atoi(strings.TrimSpace(rowsText))
	if !ok || err1 != nil || err2 != nil || cols < 1 || rows < 1 || cols > 20000 || rows > 20000 {
		return g, nil, 0, records.Errorf(records.Invalid, "--grid %s: give columns and rows as 200x150, each up to 20000", cmd.Grid)
	}
	if cols*rows > mostNodes {
		return g, nil, 0, records.Errorf(records.TooLarge, "--grid %s: that is %d million nodes; make the surface in parts of up to %d million", cmd.Grid, cols*rows/1e6, int(mostNodes/1e6))
	}
	var box [4]float64
	if cmd.BBox != "" {
		var err error
		if box, err = parseBox(cmd.BBox); err != nil {
			return g, nil, 0, err
		}
		if box[0] >= box[2] {
			return g, nil, 0, records.Errorf(records.Invalid, "--bbox %s: west is not left of east", cmd.BBox)
		}
	} else {
		b, ok := d.Picture().Extent()
		if !ok {
			return g, nil, 0, records.Errorf(records.NotFound, "there is no located well")
		}
		if b.West == b.East || b.South == b.North {
			return g, nil, 0, records.Errorf(records.Invalid, "all wells stand on one spot or in one line: say with --bbox where the surface is to lie")
		}
		box = [4]float64{b.West, b.South, b.East, b.North}
	}
	inDegrees := degreesBox(box) == nil
	on, code, err := cmd.projection(box, inDegrees)
	if err != nil {
		return g, nil, 0, err
	}
	if inDegrees && on.Unit() == "m" {
		box = projectedBox(box, on)
	}
	g = surface.Grid{Cols: cols, Rows: rows, MinX: box[0], MinY: box[1], CellW: (box[2] - box[0]) / float64(cols), CellH: (box[3] - box[1]) / float64(rows)}
	if err := g.Validate(); err != nil {
		return g, nil, 0, records.Errorf(records.Invalid, "the grid cannot be laid: %v", err)
	}
	return g, on, code, nil
}

// projection finds the grid's coordinates.
func (cmd *surfaceCommand) projection(box [4]float64, inDegrees bool) (position.Projection, int, error) {
	var code int
	switch {
	case cmd.CRS != "":
		text := strings.TrimPrefix(strings.ToUpper(cmd.CRS), "EPSG:")
		var err error
		if code, err = strconv.Atoi(text); err != nil {
			return nil, 0, records.Errorf(records.Invalid, "--crs %s: write EPSG: and a number, such as EPSG:32619", cmd.CRS)
		}
	case !inDegrees:
		return nil, 0, records.Errorf(records.Invalid, "--bbox is not in degrees: say with --crs what its coordinates are")
	default:
		zone := position.ZoneOf(position.LonLat{Lon: (box[0] + box[2]) / 2, Lat: (box[1] + box[3]) / 2})
		code = 32700 + zone.Number
		if zone.North {
			code = 32600 + zone.Number
		}
	}
	on, err := position.EPSG(code)
	if err != nil {
		return nil, 0, &records.Error{Code: records.Invalid, Field: "--crs", Message: err.Error()}
	}
	return on, code, nil
}

// projectedBox is the box around a box of degrees in other coordinates.
func projectedBox(b [4]float64, on position.Projection) [4]float64 {
	out := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	const steps = 32
	for i := range steps + 1 {
		t := float64(i) / steps
		for _, at := range []position.LonLat{
			{Lon: b[0] + (b[2]-b[0])*t, Lat: b[1]}, {Lon: b[0] + (b[2]-b[0])*t, Lat: b[3]},
			{Lon: b[0], Lat: b[1] + (b[3]-b[1])*t}, {Lon: b[2], Lat: b[1] + (b[3]-b[1])*t},
		} {
			x, y := on.Forward(at)
			out[0], out[1] = min(out[0], x), min(out[1], y)
			out[2], out[3] = max(out[2], x), max(out[3], y)
		}
	}
	return out
}

// wktOf describes coordinates for GIS programs, in the well-known text of
// 1999 that .prj files use.
func wktOf(code int) string {
	const geographic = `GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4326"]]`
	switch {
	case code == 4326:
		return geographic
	case code == 3857:
		return `PROJCS["WGS 84 / Pseudo-Mercator",` + geographic + `,PROJECTION["Mercator_1SP"],PARAMETER["central_meridian",0],PARAMETER["scale_factor",1],PARAMETER["false_easting",0],PARAMETER["false_northing",0],UNIT["metre",1],EXTENSION["PROJ4","+proj=merc +a=6378137 +b=6378137 +lat_ts=0 +lon_0=0 +x_0=0 +y_0=0 +k=1 +units=m +nadgrids=@null +no_defs"],AUTHORITY["EPSG","3857"]]`
	}
	zone, letter, north := code%100, "N", 0
	if code >= 32700 {
		letter, north = "S", 10000000
	}
	return fmt.Sprintf(`PROJCS["WGS 84 / UTM zone %d%s",%s,PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",%d],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",%d],UNIT["metre",1],AUTHORITY["EPSG","%d"]]`,
		zone, letter, geographic, 6*zone-183, north, code)
}
