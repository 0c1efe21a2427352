package draw

import (
	"math"

	"tallybook/geo/surface"
)

// mapGround is a surface made ready to be drawn: its values carried a little
// way beyond the ground where they are claimed, and the edges of that ground
// as smooth fields of their own, since a jagged edge would claim to be known
// to the pixel.
type mapGround struct {
	field     surface.Field // of the lively nodes, and a few beyond them
	supported []bool
	lively    []bool    // supported, and the wells say more than the area
	support   []float64 // 1 where supported, 0 where not, blurred; the edge is at edgeAt
	life      []float64 // the same of lively
	anyFlat   bool
	anyBare   bool
	anyLively bool
	lines     []surface.Line
}

// edgeAt is where the edge of supported ground is drawn.
const edgeAt = 0.5

// carryNodes is how many nodes values are carried beyond their ground: as many
// as the blur reaches.
const carryNodes = 3

func groundOf(s *MapSurface) *mapGround {
	n := len(s.Field.Values)
	g := &mapGround{
		field:     surface.Field{Grid: s.Field.Grid, Values: make([]float64, n)},
		supported: make([]bool, n), lively: make([]bool, n),
		support: make([]float64, n), life: make([]float64, n),
	}
	for i, v := range s.Field.Values {
		g.supported[i] = !math.IsNaN(v)
		flat := g.supported[i] && s.Flat != nil && s.Flat[i]
		g.lively[i] = g.supported[i] && !flat
		g.anyFlat = g.anyFlat || flat
		g.anyBare = g.anyBare || !g.supported[i]
		g.anyLively = g.anyLively || g.lively[i]
		g.field.Values[i] = math.NaN()
		if g.lively[i] {
			g.field.Values[i] = v
			g.life[i] = 1
		}
		if g.supported[i] {
			g.support[i] = 1
		}
	}
	cols, rows := s.Field.Cols, s.Field.Rows
	if g.anyBare || g.anyFlat {
		for range carryNodes {
			carry(g.field.Values, cols, rows)
		}
		for range 2 {
			blur(g.support, cols, rows)
			blur(g.life, cols, rows)
		}
	}
	if s.Contours {
		if lines, err := surface.Contours(g.field, s.Levels, nil); err == nil {
			g.lines = lines
		}
	}
	return g
}

// carry gives each node without a value that has neighbours with one their
// mean.
func carry(v []float64, cols, rows int) {
	old := append([]float64(nil), v...)
	for r := range rows {
		for c := range cols {
			i := r*cols + c
			if !math.IsNaN(old[i]) {
				continue
			}
			sum, n := 0.0, 0
			for dr := max(r-1, 0); dr <= min(r+1, rows-1); dr++ {
				for dc := max(c-1, 0); dc <= min(c+1, cols-1); dc++ {
					if x := old[dr*cols+dc]; !math.IsNaN(x) {
						sum += x
						n++
					}
				}
			}
			if n > 0 {
				v[i] = sum / float64(n)
			}
		}
	}
}

// blur takes weighted means of neighbours, 1-2-1 along rows and columns; at
// the border of the grid the last node stands for those beyond.
func blur(v []float64, cols, rows int) {
	line := make([]float64, max(cols, rows))
	pass := func(start, step, n int) {
		for i := range n {
			line[i] = v[start+i*step]
		}
		for i := range n {
			v[start+i*step] = (line[max(i-1, 0)] + 2*line[i] + line[min(i+1, n-1)]) / 4
		}
	}
	for r := range rows {
		pass(r*cols, 1, cols)
	}
	for c := range cols {
		pass(c, cols, rows)
	}
}

// shown says how surely a pixel (y up) is ground whose values are drawn: above
// edgeAt it is.
func (g *mapGround) shown(x, y float64) float64 {
	if !g.anyFlat && !g.anyBare {
		return 1
	}
	c := int(math.Round((x-g.field.MinX)/g.field.CellW - 0.5))
	r := int(math.Round((y-g.field.MinY)/g.field.CellH - 0.5))
	if c < 0 || r < 0 || c >= g.field.Cols || r >= g.field.Rows {
		return 0
	}
	i := g.field.Index(c, r)
	return min(g.support[i], g.life[i])
}
