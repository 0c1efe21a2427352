package draw

import "math"

// pebble is a rounded stone: a closed curve through n points on an uneven
// ellipse. rough from 0 (smooth) to about 0.2.
func (t *tile) pebble(layer int, c spot, flat, rough float64) {
	const n = 7
	turn := t.rand.within(0, 2*math.Pi)
	tilt := t.rand.jitter(.5)
	var px, py [n]float64
	for i := range n {
		a := turn + 2*math.Pi*float64(i)/n
		k := c.r * (1 + t.rand.jitter(rough))
		x, y := k*math.Cos(a), k*flat*math.Sin(a)
		px[i] = x*math.Cos(tilt) - y*math.Sin(tilt)
		py[i] = x*math.Sin(tilt) + y*math.Cos(tilt)
	}
	t.around(c.x, c.y, c.r*1.25, func(x, y float64) {
		p := &t.layers[layer]
		p.m(x+(px[n-1]+px[0])/2, y+(py[n-1]+py[0])/2)
		for i := range n {
			j := (i + 1) % n
			p.q(x+px[i], y+py[i], x+(px[i]+px[j])/2, y+(py[i]+py[j])/2)
		}
		p.z()
	})
}

// shard is an angular piece with n corners.
func (t *tile) shard(layer int, c spot, n int, rough float64) {
	turn := t.rand.within(0, 2*math.Pi)
	px, py := make([]float64, n), make([]float64, n)
	for i := range n {
		a := turn + 2*math.Pi*(float64(i)+t.rand.jitter(rough))/float64(n)
		k := c.r * (1 - t.rand.unit()*rough)
		px[i], py[i] = k*math.Cos(a), k*math.Sin(a)
	}
	t.around(c.x, c.y, c.r, func(x, y float64) {
		p := &t.layers[layer]
		p.m(x+px[0], y+py[0])
		for i := 1; i < n; i++ {
			p.l(x+px[i], y+py[i])
		}
		p.z()
	})
}

// stroke is a straight mark of length l about (x, y), at angle a (radians,
// clockwise from the right as the screen has it).
func (t *tile) stroke(layer int, x, y, l, a float64) {
	dx, dy := l/2*math.Cos(a), l/2*math.Sin(a)
	t.around(x, y, l/2, func(x, y float64) {
		p := &t.layers[layer]
		p.m(x-dx, y-dy)
		p.l(x+dx, y+dy)
	})
}

// bow is a curved mark: as stroke, bent sideways by b.
func (t *tile) bow(layer int, x, y, l, a, b float64) {
	dx, dy := l/2*math.Cos(a), l/2*math.Sin(a)
	bx, by := -2*b*math.Sin(a), 2*b*math.Cos(a)
	t.around(x, y, l/2+math.Abs(b), func(x, y float64) {
		p := &t.layers[layer]
		p.m(x-dx, y-dy)
		p.q(x+bx, y+by, x+dx, y+dy)
	})
}

// ess is a mark bent one way and then the other, like a lying S.
func (t *tile) ess(layer int, x, y, l, a, b float64) {
	dx, dy := l/2*math.Cos(a), l/2*math.Sin(a)
	bx, by := -2*b*math.Sin(a), 2*b*math.Cos(a)
	t.around(x, y, l/2+math.Abs(b), func(x, y float64) {
		p := &t.layers[layer]
		p.m(x-dx, y-dy)
		p.q(x-dx/2+bx, y-dy/2+by, x, y)
		p.q(x+dx/2-bx, y+dy/2-by, x+dx, y+dy)
	})
}

// vee is a v of width w and height h; a negative h makes a caret.
func (t *tile) vee(layer int, x, y, w, h float64) {
	t.around(x, y, w, func(x, y float64) {
		p := &t.layers[layer]
		p.m(x-w/2, y-h/2)
		p.l(x, y+h/2)
		p.l(x+w/2, y-h/2)
	})
}

func (t *tile) dot(layer int, x, y float64) {
	t.around(x, y, 1, func(x, y float64) { t.layers[layer].dot(x, y) })
}

// plus is an upright cross with arms of length l turned by a.
func (t *tile) plus(layer int, x, y, l, a float64) {
	t.stroke(layer, x, y, l, a)
	t.stroke(layer, x, y, l, a+math.Pi/2)
}

// dots sprinkles dots at least gap apart, clear of the places taken.
func (t *tile) dots(s *spots, layer, n int, gap float64) {
	for _, d := range s.throw(n, gap/2, 0) {
		t.dot(layer, d.x, d.y)
	}
}

// wave is a line across the whole tile that joins itself at the edges.
type wave struct {
	y     float64
	amp   [3]float64
	phase [3]float64
	freq  [3]float64
	width float64
	slope float64 // rise to the right, units per unit; slope*width must be a whole number of tiles
}

// wave makes a line at height y of n main swings of height amp, with an
// unevenness of its own.
func (t *tile) wave(y, amp float64, n int) wave {
	return wave{
		y: y, width: t.w,
		amp:   [3]float64{amp, amp * .45, amp * .3},
		phase: [3]float64{t.rand.within(0, 6.28), t.rand.within(0, 6.28), t.rand.within(0, 6.28)},
		freq:  [3]float64{float64(n), float64(max(n-1, 1)), float64(n + 1)},
	}
}

func (w wave) at(x float64) float64 {
	y := w.y - w.slope*x
	for i := range w.amp {
		y += w.amp[i] * math.Sin(2*math.Pi*w.freq[i]*x/w.width+w.phase[i])
	}
	return y
}

// follow draws the wave from x = a to x = b in steps of about step.
func (t *tile) follow(layer int, w wave, a, b, step float64) {
	n := max(1, int(math.Round((b-a)/step)))
	reach := (b - a) / 2
	mid := (a + b) / 2
	t.around(mid, w.at(mid), reach+6, func(x, y float64) {
		ox, oy := x-mid, y-w.at(mid)
		p := &t.layers[layer]
		p.m(a+ox, w.at(a)+oy)
		for i := range n {
			x0 := a + (b-a)*float64(i)/float64(n)
			x1 := a + (b-a)*float64(i+1)/float64(n)
			m := (x0 + x1) / 2
			// The control point that makes the curve pass through the middle.
			p.q(m+ox, 2*w.at(m)-(w.at(x0)+w.at(x1))/2+oy, x1+ox, w.at(x1)+oy)
		}
	})
}

// across draws the wave over the whole tile and a little more, so that no line
// end falls on an edge.
func (t *tile) across(layer int, w wave, step float64) {
	for k := -2; k <= 2; k++ {
		v := w
		v.y += float64(k) * t.h
		if high := v.y - v.slope*t.w; max(v.y, high) < -8 || min(v.y, high) > t.h+8 {
			continue
		}
		p := &t.layers[layer]
		n := int(math.Round(t.w / step))
		s := t.w / float64(n)
		p.m(-s, v.at(-s))
		for i := -1; i <= n; i++ {
			x0, x1 := float64(i)*s, float64(i+1)*s
			m := (x0 + x1) / 2
			p.q(m, 2*v.at(m)-(v.at(x0)+v.at(x1))/2, x1, v.at(x1))
		}
	}
}

// straight draws a level line over the whole tile with a hand's unevenness.
func (t *tile) straight(layer int, y float64) {
	t.across(layer, t.wave(y, .22, 2), t.w/6)
}

// rows calls f for each of n rows of the tile with the row's middle height.
func (t *tile) rows(n int, f func(i int, y float64)) {
	for i := range n {
		f(i, t.h*(float64(i)+.5)/float64(n))
	}
}

// dashes sets n dashes of length l along a row, the row's start shifted.
func (t *tile) dashes(layer int, y float64, n int, l, shift, wobble float64) {
	for i := range n {
		x := t.w*(float64(i)+.5)/float64(n) + shift + t.rand.jitter(wobble)
		t.stroke(layer, x, y+t.rand.jitter(wobble*.25), l+t.rand.jitter(wobble), t.rand.jitter(.03))
	}
}
