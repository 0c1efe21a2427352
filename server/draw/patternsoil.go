package draw

import "math"

// The drawings of loose ground, of the ground between, and of openings. Each
// says which pattern of FGDC-STD-013-2006 it follows, in the standard's words
// as known to us, or that it is ours. The strokes are drawn anew here.

// paintUnknown (ours): a few small question marks; nothing else may be read
// into it.
func paintUnknown(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(7, 6.5, 1.5) {
		t.around(c.x, c.y, 4, func(x, y float64) {
			p := &t.layers[layerFine]
			p.m(x-1.7, y-1.6)
			p.q(x-1.7, y-3.6, x, y-3.6)
			p.q(x+1.8, y-3.6, x+1.8, y-1.8)
			p.q(x+1.8, y-.6, x, y+.2)
			p.l(x, y+1.4)
			t.layers[layerDust].dot(x, y+3.2)
		})
	}
}

// paintOverburden (ours): short dashes and dots without order, and here and
// there a pebble.
func paintOverburden(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(5, 2.2, 4) {
		t.pebble(layerStone, c, .75, .12)
	}
	for _, c := range s.throw(30, 3.4, .6) {
		t.bow(layerLine, c.x, c.y, t.rand.within(3, 5), t.rand.jitter(.5), t.rand.jitter(.6))
	}
	t.dots(&s, layerDot, 60, 3.4)
}

// paintTopsoil (ours): small roots with side roots, over crumbs.
func paintTopsoil(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(15, 5, .7) {
		h := t.rand.within(3.2, 4.6)
		lean := t.rand.jitter(1.2)
		a, b := t.rand.within(1.6, 2.8), t.rand.within(1.6, 2.8)
		t.around(c.x, c.y, 6, func(x, y float64) {
			p := &t.layers[layerLine]
			p.m(x, y-h)
			p.q(x+lean, y, x-lean*.3, y+h)
			p.m(x+lean*.4, y-h*.3)
			p.q(x+a*.7, y+.2, x+a, y+h*.5)
			p.m(x+lean*.4, y-h*.1)
			p.q(x-b*.7, y+.5, x-b, y+h*.7)
		})
	}
	t.dots(&s, layerDot, 60, 3.2)
}

// paintFill (ours): broken slanting hatch with angular rubble.
func paintFill(t *tile) {
	s := spots{t: t}
	for _, r := range []float64{5.4, 4.2, 3.2, 2.6} {
		for _, c := range s.throw(4, r, 5) {
			t.shard(layerStone, c, 4+int(t.rand.next()%2), .3)
		}
	}
	for _, c := range s.throw(90, 3.5, .2) {
		t.stroke(layerLine, c.x, c.y, t.rand.within(6, 8), -math.Pi/4+t.rand.jitter(.08))
	}
}

// paintPeat follows 657: irregular tufts, plant strokes over short dashes.
func paintPeat(t *tile) {
	t.rows(5, func(i int, y float64) {
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(2)
			y := y + t.rand.jitter(1.2)
			t.bow(layerLine, x, y+2, t.rand.within(8, 10), 0, .4)
			for j := -1; j <= 1; j++ {
				a := -math.Pi/2 + float64(j)*.45 + t.rand.jitter(.1)
				l := t.rand.within(3.4, 4.6)
				t.bow(layerLine, x+float64(j)*1.5+l/2*math.Cos(a), y+1.6+l/2*math.Sin(a), l, a, float64(j)*.25)
			}
		}
	})
}

// paintClay follows 620: closely spaced level dashes.
func paintClay(t *tile) {
	t.rows(8, func(i int, y float64) {
		t.dashes(layerLine, y, 4, 7, float64(i%2)*t.w/8+t.rand.jitter(1), 1.2)
	})
}

// paintSilt follows 616: short dashes alternating with dots.
func paintSilt(t *tile) {
	t.rows(8, func(i int, y float64) {
		for k := range 6 {
			x := t.w*(float64(k)+.5*float64(i%2)+.25)/6 + t.rand.jitter(.5)
			t.stroke(layerLine, x, y+t.rand.jitter(.3), 4.2+t.rand.jitter(.5), 0)
			t.dot(layerDot, x+t.w/12, y+t.rand.jitter(.4))
		}
	})
}

// paintSand follows 607: fine dots at random.
func paintSand(t *tile) {
	s := spots{t: t}
	t.dots(&s, layerGrain, 8, 6)
	t.dots(&s, layerDot, 320, 4)
}

// paintSandFine follows 607 with finer, closer dots.
func paintSandFine(t *tile) {
	s := spots{t: t}
	t.dots(&s, layerDust, 480, 2.7)
}

// paintSandCoarse follows 607 with coarse grains, a few of them open.
func paintSandCoarse(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(16, 1.3, 2) {
		t.pebble(layerStone, c, .85, .1)
	}
	t.dots(&s, layerGrain, 90, 5.4)
	t.dots(&s, layerDust, 60, 3.4)
}

// stones packs pebbles of the given sizes, the largest first.
func (t *tile) stones(s *spots, flat, rough, gap float64, sizes ...float64) {
	for _, r := range sizes {
		n := int(t.w * t.h / (r * r * 14))
		for _, c := range s.throw(n, r, gap) {
			t.pebble(layerStone, spot{c.x, c.y, c.r * 1.12}, flat, rough)
		}
	}
}

// paintGravel follows 601: closely packed open rounded pebbles of mixed size.
func paintGravel(t *tile) {
	s := spots{t: t}
	t.stones(&s, .8, .1, .15, 5.6, 4.6, 3.8, 3.1, 2.5, 1.9)
}

// paintSandGravel follows 602: pebbles with finer dots between.
func paintSandGravel(t *tile) {
	s := spots{t: t}
	for _, r := range []float64{4.4, 3.4, 2.6, 2} {
		for _, c := range s.throw(7, r, 1.6) {
			t.pebble(layerStone, c, .78, .1)
		}
	}
	t.dots(&s, layerDot, 220, 3.6)
}

// paintCobbles (ours): large rounded stones, packed, with a few grains.
func paintCobbles(t *tile) {
	s := spots{t: t}
	for _, r := range []float64{9, 8, 7, 6, 5} {
		for _, c := range s.throw(9, r, .3) {
			t.pebble(layerStone, spot{c.x, c.y, c.r * 1.1}, .84, .07)
			if r > 6 {
				// A touch of shade at the foot makes it round.
				t.bow(layerFine, c.x+.6, c.y+c.r*.34, c.r*.9, .08, c.r*.14)
			}
		}
	}
	t.dots(&s, layerDot, 60, 3)
}

// paintBoulders (ours): large angular blocks in finer ground.
func paintBoulders(t *tile) {
	s := spots{t: t}
	for _, r := range []float64{15, 12, 10, 8, 6, 4.5} {
		for _, c := range s.throw(5, r, .6) {
			t.block(c)
		}
	}
	for _, c := range s.throw(60, 2.4, .3) {
		t.stroke(layerLine, c.x, c.y, 3.2, t.rand.jitter(.3))
	}
	t.dots(&s, layerDot, 120, 2.8)
}

// block is a boulder: uneven corners, worn round, and the edges between the
// faces that are seen.
func (t *tile) block(c spot) {
	n := 6 + int(t.rand.next()%2)
	turn := t.rand.within(0, 2*math.Pi)
	px, py := make([]float64, n), make([]float64, n)
	for i := range n {
		a := turn + 2*math.Pi*(float64(i)+t.rand.jitter(.25))/float64(n)
		k := c.r * t.rand.within(.86, 1.08)
		px[i], py[i] = k*math.Cos(a), k*.86*math.Sin(a)
	}
	// Corners are cut by a short curve from 0.8 of one side to 0.2 of the next.
	along := func(i int, k float64) (float64, float64) {
		i, j := i%n, (i+1)%n
		return px[i] + k*(px[j]-px[i]), py[i] + k*(py[j]-py[i])
	}
	inX, inY := t.rand.jitter(c.r*.18), -c.r*.12+t.rand.jitter(c.r*.12)
	t.around(c.x, c.y, c.r*1.1, func(x, y float64) {
		p := &t.layers[layerStone]
		ax, ay := along(0, .8)
		p.m(x+ax, y+ay)
		for i := 1; i <= n; i++ {
			bx, by := along(i, .2)
			p.q(x+px[i%n], y+py[i%n], x+bx, y+by)
			ax, ay = along(i, .8)
			p.l(x+ax, y+ay)
		}
		p.z()
		if c.r < 5 {
			return
		}
		f := &t.layers[layerFine]
		f.m(x+px[0]*.86, y+py[0]*.86)
		f.l(x+inX, y+inY)
		f.l(x+px[n/2]*.8, y+py[n/2]*.8)
		f.m(x+inX, y+inY)
		f.l(x+inX*.6+px[n/2+1]*.35, y+inY*.6+py[n/2+1]*.35)
	})
}

// paintTill follows 681: scattered stones, short dashes and small triangles in
// open ground.
func paintTill(t *tile) {
	s := spots{t: t}
	for i, r := range []float64{7.5, 5.4, 4, 2.9} {
		for _, c := range s.throw(2+2*i, r, 4.4) {
			t.pebble(layerStone, c, .74, .13)
		}
	}
	for _, c := range s.throw(16, 2.3, 1.6) {
		t.shard(layerLine, c, 3, .15)
	}
	for _, c := range s.throw(80, 3, .8) {
		t.stroke(layerLine, c.x, c.y, t.rand.within(3, 4.4), t.rand.within(.1, .5))
	}
}

// paintLoess follows 684: sparse upright ticks and dots.
func paintLoess(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(46, 3.8, .9) {
		t.stroke(layerLine, c.x, c.y, t.rand.within(4, 5.6), math.Pi/2+t.rand.jitter(.06))
	}
	t.dots(&s, layerDust, 70, 3.6)
}

// paintMarl follows 623: dashes with upright ticks.
func paintMarl(t *tile) {
	t.rows(6, func(i int, y float64) {
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(.8)
			t.stroke(layerLine, x, y, 8+t.rand.jitter(.8), 0)
			t.stroke(layerLine, x+t.rand.jitter(1.5), y+2.4, 4.6, math.Pi/2)
		}
	})
}

// paintShells (ours): half shells with their ribs.
func paintShells(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(22, 5, .8) {
		up := float64(1)
		if t.rand.unit() < .5 {
			up = -1
		}
		r := t.rand.within(3.2, 4.6)
		t.around(c.x, c.y, 6, func(x, y float64) {
			p := &t.layers[layerLine]
			p.m(x-r, y+up*r*.4)
			p.q(x-r*.8, y-up*r*.9, x, y-up*r*.9)
			p.q(x+r*.8, y-up*r*.9, x+r, y+up*r*.4)
			p.q(x, y+up*r*.75, x-r, y+up*r*.4)
			f := &t.layers[layerFine]
			for k := -1; k <= 1; k++ {
				f.m(x, y+up*r*.45)
				f.l(x+float64(k)*r*.5, y-up*r*.6)
			}
		})
	}
	t.dots(&s, layerDust, 60, 3)
}

// paintBentonite follows 662: dashes with small angular marks.
func paintBentonite(t *tile) {
	t.rows(6, func(i int, y float64) {
		for k := range 4 {
			x := t.w*(float64(k)+.25+.5*float64(i%2))/4 + t.rand.jitter(.6)
			t.stroke(layerLine, x-2.6, y, 6, 0)
			t.vee(layerLine, x+4.4, y-.4, 3.4, -3.2)
		}
	})
}

// paintAsh (ours): loose flecks, v and caret, with dust.
func paintAsh(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(34, 3.6, .8) {
		h := 2.4
		if t.rand.unit() < .4 {
			h = -h
		}
		t.vee(layerLine, c.x, c.y, 3.4, h)
	}
	t.dots(&s, layerDust, 150, 3)
}

// paintCementedGravel follows 602, with ties between the pebbles.
func paintCementedGravel(t *tile) {
	s := spots{t: t}
	for _, r := range []float64{4.6, 3.6, 2.8} {
		for _, c := range s.throw(9, r, 1.4) {
			t.pebble(layerStone, c, .8, .1)
		}
	}
	for _, c := range s.throw(90, 1.9, .2) {
		t.plus(layerFine, c.x, c.y, 3, 0)
	}
}

// paintCaliche (ours): lumps ringed by crusts, with short joints.
func paintCaliche(t *tile) {
	s := spots{t: t}
	for _, r := range []float64{7, 5.4, 4} {
		for _, c := range s.throw(5, r, 1) {
			t.pebble(layerStone, c, .62, .22)
			t.pebble(layerFine, spot{c.x, c.y, c.r * .55}, .6, .2)
		}
	}
	for _, c := range s.throw(50, 2.6, .3) {
		t.stroke(layerLine, c.x, c.y, 4.6, 0)
		t.stroke(layerLine, c.x+t.rand.jitter(1), c.y+1.4, 2.6, math.Pi/2)
	}
}

// paintSaprolite (ours): the banding of the rock it was, dissolving into
// dashes and dots.
func paintSaprolite(t *tile) {
	t.rows(6, func(i int, y float64) {
		w := t.wave(y, 1.5, 2)
		x := t.rand.within(0, 6)
		for x < t.w-3 {
			l := t.rand.within(3, 9)
			t.follow(layerLine, w, x, min(x+l, t.w-1), 4)
			x += l + 2.6
			for range int(t.rand.within(1, 4)) {
				if x < t.w-2 {
					t.dot(layerDot, x, w.at(x))
				}
				x += 2.8
			}
		}
		for range 5 {
			t.dot(layerDust, t.rand.within(0, t.w), y+t.h/12+t.rand.jitter(2))
		}
	})
}

// paintWeathered (ours): blocks of rock coming apart: slanting broken cracks,
// crumbs between.
func paintWeathered(t *tile) {
	s := spots{t: t}
	for _, c := range s.throw(17, 6.4, .3) {
		a := .62 + t.rand.jitter(.22)
		l := t.rand.within(7, 9.5)
		dx, dy := l/2*math.Cos(a), l/2*math.Sin(a)
		side := t.rand.within(3.4, 4.8)
		turn := a - 1.45 + t.rand.jitter(.25)
		if t.rand.unit() < .45 {
			turn += math.Pi
		}
		gap := t.rand.within(.6, 1)
		t.around(c.x, c.y, 7, func(x, y float64) {
			p := &t.layers[layerLine]
			p.m(x-dx+side*math.Cos(turn), y-dy+side*math.Sin(turn))
			p.l(x-dx, y-dy)
			p.l(x+dx, y+dy)
			f := &t.layers[layerFine]
			f.m(x+dx+gap+side*.9*math.Cos(turn), y+dy+gap+side*.9*math.Sin(turn))
			f.l(x+dx+gap, y+dy+gap)
		})
	}
	for _, c := range s.throw(50, 1.9, .4) {
		t.stroke(layerFine, c.x, c.y, 1.9, .62+t.rand.jitter(.4))
	}
	t.dots(&s, layerDot, 80, 2.6)
}

// paintMudSeam (ours): clay dashes shut between the walls of the rock.
func paintMudSeam(t *tile) {
	for i := range 2 {
		y := t.h * (float64(i) + .5) / 2
		t.across(layerHeavy, t.wave(y-t.h*.17, .7, 2), t.w/8)
		t.across(layerHeavy, t.wave(y+t.h*.17, .7, 2), t.w/8)
		for k := range 3 {
			t.dashes(layerLine, y+float64(k-1)*3, 5, 5.4, float64(k%2)*t.w/10, 1)
		}
	}
}

// paintVoid (ours): crossed lines, as an opening is marked on a plan.
func paintVoid(t *tile) {
	p := &t.layers[layerFine]
	p.m(-t.w, -t.h)
	p.l(2*t.w, 2*t.h)
	p.m(2*t.w, -t.h)
	p.l(-t.w, 2*t.h)
}

// paintWaterVoid (ours): the crossed lines with water standing in them.
func paintWaterVoid(t *tile) {
	paintVoid(t)
	// In the middle of each field between the lines.
	for _, c := range [2][2]float64{{t.w / 2, 0}, {0, t.h / 2}} {
		for k := range 3 {
			t.ess(layerWater, c[0]+t.rand.jitter(.6), c[1]+float64(k-1)*3, 11-3.4*math.Abs(float64(k-1)), 0, .8)
		}
	}
}
