package draw

// occupied keeps the boxes on a drawing that labels must stay clear of.
type occupied struct {
	cell  float64
	boxes []rect
	grid  map[[2]int][]int32
}

// rect is a box in pixels; x0 <= x1, y0 <= y1.
type rect struct{ x0, y0, x1, y1 float64 }

func (r rect) touches(o rect) bool {
	return r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1
}

func (r rect) within(o rect) bool {
	return r.x0 >= o.x0 && r.y0 >= o.y0 && r.x1 <= o.x1 && r.y1 <= o.y1
}

func newOccupied() *occupied { return &occupied{cell: 48, grid: map[[2]int][]int32{}} }

func (o *occupied) cells(r rect, fn func([2]int) bool) bool {
	for cx := floorDiv(r.x0, o.cell); cx <= floorDiv(r.x1, o.cell); cx++ {
		for cy := floorDiv(r.y0, o.cell); cy <= floorDiv(r.y1, o.cell); cy++ {
			if !fn([2]int{cx, cy}) {
				return false
			}
		}
	}
	return true
}

func floorDiv(v, by float64) int {
	n := int(v / by)
	if v < 0 {
		n--
	}
	return n
}

// add marks a box as taken.
func (o *occupied) add(r rect) {
	n := int32(len(o.boxes))
	o.boxes = append(o.boxes, r)
	o.cells(r, func(c [2]int) bool { o.grid[c] = append(o.grid[c], n); return true })
}

// free says whether nothing stands in a box.
func (o *occupied) free(r rect) bool {
	return o.cells(r, func(c [2]int) bool {
		for _, i := range o.grid[c] {
			if o.boxes[i].touches(r) {
				return false
			}
		}
		return true
	})
}
