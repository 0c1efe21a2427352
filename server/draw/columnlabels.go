package draw

func (k *columnSheet) gapInterval(g Span) string {
	return k.u.LengthFigure(g.TopM) + "–" + k.u.LengthFigure(g.BottomM)
}

// mostLines is how many lines one stratum's words may take: fewer where there
// are many strata, so that a log of forty stays on a page.
func (k *columnSheet) mostLines() int {
	n := len(k.d.Strata)
	switch {
	case n <= 8:
		return 4
	case n <= 16:
		return 3
	case n <= 60:
		return 2
	}
	return 1
}

func (k *columnSheet) rightLabels() {
	d := k.d
	for i := range d.Strata {
		k.right = append(k.right, k.stratumLabel(&d.Strata[i]))
	}
	for _, g := range d.Gaps {
		t := "not logged"
		if len(d.Strata) == 0 && len(d.Unplaced) == 0 {
			t = "no strata were logged"
		}
		l := label{m: (g.TopM + g.BottomM) / 2, span: g, srcX: k.ground1, colour: k.c.Line}
		lines, _ := Wrap(t, sizeWords, false, k.wordsW, 3)
		k.addRow(&l, k.gapInterval(g), lines, k.c.Muted, nil)
		k.right = append(k.right, l)
	}
	over := k.over()
	if m, ok := depthOf(d.Bedrock.Depth); ok {
		l := k.wordsLabel(m, d.bedrockPhrase(k.u), k.c.Signal, true, k.w-k.depthX-10)
		l.srcX, l.colour, l.rank, l.title = k.ground1+over, k.c.Signal, -1, d.Bedrock.Why
		k.right = append(k.right, l)
	}
	for _, p := range d.Others {
		if m, ok := depthOf(p.Depth); ok && m >= 0 {
			l := k.wordsLabel(m, otherPhrase(p, k.u), k.c.Ink, false, k.w-k.depthX-10)
			l.srcX, l.colour, l.rank, l.title = k.ground1+over, k.c.Line, -2, p.Why
			k.right = append(k.right, l)
		}
	}
	for i := range d.Own {
		p := &d.Own[i]
		fill := k.c.Ink
		if p.Water {
			fill = k.c.Water
		}
		l := k.wordsLabel(p.M, p.phrase(k.u), fill, false, k.w-k.depthX-10)
		l.srcX, l.colour, l.rank, l.title = k.ground1+7, k.c.Line, -2, p.Title
		k.right = append(k.right, l)
	}
	if m, ok := d.firstRockApart(); ok {
		l := k.wordsLabel(m, "first rock "+held(k.u.Depth(d.FirstRock.Depth)), k.c.Ink, false, k.w-k.depthX-10)
		l.srcX, l.colour, l.rank, l.title = k.ground1+over, k.c.Line, -2, d.FirstRock.Why
		k.right = append(k.right, l)
	}
}

// stratumLabel sets out one stratum: its depths, the driller's words, what
// they were read as.
func (k *columnSheet) stratumLabel(s *StratumView) label {
	words, fill := s.Words, k.c.Ink
	if s.More != "" {
		if plainText(words) != "" {
			words += " · "
		}
		words += s.More
	}
	if plainText(words) == "" {
		words, fill = "no words", k.c.Muted
	}
	lines, _ := Wrap(words, sizeWords, false, k.wordsW, k.mostLines())
	l := label{m: (s.TopM + s.BottomM) / 2, span: s.Span, srcX: k.ground1, colour: k.c.Line, title: stratumTitle(s)}
	var tag []string
	if k.wide && k.tagW > 0 {
		tag, _ = Wrap(s.Label, sizeSmall, false, k.tagW, 2)
	} else {
		tag, _ = Wrap(s.Label, sizeSmall, false, k.w-k.tagX-12, 1)
	}
	k.addRow(&l, s.interval(k.u), lines, fill, tag)
	return l
}

// addRow fills a label with a row of depths, words and tag.
func (k *columnSheet) addRow(l *label, depths string, lines []string, fill string, tag []string) {
	if !k.wide {
		// Depths and tag above, words below.
		l.first = lineSmall / 2
		rows, _ := Wrap(depths, sizeSmall, false, k.wordsW, 2)
		for i, t := range rows {
			l.height = (float64(i) + 1) * lineSmall
			l.pieces = append(l.pieces, piece{0, l.height - lineSmall/2, sizeSmall, t, k.c.Muted, false, false})
		}
		if len(tag) > 0 {
			x := TextWidth(rows[len(rows)-1], sizeSmall, false) + 8
			if room := k.wordsW - x; room > 40 {
				t := Shorten(tag[0], sizeSmall, false, room)
				l.pieces = append(l.pieces, piece{x, l.height - lineSmall/2, sizeSmall, t, k.c.Muted, false, false})
			}
		}
		for i, t := range lines {
			l.pieces = append(l.pieces, piece{0, l.height + (float64(i)+0.5)*lineWords, sizeWords, t, fill, false, false})
		}
		l.height += float64(len(lines)) * lineWords
		return
	}
	l.first = lineWords / 2
	l.pieces = append(l.pieces, piece{0, l.first, sizeSmall, depths, k.c.Muted, false, false})
	for i, t := range lines {
		l.pieces = append(l.pieces, piece{k.wordsX - k.depthX, (float64(i) + 0.5) * lineWords, sizeWords, t, fill, false, false})
	}
	l.height = float64(len(lines)) * lineWords
	y := l.first
	if k.tagW == 0 {
		y = l.height + lineSmall/2
	}
	for i, t := range tag {
		l.pieces = append(l.pieces, piece{k.tagX - k.depthX, y + float64(i)*lineSmall, sizeSmall, t, k.c.Muted, false, false})
		l.height = max(l.height, y+float64(i)*lineSmall+lineSmall/2)
	}
}

// wordsLabel is a label of one text.
func (k *columnSheet) wordsLabel(m float64, t, fill string, bold bool, width float64) label {
	size, line := sizeWords, lineWords
	if !bold {
		size, line = sizeSmall+0.5, lineSmall
	}
	lines, _ := Wrap(t, size, bold, width, 3)
	l := label{m: m, first: line / 2, height: float64(len(lines)) * line}
	for i, s := range lines {
		l.pieces = append(l.pieces, piece{0, (float64(i) + 0.5) * line, size, s, fill, bold, false})
	}
	return l
}

// leftLabels sets out what is in the hole: on its left where there is room,
// else among the words.
func (k *columnSheet) leftLabels() {
	d := k.d
	width := k.w - k.depthX - 10
	if k.wide {
		width = k.holeX1 - k.holeX0
	}
	add := func(m float64, t, fill string, bold bool, leader string, span Span) {
		l := k.wordsLabel(m, t, fill, bold, width)
		l.colour, l.rank, l.title, l.span = leader, 1, t, span
		if k.wide {
			for i := range l.pieces {
				l.pieces[i].end = true
			}
			if l.srcX = k.ground0; m < 0 {
				l.srcX = (k.ground0+k.ground1)/2 - k.half
			}
			k.left = append(k.left, l)
			return
		}
		if l.srcX = k.ground1; m < 0 {
			l.srcX = (k.ground0+k.ground1)/2 + k.half
		}
		k.right = append(k.right, l)
	}
	if m, ok := d.standingM(); ok {
		add(m, d.levelPhrase(k.u), k.c.Water, false, k.c.Water, Span{})
	} else if d.HoleM > 0 && !d.Dry {
		m := 0.0
		if v, ok := depthOf(d.Static); ok {
			m = min(max(v, 0), d.HoleM)
		}
		add(m, d.levelPhrase(k.u), k.c.Muted, false, "", Span{})
	}
	for i := range d.Strikes {
		s := &d.Strikes[i]
		add(s.DepthM, s.phrase(k.u), k.c.Water, true, k.c.Water, Span{})
	}
	for i := range d.Casing {
		c := &d.Casing[i]
		if c.BottomM > 0 {
			add(c.BottomM, c.phrase(k.u), k.c.Ink, false, k.c.Line, Span{})
		}
	}
	for i := range d.Grout {
		g := &d.Grout[i]
		add((max(g.TopM, 0)+g.BottomM)/2, g.phrase(k.u), k.c.Muted, false, k.c.Line, Span{max(g.TopM, 0), g.BottomM})
	}
	for i := range d.Screens {
		s := &d.Screens[i]
		add((s.TopM+s.BottomM)/2, s.phrase(k.u), k.c.Ink, false, k.c.Line, s.Span)
	}
	if m, ok := depthOf(d.PumpM); ok && m > 0 {
		add(m, "pump at "+held(k.u.Depth(d.PumpM)), k.c.Ink, false, k.c.Line, Span{})
	}
}

func (k *columnSheet) over() float64 {
	if k.wide {
		return 9
	}
	return 6
}
