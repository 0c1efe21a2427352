package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"math"

	"tallybook/geo/ground"
	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/exchange"
)

// GroundLoad is an elevation grid to be loaded.
type GroundLoad struct {
	File   io.Reader // an ESRI ASCII grid
	Size   int64     // bytes, for progress; 0 where that is not known
	Name   string    // what the office calls the grid
	Source string    // the file's name
	Note   string

	EPSG int    // of its coordinates; 0: as PRJ says
	PRJ  string // their description in well-known text, as it stood beside the file

	Unit      string // of the heights: m, ft or us-ft
	VertDatum string // that they are counted from, as the office names it

	Progress func(read, size int64) // may be nil
}

// LoadGround loads an elevation grid: all of it or, where it breaks off,
// nothing. Its tiles are written out of sight, some at a time, so that others
// can write in between, and one short commit puts it into use. A grid in use of
// the same name is taken out by that commit, and can be put back.
func (d *Desk) LoadGround(ctx context.Context, actor records.Actor, in GroundLoad) (*records.GroundGrid, error) {
	if err := d.Permit(actor, Administer); err != nil {
		return nil, err
	}
	release, err := d.oneGround(ctx, actor)
	if err != nil {
		return nil, err
	}
	g, err := d.loadGround(ctx, actor, in)
	return g, errors.Join(err, release())
}

// oneGround keeps other loadings out, and clears away what one left behind that
// was not finished.
func (d *Desk) oneGround(ctx context.Context, actor records.Actor) (release func() error, err error) {
	release = func() error { return nil }
	if c, ok := d.store.(claimer); ok {
		var held bool
		if release, held, err = c.Claim("ground"); err != nil || !held {
			return release, err
		}
	}
	left, err := look(ctx, d, actor, func(v records.StoreView) ([]*records.GroundGrid, error) { return v.GroundGrids(ctx) })
	for _, g := range left {
		if err == nil && g.State == records.GroundStaged {
			err = d.dropGround(ctx, actor, g, "its loading was not finished")
		}
	}
	if err != nil {
		return nil, errors.Join(err, release())
	}
	return release, nil
}

func (d *Desk) loadGround(ctx context.Context, actor records.Actor, in GroundLoad) (*records.GroundGrid, error) {
	file := &countedReader{r: in.File, hash: sha256.New()}
	rows, err := exchange.OpenASC(file)
	if err != nil {
		return nil, err
	}
	g, err := groundOf(in, rows.Grid)
	if err != nil {
		return nil, err
	}
	if err := d.store.Update(ctx, actor, func(tx records.StoreTx) error { return tx.PutGroundGrid(ctx, g, "") }); err != nil {
		return nil, err
	}
	l := &groundLoading{d: d, actor: actor, grid: g, in: in, rows: rows, file: file}
	err = l.read(ctx)
	if err == nil {
		err = l.publish(ctx)
	}
	if err == nil {
		return g, nil
	}
	// What was staged goes, also where the person has gone away.
	if e := d.dropGround(context.WithoutCancel(ctx), actor, g, "its loading broke off"); e != nil {
		d.log.Error("clearing away a grid whose loading broke off", "err", e)
	}
	return nil, err
}

// groundOf is what the header of a raster and the person say of it.
func groundOf(in GroundLoad, grid surface.Grid) (*records.GroundGrid, error) {
	g := &records.GroundGrid{
		Name: in.Name, State: records.GroundStaged, Source: in.Source, Note: in.Note, EPSG: in.EPSG, Datum: position.DatumWGS84.String(),
		Cols: grid.Cols, Rows: grid.Rows, MinX: grid.MinX, MinY: grid.MinY, CellW: grid.CellW, CellH: grid.CellH,
		Unit: in.Unit, VertDatum: in.VertDatum,
	}
	if err := frameOf(g).Validate(); err != nil {
		return nil, records.WrapError(records.TooLarge, err, "the grid of %d by %d cells is too large: cut it into parts with a general GIS tool (gdal_translate -srcwin …) and load each", g.Cols, g.Rows)
	}
	if in.EPSG == 0 || in.PRJ != "" {
		if in.PRJ == "" {
			return nil, &records.Error{Code: records.Invalid, Field: "coordinates", Message: "the file does not say what its coordinates are: give the file that ends in .prj with it, or the EPSG code (4326 for degrees, 32601 to 32660 for UTM north, 32701 to 32760 for UTM south)"}
		}
		said, err := position.ParseCRSText(in.PRJ)
		if err != nil {
			message := err.Error()
			if in.EPSG != 0 {
				message += fmt.Sprintf("; or leave the .prj file out if EPSG:%d is right", in.EPSG)
			}
			return nil, &records.Error{Code: records.Invalid, Field: "coordinates", Message: message}
		}
		if in.EPSG != 0 && in.EPSG != said.Code {
			return nil, &records.Error{Code: records.Invalid, Field: "coordinates", Message: fmt.Sprintf("the .prj file says EPSG:%d and the code given is EPSG:%d: leave out the one that is wrong", said.Code, in.EPSG)}
		}
		g.EPSG, g.Datum = said.Code, said.Datum.String()
	}
	on, err := position.EPSG(g.EPSG)
	if err != nil {
		return nil, &records.Error{Code: records.Invalid, Field: "coordinates", Message: err.Error()}
	}
	if err := placeGround(g, on); err != nil {
		return nil, err
	}
	return g, g.Validate()
}

// placeGround works out where on the earth the grid lies, and how wide its
// cells are there.
func placeGround(g *records.GroundGrid, on position.Projection) error {
	f := frameOf(g)
	elsewhere := func() error {
		return &records.Error{Code: records.Invalid, Field: "coordinates", Message: fmt.Sprintf(
			"the grid reaches from %.10g, %.10g to %.10g, %.10g, which is nowhere in %s: give the EPSG code that these numbers are in", f.MinX, f.MinY, f.MaxX(), f.MaxY(), on.Describe())}
	}
	// UTM reaches some 330 km to either side of its middle; beyond that the
	// numbers are of another kind, degrees most often.
	if _, utm := on.(position.TransverseMercator); utm && !(f.MinX >= 50_000 && f.MaxX() <= 950_000) {
		return elsewhere()
	}
	b := records.Bounds{West: math.Inf(1), South: math.Inf(1), East: math.Inf(-1), North: math.Inf(-1)}
	const steps = 32
	for i := range steps + 1 {
		t := float64(i) / steps
		x, y := f.MinX+(f.MaxX()-f.MinX)*t, f.MinY+(f.MaxY()-f.MinY)*t
		for _, p := range [4][2]float64{{x, f.MinY}, {x, f.MaxY()}, {f.MinX, y}, {f.MaxX(), y}} {
			at := on.Inverse(p[0], p[1])
			back, _ := on.Forward(at)
			if at.Valid() != nil || !(math.Abs(back-p[0]) <= 1e-3*max(1, f.CellW)) {
				return elsewhere()
			}
			b.West, b.East = min(b.West, at.Lon), max(b.East, at.Lon)
			b.South, b.North = min(b.South, at.Lat), max(b.North, at.Lat)
		}
	}
	if b.East-b.West > 180 {
		return records.Errorf(records.Invalid, "the grid lies across the 180th meridian or around the earth: cut it into parts (gdalwarp -te …) and load each")
	}
	mx, my := (f.MinX+f.MaxX())/2, (f.MinY+f.MaxY())/2
	wide := position.Between(on.Inverse(mx-f.CellW/2, my), on.Inverse(mx+f.CellW/2, my)).DistanceM
	high := position.Between(on.Inverse(mx, my-f.CellH/2), on.Inverse(mx, my+f.CellH/2)).DistanceM
	g.CellM = math.Round(math.Sqrt(wide*high)*1000) / 1000
	// The edges bend between the places that were looked at, by less than a
	// cell or a thousandth of the whole.
	padX, padY := (b.East-b.West)/1000, (b.North-b.South)/1000
	g.Bounds = records.Bounds{West: max(b.West-padX, -180), East: min(b.East+padX, 180), South: max(b.South-padY, -90), North: min(b.North+padY, 90)}
	if _, degrees := on.(position.Geographic); degrees {
		g.Bounds = b
	}
	return nil
}

// countedReader counts and sums up what is read.
type countedReader struct {
	r    io.Reader
	hash hash.Hash
	n    int64
}

func (c *countedReader) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	c.hash.Write(p[:n]) // never fails
	return n, err
}

// chunkTiles is how many tiles are written in one transaction.
const chunkTiles = 128

// groundLoading is a grid while it is loaded.
type groundLoading struct {
	d     *Desk
	actor records.Actor
	grid  *records.GroundGrid
	in    GroundLoad
	rows  *exchange.ASCReader
	file  *countedReader

	chunk []records.GroundTile
}

// Heights beyond these, metres, are no ground on the earth: the deepest sea
// floor and the highest mountain lie within.
const lowestM, highestM = -11_500, 9_500

func (l *groundLoading) read(ctx context.Context) error {
	cutter, err := ground.NewCutter(frameOf(l.grid))
	if err != nil {
		return fmt.Errorf("desk: %w", err)
	}
	row, unitM := make([]float64, l.grid.Cols), l.grid.UnitM()
	for n := range l.grid.Rows {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := l.rows.Row(row); err != nil {
			return err
		}
		for col, v := range row {
			if v == v && !(v*unitM >= lowestM && v*unitM <= highestM) {
				return records.Errorf(records.Invalid, "value %d of row %d from the north is %g %s, which is no height of ground on the earth: "+
					"where it stands for 'no height', name it so in the header (NODATA_value %g), and look whether the unit is right", col+1, n+1, v, l.grid.Unit, v)
			}
		}
		err := cutter.Row(row, func(row, col int, packed []byte) error {
			l.grid.Bytes += int64(len(packed))
			l.chunk = append(l.chunk, records.GroundTile{Row: row, Col: col, Data: packed})
			if len(l.chunk) < chunkTiles {
				return nil
			}
			return l.write(ctx)
		})
		if err != nil {
			return err
		}
		if l.in.Progress != nil && n%64 == 0 {
			l.in.Progress(l.file.n, l.in.Size)
		}
	}
	if err := l.rows.Row(nil); !errors.Is(err, io.EOF) {
		return err
	}
	if cutter.Filled == 0 {
		return records.Errorf(records.Invalid, "no cell of the grid has a height: all are NODATA_value")
	}
	l.grid.Filled, l.grid.LowM, l.grid.HighM = cutter.Filled, cutter.Low*unitM, cutter.High*unitM
	l.grid.SHA256 = hex.EncodeToString(l.file.hash.Sum(nil))
	return l.write(ctx)
}

// write writes the tiles in hand.
func (l *groundLoading) write(ctx context.Context) error {
	if len(l.chunk) == 0 {
		return nil
	}
	err := l.d.store.Update(ctx, l.actor, func(tx records.StoreTx) error { return tx.AddGroundTiles(ctx, l.grid.ID, l.chunk) })
	l.chunk = l.chunk[:0]
	return err
}

// publish puts the grid into use, in the place of one of the same name.
func (l *groundLoading) publish(ctx context.Context) error {
	g := *l.grid
	g.State = records.GroundInUse
	err := l.d.update(ctx, l.actor, func(tx records.StoreTx) error {
		all, err := tx.GroundGrids(ctx)
		if err != nil {
			return err
		}
		for _, x := range all {
			if x.State != records.GroundInUse || x.Name != g.Name {
				continue
			}
			x.State = records.GroundOut
			if err := tx.PutGroundGrid(ctx, x, "another was loaded in its place"); err != nil {
				return err
			}
		}
		return tx.PutGroundGrid(ctx, &g, "loaded")
	})
	if err == nil {
		*l.grid = g
	}
	return err
}
