package draw

// columns places a column for each well that can hang, as wide as the crowd
// allows, moved aside where two would stand on each other.
func (k *sectionSheet) columns() {
	var centres []float64
	for i := range k.d.Wells {
		w := &k.d.Wells[i]
		if !k.hangs(w) {
			continue
		}
		k.cols = append(k.cols, sectionColumn{d: w, atX: k.x(w.AlongM), ground: k.groundOf(w)})
		centres = append(centres, k.x(w.AlongM))
	}
	widths := make([]float64, len(centres))
	for i := range widths {
		widths[i] = columnSizes[0]
	}
	var lefts []float64
	for {
		lefts = Push(centres, widths, columnGap, k.x0-sectionPad+4, k.x1+sectionPad-4)
		if !slimmer(centres, widths, lefts) {
			break
		}
	}
	for i := range k.cols {
		c := &k.cols[i]
		c.nr, c.w = i, widths[i]
		c.cx = lefts[i] + c.w/2
	}
	for i := range k.cols {
		c := &k.cols[i]
		k.grow(i)
		if off := abs(c.cx - c.atX); off > 2 {
			k.movedM = max(k.movedM, off/k.pxPerM)
		}
	}
}

// grow makes a column as wide as its neighbours leave room for.
func (k *sectionSheet) grow(i int) {
	c := &k.cols[i]
	room := 2 * min(c.cx-4, k.w-4-c.cx)
	if i > 0 {
		p := &k.cols[i-1]
		room = min(room, 2*(c.cx-p.cx-p.w/2-2*columnGap))
	}
	if i+1 < len(k.cols) {
		n := &k.cols[i+1]
		room = min(room, 2*(n.cx-n.w/2-c.cx-2*columnGap))
	}
	for _, w := range columnSizes {
		if w <= room && w > c.w {
			c.w = w
			return
		}
	}
}

// columnSizes are the widths in which a column is drawn, and columnGap is the
// least room between two, pixels.
var columnSizes = [...]float64{46, 38, 30, 24, 19, 15, 11}

const columnGap = 4.0

// slimmer makes the columns slimmer that stand in a crowd of which one is moved
// far from its place, all of that crowd alike; false where none can be.
func slimmer(centres, widths, lefts []float64) bool {
	any := false
	for from := 0; from < len(widths); {
		to := from + 1
		for to < len(widths) && lefts[to]-(lefts[to-1]+widths[to-1]) < columnGap+0.5 {
			to++
		}
		far := 0.0
		for i := from; i < to; i++ {
			far = max(far, abs(lefts[i]+widths[i]/2-centres[i]))
		}
		if w := widths[from]; far > max(5, w*0.3) {
			for _, next := range columnSizes {
				if next < w {
					for i := from; i < to; i++ {
						widths[i] = min(widths[i], next)
					}
					any = true
					break
				}
			}
		}
		from = to
	}
	return any
}
