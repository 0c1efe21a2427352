package draw

import (
	"math"
	"strconv"
)

// pen is one layer of a pattern tile: path data with relative moves, so that
// it stays short. Places are rounded to a tenth of a unit before differences
// are taken, so that no error builds up, and pass through integers, so that
// neither minus zero nor a processor's last digit can appear.
type pen struct {
	b      []byte
	x, y   int // the present point, tenths
	x0, y0 int // where the figure began
}

func tenth(v float64) int { return int(math.Round(v * 10)) }

func (p *pen) number(n int, first bool) {
	if n < 0 {
		p.b = append(p.b, '-')
		n = -n
	} else if !first {
		p.b = append(p.b, ' ')
	}
	if n >= 10 || n == 0 {
		p.b = strconv.AppendInt(p.b, int64(n/10), 10)
	}
	if n%10 != 0 {
		p.b = append(p.b, '.', byte('0'+n%10))
	}
}

func (p *pen) to(op byte, x, y float64) {
	nx, ny := tenth(x), tenth(y)
	p.b = append(p.b, op)
	p.number(nx-p.x, true)
	p.number(ny-p.y, false)
	p.x, p.y = nx, ny
}

// m moves, l draws a line, q a quadratic curve by one control point, z closes.
// All places are absolute.
func (p *pen) m(x, y float64) {
	p.to('m', x, y)
	p.x0, p.y0 = p.x, p.y
}

func (p *pen) l(x, y float64) { p.to('l', x, y) }

func (p *pen) q(cx, cy, x, y float64) {
	nx, ny := tenth(x), tenth(y)
	p.b = append(p.b, 'q')
	p.number(tenth(cx)-p.x, true)
	p.number(tenth(cy)-p.y, false)
	p.number(nx-p.x, false)
	p.number(ny-p.y, false)
	p.x, p.y = nx, ny
}

func (p *pen) z() {
	p.b = append(p.b, 'z')
	p.x, p.y = p.x0, p.y0
}

// dot is a line too short to see, which a round cap makes a dot.
func (p *pen) dot(x, y float64) {
	p.m(x, y)
	p.b = append(p.b, "h0"...)
}

// The layers of a tile, from the bottom up.
const (
	layerStone = iota // closed figures filled paler than the ground, with an outline
	layerFine         // hairlines
	layerLine         // ordinary strokes
	layerHeavy        // strokes that carry the pattern
	layerDust         // the finest dots
	layerDot          // dots
	layerGrain        // the coarsest dots
	layerWater        // strokes in the water's colour
	layerCount
)

// strokeWidths are the widths of the layers' strokes, in drawing units.
var strokeWidths = [layerCount]float64{
	layerStone: .75, layerFine: .5, layerLine: .75, layerHeavy: 1.1,
	layerDust: .8, layerDot: 1.15, layerGrain: 1.7, layerWater: .9,
}

// tile is a pattern's repeating piece. Marks that reach over an edge come in
// again at the other side, so that the joints do not show.
type tile struct {
	w, h   float64
	layers [layerCount]pen
	dark   bool // the ground is near black and the strokes are pale: coal
	rand   dice
}

func newTile(w, h float64, seed string) *tile {
	t := &tile{w: w, h: h}
	for _, c := range []byte(seed) {
		t.rand.state = (t.rand.state ^ uint64(c)) * 0x100000001b3
	}
	return t
}

// around calls f with every shift at which a mark within r of (x, y) shows in
// the tile.
func (t *tile) around(x, y, r float64, f func(x, y float64)) {
	r++
	for dx := -t.w; dx <= t.w; dx += t.w {
		for dy := -t.h; dy <= t.h; dy += t.h {
			if x+dx+r > 0 && x+dx-r < t.w && y+dy+r > 0 && y+dy-r < t.h {
				f(x+dx, y+dy)
			}
		}
	}
}

// dice is a fixed small generator (splitmix64), so that a pattern is the same
// on every machine and in every release.
type dice struct{ state uint64 }

func (d *dice) next() uint64 {
	d.state += 0x9e3779b97f4a7c15
	z := d.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// unit gives a number from 0 up to 1.
func (d *dice) unit() float64 { return float64(d.next()>>11) / (1 << 53) }

// within gives a number between a and b.
func (d *dice) within(a, b float64) float64 { return a + float64((b-a)*d.unit()) }

// jitter gives a number between -a and a.
func (d *dice) jitter(a float64) float64 { return d.within(-a, a) }

// spot is a round place taken by a mark.
type spot struct{ x, y, r float64 }

// spots is the list of places taken in a tile, across its edges.
type spots struct {
	t    *tile
	list []spot
}

// free reports whether a circle overlaps no place taken.
func (s *spots) free(x, y, r float64) bool {
	for _, o := range s.list {
		dx, dy := math.Abs(x-o.x), math.Abs(y-o.y)
		dx, dy = min(dx, s.t.w-dx), min(dy, s.t.h-dy)
		// Forced to float64, so that no processor decides otherwise.
		if d := r + o.r; float64(dx*dx)+float64(dy*dy) < float64(d*d) {
			return false
		}
	}
	return true
}

// throw places up to n circles of radius r where there is room (gap widens
// them for the test only), and gives those placed.
func (s *spots) throw(n int, r, gap float64) []spot {
	first := len(s.list)
	for tries := 0; tries < 40*n && len(s.list)-first < n; tries++ {
		x, y := s.t.rand.within(0, s.t.w), s.t.rand.within(0, s.t.h)
		if s.free(x, y, r+gap) {
			s.list = append(s.list, spot{x, y, r})
		}
	}
	return s.list[first:]
}
