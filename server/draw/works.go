package draw

// hole draws the open hole, the water in it, casing, screen, seal and pump.
func (f *holeFrame) hole() {
	ranks := f.ranks()
	f.annulus(ranks)
	bore := f.openBore()
	if f.d.HoleM > 0 {
		for _, b := range bore {
			f.boxHole(b.Span, b.half, f.c.Air)
		}
		if m, ok := f.d.standingM(); ok {
			for _, b := range bore {
				if b.BottomM > m {
					f.boxHole(Span{max(b.TopM, m, 0), b.BottomM}, b.half, f.URL("water"))
				}
			}
			if m < 0 && f.stickPx() > 0 {
				y := max(f.y(m), f.y(0)-f.stickPx())
				f.Start("rect").N("x", f.cx()-f.half).N("y", y).N("width", 2*f.half).N("height", f.y(0)-y).A("fill", f.URL("water")).End()
			}
		}
		f.walls(bore)
	}
	f.sealedHole()
	f.casing(ranks)
	f.screens()
	f.pump()
}

// annulus draws the seal between casing and ground.
func (f *holeFrame) annulus(ranks []int) {
	for _, g := range f.d.Grout {
		for i, c := range f.d.Casing {
			top, bottom := max(g.TopM, c.TopM, 0), min(g.BottomM, c.BottomM)
			if bottom > top {
				f.boxHole(Span{top, bottom}, f.casingHalf(ranks[i])+f.ann, f.URL("grout"))
			}
		}
	}
	// The room between one string and the next inside it.
	for i, c := range f.d.Casing {
		if ranks[i] > 0 && c.BottomM > 0 {
			f.boxHole(Span{max(c.TopM, 0), c.BottomM}, f.casingHalf(ranks[i]), f.c.Air)
		}
	}
}

// boxHole fills a piece of the hole about its middle.
func (f *holeFrame) boxHole(s Span, half float64, fill string) {
	y := f.y(s.TopM)
	f.Start("rect").N("x", f.cx()-half).N("y", y).N("width", 2*half).N("height", max(f.y(s.BottomM)-y, 0)).A("fill", fill).End()
}

// boreHalf is a piece of hole with half its drawn width.
type boreHalf struct {
	Span
	half float64
}

// openBore parts the hole into pieces of one drawn width: the casing's where
// it is cased, below it in proportion to the diameters, within limits, so that
// a step in diameter shows and nothing outgrows the drawing.
func (f *holeFrame) openBore() []boreHalf {
	seat := 0.0
	for _, c := range f.d.Casing {
		seat = max(seat, c.BottomM)
	}
	seat = min(seat, f.d.HoleM)
	// A width in proportion to the widest bore below the casing, which is as
	// wide as the casing.
	widest := 0.0
	for _, b := range f.d.Bores {
		if b.BottomM > seat+sameM {
			widest = max(widest, b.DiameterMM)
		}
	}
	var out []boreHalf
	end := 0.0
	add := func(to, half float64) {
		to = min(to, f.d.HoleM)
		if to > end {
			out = append(out, boreHalf{Span{end, to}, half})
			end = to
		}
	}
	add(seat, f.half)
	for _, b := range f.d.Bores {
		if b.BottomM <= end || b.DiameterMM <= 0 || widest <= 0 {
			continue
		}
		add(b.TopM, f.half)
		add(b.BottomM, f.half*min(max(b.DiameterMM/widest, 0.6), 1))
	}
	add(f.d.HoleM, f.half)
	return out
}

// walls draws the line of the open hole and its bottom.
func (f *holeFrame) walls(bore []boreHalf) {
	if len(bore) == 0 {
		return
	}
	for _, side := range [...]float64{-1, 1} {
		var p Path
		for i, b := range bore {
			x := f.cx() + side*b.half
			if i == 0 {
				p.M(x, f.y(b.TopM))
			} else if bore[i-1].half != b.half {
				p.H(x)
			}
			p.V(f.y(b.BottomM))
		}
		f.stroke(&p, f.c.Ink, min(0.8, f.half*0.2), "")
	}
	last := bore[len(bore)-1]
	var p Path
	p.M(f.cx()-last.half, f.y(last.BottomM)).H(f.cx() + last.half)
	f.stroke(&p, f.c.Ink, 1.2, "")
}

// sealedHole draws seal that fills the hole itself: where there is grout and
// no casing, as in a hole that was given up.
func (f *holeFrame) sealedHole() {
	for _, g := range f.d.Grout {
		top := max(g.TopM, 0)
		for _, c := range f.d.Casing {
			if c.BottomM > top && c.TopM <= top+sameM {
				top = c.BottomM
			}
		}
		if g.BottomM > top {
			f.boxHole(Span{top, g.BottomM}, f.half-0.5, f.URL("grout"))
		}
	}
}

func (f *holeFrame) casing(ranks []int) {
	stick := f.stickPx()
	for i, c := range f.d.Casing {
		if c.BottomM <= 0 {
			continue
		}
		half := f.casingHalf(ranks[i])
		top, bottom := f.y(max(c.TopM, 0)), f.y(c.BottomM)
		if c.TopM < 0 {
			top = f.y(0) - stick
		}
		var p Path
		p.M(f.cx()-half, top).V(bottom).M(f.cx()+half, top).V(bottom)
		f.stroke(&p, f.c.Steel, f.wall(), "")
		if c.TopM < 0 {
			var lid Path
			over := min(2.5, f.half*0.5)
			lid.M(f.cx()-half-over, top).H(f.cx() + half + over)
			f.stroke(&lid, f.c.Steel, min(2, f.wall()), "")
		}
		if c.Shoe && f.half >= 5 {
			var shoe Path
			for _, side := range [...]float64{-1, 1} {
				x := f.cx() + side*(half+1.2)
				shoe.M(x, bottom-7).L(x+side*4, bottom).H(x - side*2.4).Z()
			}
			f.Start("path").D(&shoe).A("fill", f.c.Steel).End()
		}
	}
}

// wall is how thick the wall of a casing is drawn, thinner in a slender hole.
func (f *holeFrame) wall() float64 { return min(2.4, f.half*0.4) }

// screens draws slots across the hole.
func (f *holeFrame) screens() {
	for _, s := range f.d.Screens {
		top, bottom := f.y(max(s.TopM, 0)), f.y(s.BottomM)
		if bottom-top < 4 {
			bottom = top + 4
		}
		var slots, sides Path
		sides.M(f.cx()-f.half, top).V(bottom).M(f.cx()+f.half, top).V(bottom)
		pitch := max(3.5, (bottom-top)/200)
		for y := top + pitch/2; y < bottom; y += pitch {
			slots.M(f.cx()-f.half, y).H(f.cx()-f.half+5).M(f.cx()+f.half-5, y).H(f.cx() + f.half)
		}
		f.stroke(&sides, f.c.Steel, 1.2, "")
		f.stroke(&slots, f.c.Steel, 1.1, "")
	}
}

func (f *holeFrame) pump() {
	m, ok := depthOf(f.d.PumpM)
	if !ok || m <= 0 {
		return
	}
	y := f.y(m)
	w := min(f.half*0.36, 4.5)
	var pipe Path
	pipe.M(f.cx(), f.y(0)-f.stickPx()).V(y - 16)
	f.stroke(&pipe, f.c.Muted, 1.1, "")
	f.Start("rect").N("x", f.cx()-w).N("y", y-16).N("width", 2*w).N("height", 16).N("rx", 2).A("fill", f.c.Muted).
		A("stroke", f.c.Air).N("stroke-width", 0.8).End()
}
