package draw

import "math"

// The drawings of rock; see patternsoil.go.

// paintRock (ours): short joints that fork, as on a bare ledge.
func paintRock(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(36, 5.2, .3) {
		a := t.rand.within(0, 2*math.Pi)
		arms := [3]float64{a, a + 2 + t.rand.jitter(.4), a + 4.2 + t.rand.jitter(.4)}
		var lens [3]float64
		for i := range lens {
			lens[i] = t.rand.within(3, 5.8)
		}
		t.around(c.x, c.y, 8, func(x, y float64) {
			p := &t.layers[layerLine]
			p.m(x+lens[0]*math.Cos(arms[0]), y+lens[0]*math.Sin(arms[0]))
			p.l(x, y)
			p.l(x+lens[1]*math.Cos(arms[1]), y+lens[1]*math.Sin(arms[1]))
			p.m(x, y)
			p.l(x+lens[2]*math.Cos(arms[2]), y+lens[2]*math.Sin(arms[2]))
		})
	}
}

// bricks draws n courses with k joints each; lean slants the joints (in units
// over a course), slack is the hand's unevenness.
func (t *tile) bricks(n, k int, lean, slack float64) {
	course := t.h / float64(n)
	for i := range n {
		t.straight(layerLine, course*float64(i))
		for j := range k {
			x := t.w*(float64(j)+.5*float64(i%2)+.25)/float64(k) + t.rand.jitter(slack)
			y := course * (float64(i) + .5)
			l := math.Hypot(lean, course)
			t.stroke(layerLine, x, y, l-.3, math.Atan2(course, -lean))
		}
	}
}

// paintLimestone follows 627: running-bond brickwork with upright joints.
func paintLimestone(t *tile) { t.bricks(6, 3, 0, 1.2) }

// paintDolomite follows 642: bricks with slanting joints.
func paintDolomite(t *tile) { t.bricks(6, 3, 4.6, 1.2) }

// paintChalk follows 626: brickwork with fine irregular marks.
func paintChalk(t *tile) {
	n := 4
	course := t.h / float64(n)
	for i := range n {
		t.straight(layerFine, course*float64(i))
		for j := range 2 {
			x := t.w * (float64(j) + .5*float64(i%2) + .25) / 2
			t.stroke(layerFine, x+t.rand.jitter(1.5), course*(float64(i)+.5), course, math.Pi/2)
		}
	}
	s := spots{t: t}
	for _, c := range s.throw(26, 3, .6) {
		// Clear of the courses, so that the marks do not thicken the lines.
		if in := math.Mod(c.y, course); in < 2 || in > course-2 {
			continue
		}
		if t.rand.unit() < .5 {
			t.dot(layerDust, c.x, c.y)
		} else {
			t.stroke(layerFine, c.x, c.y, t.rand.within(1.6, 2.8), t.rand.within(.4, 1.2))
		}
	}
}

// paintChert follows 649: lenses in layers.
func paintChert(t *tile) {
	t.rows(5, func(i int, y float64) {
		t.straight(layerFine, y-t.h/10)
		for k := range 2 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/2 + t.rand.jitter(4)
			r, h := t.rand.within(6, 9), t.rand.within(1.8, 2.5)
			t.around(x, y, r, func(x, y float64) {
				p := &t.layers[layerStone]
				p.m(x-r, y)
				p.q(x-r*.2, y-2*h, x+r, y)
				p.q(x+r*.1, y+2*h, x-r, y)
				p.z()
			})
			t.shard(layerLine, spot{x + t.w/4 + t.rand.jitter(2), y, 2}, 3, .1)
		}
	})
}

// paintSandstone follows 608: dots in rows between level lines.
func paintSandstone(t *tile) {
	t.rows(4, func(_ int, y float64) {
		t.straight(layerLine, y-t.h/8)
		for k := range 3 {
			n := 12
			for j := range n {
				x := t.w * (float64(j) + .5*float64(k%2) + .3) / float64(n)
				t.dot(layerDot, x+t.rand.jitter(.9), y+float64(k-1)*t.h/15+t.rand.jitter(.5))
			}
		}
	})
}

// paintSiltstone follows 616, bedded: dashes alternating with dots between
// level lines.
func paintSiltstone(t *tile) {
	t.rows(4, func(i int, y float64) {
		t.straight(layerLine, y-t.h/8)
		for r := range 2 {
			for k := range 5 {
				x := t.w*(float64(k)+.5*float64(r)+.25)/5 + t.rand.jitter(.6)
				yy := y + (float64(r)-.5)*t.h/11
				t.stroke(layerFine, x, yy, 4.4, 0)
				t.dot(layerDust, x+t.w/10, yy)
			}
		}
	})
}

// paintShale follows 619: long thin dashes with scattered dots in layers.
func paintShale(t *tile) {
	t.rows(12, func(i int, y float64) {
		if i%4 == 3 {
			for k := range 8 {
				t.dot(layerDust, t.w*(float64(k)+.5)/8+t.rand.jitter(1.6), y+t.rand.jitter(.5))
			}
			return
		}
		x := t.rand.within(-12, 0)
		start := x
		for x < start+t.w-6 {
			l := t.rand.within(10, 20)
			l = min(l, start+t.w-3-x)
			t.stroke(layerLine, x+l/2, y, l, 0)
			x += l + 3
		}
	})
}

// paintClaystone follows 620, indurated: long dashes in pairs, and blocky
// joints.
func paintClaystone(t *tile) {
	t.rows(6, func(i int, y float64) {
		for k := range 3 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/3 + t.rand.jitter(1)
			t.stroke(layerLine, x, y-1.3, 11, 0)
			t.stroke(layerLine, x, y+1.3, 11, 0)
			t.stroke(layerLine, x+t.w/6, y, 4.4, math.Pi/2+t.rand.jitter(.15))
		}
	})
}

// paintConglomerate follows 603: pebbles set along inclined lines.
func paintConglomerate(t *tile) {
	const n = 4
	slope := t.h / n / t.w // joins itself one row lower at the other side
	for i := range n {
		y0 := t.h * float64(i) / n
		mid := y0 + slope*t.w/2
		t.around(t.w/2, mid, t.w, func(x, y float64) {
			p := &t.layers[layerLine]
			p.m(x-t.w*.55, y+slope*t.w*.55)
			p.q(x, y+1.1, x+t.w*.55, y-slope*t.w*.55)
		})
	}
	s := spots{t: t}
	for i := range n {
		for x := 3.0; x < t.w; {
			r := t.rand.within(2.3, 5.2)
			y := t.h*(float64(i)+.5)/n + slope*(t.w-x) + t.rand.jitter(.9)
			y = math.Mod(y+2*t.h, t.h)
			if s.free(x, y, r) {
				s.list = append(s.list, spot{x, y, r})
				t.pebble(layerStone, spot{x, y, r}, .8, .1)
			}
			x += r*1.2 + 1.2
		}
	}
}

// paintCoal follows 658, solid black; hairlines show its bedding.
func paintCoal(t *tile) {
	t.dark = true
	t.rows(4, func(_ int, y float64) {
		w := t.wave(y, .4, 2)
		x := t.rand.within(0, 12)
		for x < t.w-4 {
			l := t.rand.within(6, 18)
			t.follow(layerFine, w, x, min(x+l, t.w-2), 6)
			x += l + t.rand.within(8, 16)
		}
	})
}

// slants draws n lines across the tile at 45 degrees, rising when up.
func (t *tile) slants(layer, n int, up bool) {
	p := &t.layers[layer]
	for i := -n; i < 2*n; i++ {
		x := t.w * (float64(i) + .5) / float64(n)
		if up {
			p.m(x-2, t.h+2)
			p.l(x+t.w+2, -2)
		} else {
			p.m(x-2, -2)
			p.l(x+t.w+2, t.h+2)
		}
	}
}

// paintGypsum follows 667: crossing slanting hatch.
func paintGypsum(t *tile) {
	t.slants(layerFine, 4, true)
	t.slants(layerFine, 4, false)
}

// paintSalt follows 668: square crosses.
func paintSalt(t *tile) {
	for i := range 4 {
		for j := range 4 {
			x, y := t.w*(float64(i)+.5)/4, t.h*(float64(j)+.5)/4
			t.stroke(layerLine, x, y, t.w/4, 0)
			t.stroke(layerLine, x, y, t.h/4, math.Pi/2)
			if (i+j)%2 == 0 {
				t.around(x+t.w/8, y+t.h/8, 3, func(x, y float64) {
					p := &t.layers[layerFine]
					p.m(x-1.9, y-1.9)
					p.l(x+1.9, y-1.9)
					p.l(x+1.9, y+1.9)
					p.l(x-1.9, y+1.9)
					p.z()
				})
			}
		}
	}
}

// paintGranite follows 719: plus signs, set without order.
func paintGranite(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(60, 5, .4) {
		t.plus(layerLine, c.x, c.y, t.rand.within(4.6, 5.8), t.rand.jitter(.1))
	}
}

// paintPegmatite follows 729: strokes with open squares.
func paintPegmatite(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(16, 4.6, 1) {
		r, a := t.rand.within(2.6, 4), t.rand.jitter(.6)
		co, si := r*math.Cos(a), r*math.Sin(a)
		t.around(c.x, c.y, 6, func(x, y float64) {
			p := &t.layers[layerStone]
			p.m(x+co-si*.7, y+si+co*.7)
			p.l(x+co+si*.7, y+si-co*.7)
			p.l(x-co+si*.7, y-si-co*.7)
			p.l(x-co-si*.7, y-si+co*.7)
			p.z()
		})
	}
	for _, c := range s.throw(60, 2.5, .5) {
		t.stroke(layerLine, c.x, c.y, t.rand.within(3, 4.4), t.rand.within(0, math.Pi))
	}
}

// paintDiorite follows 721: saltire crosses and dashes in a regular field.
func paintDiorite(t *tile) {
	t.rows(6, func(i int, y float64) {
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(.8)
			yy := y + t.rand.jitter(.6)
			t.plus(layerLine, x, yy, 4.6, math.Pi/4)
			t.stroke(layerLine, x+t.w/8, yy, 3.2, 0)
		}
	})
}

// paintGabbro follows 722: stout laths lying every way, in pairs.
func paintGabbro(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(50, 4.4, .3) {
		a := t.rand.within(0, math.Pi)
		l := t.rand.within(5, 6.6)
		dx, dy := -math.Sin(a)*1.1, math.Cos(a)*1.1
		t.stroke(layerLine, c.x+dx, c.y+dy, l, a)
		t.stroke(layerLine, c.x-dx, c.y-dy, l*.8, a)
	}
}

// paintBasalt follows 717: rows of v.
func paintBasalt(t *tile) {
	t.rows(6, func(i int, y float64) {
		for k := range 5 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/5 + t.rand.jitter(.5)
			t.vee(layerLine, x, y+t.rand.jitter(.4), 5.2, 5)
		}
	})
}

// paintAndesite follows 723: carets with ticks between.
func paintAndesite(t *tile) {
	t.rows(6, func(i int, y float64) {
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(.8)
			t.vee(layerLine, x, y+t.rand.jitter(.6), 4.6, -4)
			t.stroke(layerLine, x+t.w/8, y+t.rand.jitter(.6), 4, math.Pi/2)
		}
	})
}

// paintRhyolite follows 724: short curved flow strokes with small crystals.
func paintRhyolite(t *tile) {
	t.rows(7, func(i int, y float64) {
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(1.5)
			t.ess(layerLine, x, y, t.rand.within(8, 10), -.35, 1)
			t.dot(layerGrain, x+t.w/8, y+t.rand.jitter(1))
		}
	})
}

// paintTuff follows 711: angular flecks and v marks.
func paintTuff(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(14, 2.9, 1) {
		t.shard(layerStone, c, 4, .35)
	}
	for _, c := range s.throw(34, 3, .7) {
		t.vee(layerLine, c.x, c.y, 4, 3.4)
	}
	t.dots(&s, layerDust, 60, 3)
}

// paintGneiss follows 708: wavy bands with paired strokes between.
func paintGneiss(t *tile) {
	t.rows(4, func(i int, y float64) {
		w := t.wave(y, 1.5, 2)
		t.across(layerHeavy, w, t.w/14)
		v := w
		v.y += 2.6
		t.across(layerFine, v, t.w/14)
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(1.5)
			m := w
			m.y += 7.4
			if t.rand.unit() < .8 {
				t.follow(layerLine, m, x-3.4, x+2.6, 4)
				m.y += 2
				t.follow(layerLine, m, x-1.6, x+3.6, 4)
			}
		}
	})
}

// paintSchist follows 705: wavy broken lines.
func paintSchist(t *tile) {
	t.rows(9, func(i int, y float64) {
		w := t.wave(y, 1.1, 5)
		x := t.rand.within(0, 14)
		end := x + t.w - 3.5
		for x < end-4 {
			l := min(t.rand.within(9, 22), end-x)
			t.follow(layerLine, w, x, x+l, 3)
			x += l + 3.5
		}
	})
}

// paintPhyllite follows 701: fine wavy lines, close and unbroken.
func paintPhyllite(t *tile) {
	t.rows(14, func(i int, y float64) {
		t.across(layerFine, t.wave(y, .75, 6), t.w/30)
	})
}

// paintSlate follows 703: fine parallel inclined lines, close together.
func paintSlate(t *tile) {
	const n = 12
	for i := range n {
		y := t.h * float64(i) / n
		layer := layerFine
		if i%4 == 1 {
			layer = layerLine
		}
		for dy := -t.h; dy <= 2*t.h; dy += t.h {
			p := &t.layers[layer]
			p.m(-2, y+dy+2*t.h/t.w)
			p.l(t.w+2, y+dy-t.h-2*t.h/t.w)
		}
	}
}

// paintQuartzite follows 702: dots with short curved strokes.
func paintQuartzite(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(40, 4, .4) {
		t.bow(layerLine, c.x, c.y, t.rand.within(5, 7), t.rand.jitter(.35), -1)
	}
	t.dots(&s, layerDot, 150, 3.2)
}

// paintMarble (ours): brickwork whose courses have flowed.
func paintMarble(t *tile) {
	const n = 5
	var waves [n]wave
	for i := range n {
		waves[i] = t.wave(t.h*float64(i)/n, 1.9, 2)
		t.across(layerLine, waves[i], t.w/14)
	}
	for i := range n {
		for k := range 3 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/3 + t.rand.jitter(1.5)
			top := waves[i].at(x)
			low := waves[(i+1)%n]
			if i == n-1 {
				low.y += t.h
			}
			foot := x + t.rand.jitter(1.2)
			bottom := low.at(foot)
			t.around(x, (top+bottom)/2, (bottom-top)/2+2, func(cx, cy float64) {
				ox, oy := cx-x, cy-(top+bottom)/2
				p := &t.layers[layerFine]
				p.m(x+ox, top+oy)
				p.q(x+ox+1.6, (top+bottom)/2+oy, foot+ox, bottom+oy)
			})
		}
	}
}

// paintAmphibolite (ours): needles lying along the grain, close together.
func paintAmphibolite(t *tile) {
	t.rows(10, func(i int, y float64) {
		w := t.wave(y, 1, 2)
		for k := range 7 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/7 + t.rand.jitter(1)
			t.stroke(layerHeavy, x, w.at(x), t.rand.within(3.6, 5), -.5+t.rand.jitter(.2))
		}
	})
}

// paintSerpentinite follows 710: a mesh of curved strokes, here strands that
// part and meet.
func paintSerpentinite(t *tile) {
	const n = 4
	t.rows(n, func(i int, y float64) {
		for side := range 2 {
			w := wave{y: y, width: t.w}
			w.amp[0], w.freq[0] = t.h/n*.52, 2
			w.phase[0] = math.Pi * float64(i+side)
			w.amp[1], w.freq[1], w.phase[1] = .5, 3, t.rand.within(0, 6.28)
			x := t.rand.within(0, 20)
			end := x + t.w - 3
			for x < end-6 {
				l := min(t.rand.within(16, 26), end-x)
				t.follow(layerLine, w, x, x+l, 4)
				x += l + 3
			}
		}
	})
}

// paintQuartzVein follows 732: vein marks: veins that pinch and swell aslant
// across the ground, with cross fractures.
func paintQuartzVein(t *tile) {
	slope := t.h / t.w // joins itself one tile lower at the other side
	for i := range 2 {
		y := t.h * (float64(i) + .5) / 2
		half := 3.2 + 2*float64(i)
		top, low := t.wave(y-half, 1.2, 1), t.wave(y+half, 1.2, 1)
		top.slope, low.slope = slope, slope
		t.across(layerLine, top, t.w/12)
		t.across(layerLine, low, t.w/12)
		for k := range 8 {
			x := t.w*(float64(k)+.5)/8 + t.rand.jitter(2)
			h := low.at(x) - top.at(x)
			t.stroke(layerFine, x, (top.at(x)+low.at(x))/2+t.rand.jitter(.6), h*t.rand.within(.35, .6), math.Pi/2+.35+t.rand.jitter(.2))
		}
		for range 7 {
			x := t.rand.within(0, t.w)
			t.dot(layerDust, x, top.at(x)-6-t.rand.within(0, 6))
		}
	}
}
