package server

import (
	"fmt"
	"math"
	"slices"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// hexR is the circumradius of a cell, pixels.
const hexR = 30.0

// hexCell is a cell of a lattice that is fixed to the ground at each scale, so
// that panning moves the cells and does not deal the wells anew.
type hexCell struct{ q, r int32 }

// hexOf is the cell of a point, pixels from the lattice's origin (axial
// coordinates, pointed tops, rounded in cube coordinates).
func hexOf(x, y float64) hexCell {
	qf := (math.Sqrt(3)/3*x - y/3) / hexR
	rf := (2.0 / 3 * y) / hexR
	sf := -qf - rf
	q, r, s := math.Round(qf), math.Round(rf), math.Round(sf)
	dq, dr, ds := math.Abs(q-qf), math.Abs(r-rf), math.Abs(s-sf)
	switch {
	case dq > dr && dq > ds:
		q = -r - s
	case dr > ds:
		r = -q - s
	}
	return hexCell{int32(q), int32(r)}
}

func (h hexCell) middle() (x, y float64) {
	return hexR * math.Sqrt(3) * (float64(h.q) + float64(h.r)/2), hexR * 1.5 * float64(h.r)
}

// hexes gathers the wells in view into cells with their count and median.
func hexes(st *mapState, p *snapshot.Picture, sc *scale) []draw.MapHex {
	originX, originY := st.view.Pixel(0, 0)
	cells := map[hexCell][]snapshot.Row{}
	p.InBox(st.view.Bounds(hexR), func(r snapshot.Row) bool {
		if !st.filter.Takes(r) {
			return true
		}
		lon, lat, _ := r.Position()
		x, y := st.view.Pixel(lon, lat)
		c := hexOf(x-originX, y-originY)
		cells[c] = append(cells[c], r)
		return true
	})
	keys := make([]hexCell, 0, len(cells))
	for c := range cells {
		keys = append(keys, c)
	}
	slices.SortFunc(keys, func(a, b hexCell) int {
		if a.r != b.r {
			return int(a.r - b.r)
		}
		return int(a.q - b.q)
	})
	out := make([]draw.MapHex, 0, len(keys))
	for _, c := range keys {
		x, y := c.middle()
		x, y = x+originX, y+originY
		rows := cells[c]
		h := draw.MapHex{X: x, Y: y, R: hexR, Count: len(rows)}
		median, ok := medianOf(rows, st.field)
		h.Title = count(len(rows), "well", "wells")
		if ok {
			h.Known = true
			h.Share = sc.share(median * unitFor(st.field, st.units).FromBase(1))
			h.Title += fmt.Sprintf(", half of them at %s or more", fieldFigure(st.field, st.units, median))
		}
		lon, lat := st.view.Position(x, y)
		h.Href = st.href(func(n *mapState) {
			n.placed = true
			n.view.Lon, n.view.Lat = lon, lat
			n.view.MPerPixel = st.view.MPerPixel / 4
		})
		out = append(out, h)
	}
	return out
}

// medianOf is the median of a field over wells; bounds count as bounds.
func medianOf(rows []snapshot.Row, f snapshot.Field) (float64, bool) {
	values := make([]float64, 0, len(rows))
	var samples []predict.Sample
	bounded := false
	for _, r := range rows {
		v := r.Value(f)
		if v.Qualifier == records.Missing {
			continue
		}
		b := predict.Exact
		switch v.Qualifier {
		case records.LessThan:
			b, bounded = predict.LessThan, true
		case records.GreaterThan:
			b, bounded = predict.GreaterThan, true
		case records.Between:
			b, bounded = predict.Between, true
		}
		values = append(values, v.Value)
		samples = append(samples, predict.Sample{Value: v.Value, High: v.High, Bound: b, Weight: 1})
	}
	if len(values) == 0 {
		return 0, false
	}
	if !bounded {
		slices.Sort(values)
		return values[len(values)/2], true
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		return 0, false
	}
	m := d.Median()
	return m, !math.IsInf(m, 0) && !math.IsNaN(m)
}

// fieldFigure writes a value of a field with its unit.
func fieldFigure(f snapshot.Field, u say.System, v float64) string {
	if math.IsInf(v, 1) {
		return "more than the records say"
	}
	if f == snapshot.Yield {
		return u.Flow(records.Of(records.Flow(v)))
	}
	return u.Metres(roundEstimate(v, u.LengthUnit()))
}

// roundEstimate keeps no more digits of a depth than an estimate has: whole
// units, and steps of five from a hundred on.
func roundEstimate(m float64, unit records.Unit) float64 {
	v := unit.FromBase(m)
	if step := 5.0; v >= 100 {
		v = math.Round(v/step) * step
	} else {
		v = math.Round(v)
	}
	return unit.ToBase(v)
}
