package server

import (
	"fmt"
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// hexPixels is about how large the circumradius of a cell is, pixels.
const hexPixels = 30.0

// hexLattice is cells that are fixed to the ground at each scale, as the
// surface's nodes are, so that panning moves the cells and does not deal the
// wells anew.
type hexLattice struct {
	view   draw.View
	r      float64 // circumradius, pixels
	ox, oy float64 // pixel of the lattice's origin
	// The part of the lattice that the window needs: rows and, in each, cells.
	row0, col0, rows, cols int
}

func hexLatticeFor(v draw.View) *hexLattice {
	perRadian := v.PerRadian()
	level := math.Round(2 * math.Log2(2*math.Pi*perRadian/hexPixels))
	h := &hexLattice{view: v, r: 2 * math.Pi / math.Pow(2, level/2) * perRadian}
	cx, cy := draw.Plane(v.Lon, v.Lat)
	h.ox, h.oy = v.W/2-cx*perRadian, v.H/2+cy*perRadian
	h.row0 = int(math.Floor(-h.oy/(1.5*h.r))) - 1
	h.rows = int(math.Ceil((v.H-h.oy)/(1.5*h.r))) + 1 - h.row0 + 1
	h.col0 = int(math.Floor(-h.ox/(math.Sqrt(3)*h.r))) - 1
	h.cols = int(math.Ceil((v.W-h.ox)/(math.Sqrt(3)*h.r))) + 1 - h.col0 + 1
	return h
}

// cell is the cell of a pixel, by its place in the window's part of the
// lattice: pointed tops, every second row moved by half a cell. -1 is outside.
func (h *hexLattice) cell(x, y float64) int {
	qf := (math.Sqrt(3)/3*(x-h.ox) - (y-h.oy)/3) / h.r
	rf := (2.0 / 3 * (y - h.oy)) / h.r
	// Rounded in three coordinates whose sum is nought, the one that was
	// rounded farthest follows from the others.
	sf := -qf - rf
	q, r, s := math.Round(qf), math.Round(rf), math.Round(sf)
	dq, dr, ds := math.Abs(q-qf), math.Abs(r-rf), math.Abs(s-sf)
	switch {
	case dq > dr && dq > ds:
		q = -r - s
	case dr > ds:
		r = -q - s
	}
	row := int(r)
	col := int(q) + (row-(row&1))/2
	row, col = row-h.row0, col-h.col0
	if row < 0 || col < 0 || row >= h.rows || col >= h.cols {
		return -1
	}
	return row*h.cols + col
}

func (h *hexLattice) middle(cell int) (x, y float64) {
	row, col := cell/h.cols+h.row0, cell%h.cols+h.col0
	return h.ox + math.Sqrt(3)*h.r*(float64(col)+float64(row&1)/2), h.oy + 1.5*h.r*float64(row)
}

// latTable gives the pixel of a latitude without a logarithm for each well:
// linear between knots so near each other that nothing is off by a hundredth
// of a pixel.
type latTable struct {
	south, perDegree float64
	y                []float64
}

func latTableFor(v draw.View, b records.Bounds) *latTable {
	const knots = 4096
	t := &latTable{south: b.South, perDegree: (knots - 1) / max(b.North-b.South, 1e-9), y: make([]float64, knots+1)}
	for i := range t.y {
		_, t.y[i] = v.Pixel(v.Lon, b.South+float64(i)/t.perDegree)
	}
	return t
}

func (t *latTable) pixel(lat float64) float64 {
	f := min(max((lat-t.south)*t.perDegree, 0), float64(len(t.y)-2))
	i := int(f)
	return t.y[i] + (t.y[i+1]-t.y[i])*(f-float64(i))
}

// hexes gathers the wells in view into cells with their count and median, and
// tells how many wells are in view.
func hexes(st *mapState, p *snapshot.Picture, sc *scale) (out []draw.MapHex, shown int) {
	v := st.view
	h := hexLatticeFor(v)
	b := v.Bounds(2 * h.r)
	lats := latTableFor(v, b)
	perDegree := v.PerRadian() * math.Pi / 180
	// Counting, then laying the values cell by cell into one array.
	// All wells are gone through in the order of memory: cells are drawn where
	// there are many in view, and then that is faster than asking the index.
	n := p.Len()
	met, cells := make([]records.DigestValue, 0, n), make([]int32, 0, n)
	all := st.filter.IsZero()
	start := make([]int32, h.rows*h.cols+1)
	p.Each(func(r snapshot.Row) bool {
		lon, lat, located := r.Position()
		if !located || lat < b.South || lat > b.North || !all && !st.filter.Takes(r) {
			return true
		}
		d := lon - v.Lon
		switch {
		case d > 180:
			d -= 360
		case d < -180:
			d += 360
		}
		x, y := v.W/2+d*perDegree, lats.pixel(lat)
		if x >= 0 && y >= 0 && x <= v.W && y <= v.H {
			shown++
		}
		if c := h.cell(x, y); c >= 0 {
			met, cells = append(met, st.valueOf(r)), append(cells, int32(c))
			start[c+1]++
		}
		return true
	})
	for c := 1; c < len(start); c++ {
		start[c] += start[c-1]
	}
	values := make([]records.DigestValue, len(met))
	next := append([]int32(nil), start...)
	for i := range met {
		values[next[cells[i]]] = met[i]
		next[cells[i]]++
	}
	var m medians
	for c := range h.rows * h.cols {
		in := values[start[c]:start[c+1]]
		if len(in) == 0 {
			continue
		}
		x, y := h.middle(c)
		if x < -h.r || y < -h.r || x > v.W+h.r || y > v.H+h.r {
			continue // out of sight, and not all of its wells were counted
		}
		hex := draw.MapHex{X: x, Y: y, R: h.r, Count: len(in)}
		median, ok := m.of(in)
		hex.Title = count(len(in), "well", "wells")
		if ok {
			hex.Known = true
			hex.Share = sc.share(median * unitFor(st.field, st.units).FromBase(1))
			hex.Title += fmt.Sprintf(", half of them at %s or more", fieldFigure(st.field, st.units, median))
		}
		lon, lat := v.Position(x, y)
		hex.Href = st.href(func(n *mapState) {
			n.placed = true
			n.view.Lon, n.view.Lat = lon, lat
			n.view.MPerPixel = v.MPerPixel / 4
		})
		out = append(out, hex)
	}
	return out, shown
}

// medians finds medians; it keeps its scratch space from one to the next.
type medians struct {
	exact   []float64
	samples []predict.Sample
}

// mostBounded is how many bounded values of a cell are weighed; of more, every
// so manieth.
const mostBounded = 2000

// of is the median of values; bounds count as bounds. ok is false where it is
// unknown or beyond all values.
func (m *medians) of(values []records.DigestValue) (median float64, ok bool) {
	m.exact = m.exact[:0]
	bounded := false
	for _, v := range values {
		if v.Qualifier == records.Missing {
			continue
		}
		bounded = bounded || v.Qualifier.IsBound()
		m.exact = append(m.exact, v.Value)
	}
	if len(m.exact) == 0 {
		return 0, false
	}
	if !bounded {
		return desk.Nth(m.exact, len(m.exact)/2), true
	}
	m.samples = m.samples[:0]
	every := 1 + len(m.exact)/mostBounded
	for i := 0; i < len(values); i += every {
		v := values[i]
		if v.Qualifier == records.Missing {
			continue
		}
		m.samples = append(m.samples, predict.Sample{Value: v.Value, High: v.High, Bound: snapshot.BoundOf(v.Qualifier), Weight: 1})
	}
	d, err := predict.NewDistribution(m.samples)
	if err != nil {
		return 0, false
	}
	median = d.Median()
	return median, !math.IsInf(median, 0) && !math.IsNaN(median)
}

// fieldFigure writes a value of a field with its unit.
func fieldFigure(f snapshot.Field, u say.System, v float64) string {
	if math.IsInf(v, 1) {
		return "more than the records say"
	}
	if f == snapshot.Yield {
		return u.Flow(records.Of(records.Flow(v)))
	}
	if f == snapshot.BedrockElevation {
		return derivedHeight(units{u}, v)
	}
	return u.Estimate(v)
}
