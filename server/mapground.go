package server

import (
	"container/list"
	"context"
	"fmt"
	"math"
	"sync"

	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
)

// A surface is evaluated on nodes that are fixed to the ground: whole multiples
// of a step on the Mercator plane, the step one of a fixed row. Panning and a
// little zooming therefore move no line, and what was evaluated once is used
// again. Every second node is coarse and always evaluated; a node between
// coarse ones is evaluated only where they disagree about the band, and else
// interpolated, since no line can pass there that would be drawn.

// lattice is the nodes of one scale.
type lattice struct {
	level int     // the step is a whole turn divided by the square root of 2 to the level
	step  float64 // radians on the Mercator plane
	// spacingM is about how far apart coarse nodes are on the ground. It is
	// one of a row of values too, so that it does not depend on the window.
	spacingM float64
}

// nodePixels is about how far apart nodes are, pixels.
const nodePixels = 12.0

func latticeFor(v draw.View) lattice {
	level := int(math.Round(2 * math.Log2(2*math.Pi*v.PerRadian()/nodePixels)))
	step := 2 * math.Pi / math.Pow(2, float64(level)/2)
	// The scale along a parallel in steps of an eighth of an octave.
	_, lat := draw.OffPlane(0, yOf(v))
	shrink := math.Pow(2, math.Round(8*math.Log2(math.Cos(lat*math.Pi/180)))/8)
	return lattice{level: level, step: step, spacingM: 2 * step * 6378137 * shrink}
}

func yOf(v draw.View) float64 {
	_, y := draw.Plane(v.Lon, v.Lat)
	return y
}

// node is the position of a node.
func (l lattice) node(i, j int) position.LonLat {
	lon, lat := draw.OffPlane(float64(i)*l.step, float64(j)*l.step)
	return position.LonLat{Lon: lon, Lat: lat}
}

// groundSide is how many nodes a tile has along a side; even.
const groundSide = 8

// groundTile is the nodes from its south-west corner on, row by row from the
// south, without the row and the column that the next tiles begin with.
type groundTile struct {
	values [groundSide * groundSide]float64
	flat   [groundSide * groundSide]bool
}

// groundKey names a tile: its column and row on the plane, and all that its
// values depend on.
type groundKey struct {
	of   string
	x, y int
}

// groundTiles keeps the tiles used last.
type groundTiles struct {
	mu     sync.Mutex
	byKey  map[groundKey]*list.Element
	recent list.List // of keptTile, latest first
}

type keptTile struct {
	key  groundKey
	tile *groundTile
}

// mostGround is how many tiles are kept: about 12 MB.
const mostGround = 16000

func (g *groundTiles) get(k groundKey) *groundTile {
	g.mu.Lock()
	defer g.mu.Unlock()
	e, ok := g.byKey[k]
	if !ok {
		return nil
	}
	g.recent.MoveToFront(e)
	return e.Value.(keptTile).tile
}

func (g *groundTiles) put(k groundKey, t *groundTile) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.byKey == nil {
		g.byKey = map[groundKey]*list.Element{}
	}
	if _, ok := g.byKey[k]; ok {
		return
	}
	g.byKey[k] = g.recent.PushFront(keptTile{k, t})
	for g.recent.Len() > mostGround {
		last := g.recent.Back()
		delete(g.byKey, last.Value.(keptTile).key)
		g.recent.Remove(last)
	}
}

// evaluate answers for positions: values, NaN where unsupported, and where the
// wells say no more than the area.
type evaluate func(nodes []position.LonLat) (values []float64, flat []bool, err error)

// window is the nodes that a view needs, filled tile by tile.
type window struct {
	lattice
	x0, y0, nx, ny int // tiles
	cols, rows     int // nodes, one more than the tiles have, for interpolation
	values         []float64
	flat, have     []bool
	levels         []float64
}

// ground evaluates what a view needs. of names all that the values depend on
// besides the place.
func (g *groundTiles) ground(v draw.View, l lattice, of string, levels []float64, eval evaluate) (*draw.MapSurface, error) {
	cx, cy := draw.Plane(v.Lon, v.Lat)
	s := v.PerRadian()
	// Two nodes more on every side than the window has, so that what is rounded
	// off at the grid's border lies outside of the window.
	first := func(c, half float64) int { return floorDiv(int(math.Floor((c-half/s)/l.step))-2, groundSide) }
	last := func(c, half float64) int { return floorDiv(int(math.Ceil((c+half/s)/l.step))+2, groundSide) }
	w := &window{lattice: l, x0: first(cx, v.W/2), y0: first(cy, v.H/2), levels: levels}
	w.nx, w.ny = last(cx, v.W/2)-w.x0+1, last(cy, v.H/2)-w.y0+1
	w.cols, w.rows = w.nx*groundSide+1, w.ny*groundSide+1
	n := w.cols * w.rows
	w.values, w.flat, w.have = make([]float64, n), make([]bool, n), make([]bool, n)
	of = fmt.Sprintf("%s|%d|%g", of, l.level, l.spacingM)
	var missing [][2]int
	for ty := range w.ny {
		for tx := range w.nx {
			if t := g.get(groundKey{of, w.x0 + tx, w.y0 + ty}); t != nil {
				w.paste(tx, ty, t)
			} else {
				missing = append(missing, [2]int{tx, ty})
			}
		}
	}
	if len(missing) > 0 {
		if err := w.fill(missing, eval); err != nil {
			return nil, err
		}
		for _, m := range missing {
			g.put(groundKey{of, w.x0 + m[0], w.y0 + m[1]}, w.cut(m[0], m[1]))
		}
	}
	return w.surface(cx, cy, s, v), nil
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func (w *window) paste(tx, ty int, t *groundTile) {
	for j := range groundSide {
		at := (ty*groundSide+j)*w.cols + tx*groundSide
		copy(w.values[at:at+groundSide], t.values[j*groundSide:])
		copy(w.flat[at:at+groundSide], t.flat[j*groundSide:(j+1)*groundSide])
		for i := range groundSide {
			w.have[at+i] = true
		}
	}
}

func (w *window) cut(tx, ty int) *groundTile {
	var t groundTile
	for j := range groundSide {
		at := (ty*groundSide+j)*w.cols + tx*groundSide
		copy(t.values[j*groundSide:(j+1)*groundSide], w.values[at:])
		copy(t.flat[j*groundSide:(j+1)*groundSide], w.flat[at:])
	}
	return &t
}

// fill evaluates the coarse nodes of the missing tiles and of the edges they
// share, then what lies between.
func (w *window) fill(missing [][2]int, eval evaluate) error {
	var want []int
	for _, m := range missing {
		for j := 0; j <= groundSide; j += 2 {
			for i := 0; i <= groundSide; i += 2 {
				if at := (m[1]*groundSide+j)*w.cols + m[0]*groundSide + i; !w.have[at] {
					w.have[at] = true
					want = append(want, at)
				}
			}
		}
	}
	if err := w.ask(want, eval); err != nil {
		return err
	}
	want = want[:0]
	for _, m := range missing {
		for j := range groundSide {
			for i := range groundSide {
				if i%2 == 0 && j%2 == 0 {
					continue
				}
				at := (m[1]*groundSide+j)*w.cols + m[0]*groundSide + i
				w.have[at] = true
				if !w.between(at, i%2, j%2) {
					want = append(want, at)
				}
			}
		}
	}
	return w.ask(want, eval)
}

// between interpolates a node from the coarse ones beside it and reports
// whether it may: whether those lie in one band and are of one kind.
func (w *window) between(at, oddI, oddJ int) bool {
	a, b := at-oddI-oddJ*w.cols, at+oddI+oddJ*w.cols
	c, d := at+oddI-oddJ*w.cols, at-oddI+oddJ*w.cols
	band, flat := w.bandOf(a), w.flat[a]
	for _, o := range [3]int{b, c, d} {
		if w.bandOf(o) != band || w.flat[o] != flat {
			return false
		}
	}
	w.values[at] = (w.values[a] + w.values[b] + w.values[c] + w.values[d]) / 4
	w.flat[at] = flat
	return true
}

// bandOf counts the levels at or below a node's value; -1 is unsupported.
func (w *window) bandOf(at int) int {
	v := w.values[at]
	if math.IsNaN(v) {
		return -1
	}
	n := 0
	for n < len(w.levels) && w.levels[n] <= v {
		n++
	}
	return n
}

func (w *window) ask(at []int, eval evaluate) error {
	if len(at) == 0 {
		return nil
	}
	nodes := make([]position.LonLat, len(at))
	for k, i := range at {
		nodes[k] = w.node(w.x0*groundSide+i%w.cols, w.y0*groundSide+i/w.cols)
	}
	values, flat, err := eval(nodes)
	if err != nil {
		return err
	}
	for k, i := range at {
		w.values[i] = values[k]
		w.flat[i] = flat != nil && flat[k]
	}
	return nil
}

// surface puts the nodes on pixels. The last row and column, which only some
// tiles needed, are left out.
func (w *window) surface(cx, cy, perRadian float64, v draw.View) *draw.MapSurface {
	cols, rows := w.cols-1, w.rows-1
	cell := w.step * perRadian
	grid := surface.Grid{
		Cols: cols, Rows: rows, CellW: cell, CellH: cell,
		MinX: v.W/2 + (float64(w.x0*groundSide)*w.step-cx)*perRadian - cell/2,
		MinY: -v.H/2 + (float64(w.y0*groundSide)*w.step-cy)*perRadian - cell/2,
	}
	out := &draw.MapSurface{Field: surface.Field{Grid: grid, Values: make([]float64, grid.Len())}, Flat: make([]bool, grid.Len())}
	for j := range rows {
		copy(out.Field.Values[j*cols:(j+1)*cols], w.values[j*w.cols:])
		copy(out.Flat[j*cols:(j+1)*cols], w.flat[j*w.cols:])
	}
	return out
}

// farthestGroundM is how far apart coarse nodes may be for a surface to be
// drawn: where no well reaches from one to the next, there would be only
// specks.
var farthestGroundM = surface.DefaultSupport.MaxM * 1.25

// showsSurface tells whether a surface lies under the wells of a settled view.
func (st *mapState) showsSurface() bool {
	return st.surface != showNothing && latticeFor(st.view).spacingM <= farthestGroundM
}

// addSurface evaluates the surface that lies under the wells.
func (s *Server) addSurface(ctx context.Context, actor records.Actor, st *mapState, sc *scale, data *draw.MapData, m *desk.Model) error {
	if st.surface == showNothing || len(sc.levels) == 0 {
		return nil
	}
	l := latticeFor(st.view)
	if l.spacingM > farthestGroundM {
		data.Key.Words = append(data.Key.Words, "closer in, the ground between the wells is drawn too")
		return nil
	}
	if m == nil {
		return nil
	}
	ask := desk.SurfaceAsk{Field: st.field, Filter: st.filter, Method: desk.ByNeighbours, Reading: desk.Middle, SpacingM: l.spacingM}
	switch st.surface {
	case showRange:
		ask.Reading = desk.Spread
	case showChance:
		ask.Reading, ask.Threshold = desk.Chance, unitFor(st.field, st.units).ToBase(st.reach)
	case showSkill:
		ask.Reading = desk.Promise
	case showIDW:
		ask.Method, ask.IDW = desk.ByInverseDistance, surface.IDW{Power: 2, Neighbours: 12}
	case showKriging, showKrigingError:
		ask.Method = desk.ByKriging
	}
	// A model that was made anew meanwhile must not be kept under the name of
	// the one before.
	made := m.Commit
	eval := func(nodes []position.LonLat) ([]float64, []bool, error) {
		f, err := s.desk.SurfaceAt(ctx, actor, ask, nodes)
		if err != nil {
			return nil, nil, err
		}
		if f.Model.Commit != made {
			return nil, nil, errModelChanged
		}
		values := f.Values
		if st.surface == showKrigingError {
			values = f.Errors
		}
		for i := range values {
			values[i] *= sc.perBase
		}
		return values, f.Flat, nil
	}
	of := fmt.Sprintf("%d|%s|%s|%s|%g|%v", made, st.field, st.filter.Key(), st.surface, ask.Threshold, sc.levels)
	ms, err := s.tiles.ground(st.view, l, of, sc.levels, eval)
	if err != nil {
		return err
	}
	ms.Levels, ms.Ramp, ms.Contours, ms.Label = sc.levels, sc.ramp, st.contours, sc.label
	ms.FlatWords = "the wells here say no more than the area as a whole"
	ms.BareWords = "no wells near: not drawn"
	if m.Level != nil {
		ms.BareWords = "no wells near, or the ground's height not known: not drawn"
	}
	data.Surface = ms
	return nil
}

// errModelChanged says that the model was made anew while a map was drawn from
// it; the map is then drawn once more.
var errModelChanged = records.Errorf(records.Busy, "the records changed while the map was drawn: load it again")
