package predict

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"
)

// TestCellsInOnePass: the cells and runs of cells found in one pass over sorted
// points are those that sorting all ends and searching for each gives.
func TestCellsInOnePass(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for round := range 3000 {
		points := make([]point, 1+r.IntN(30))
		for i := range points {
			// Few values, so that many are equal.
			p := point{value: float64(r.IntN(8)), weight: 1, bound: Bound(r.IntN(4))}
			switch p.bound {
			case LessThan:
				p.value++
			case Between:
				p.high = p.value + float64(r.IntN(4))
			}
			points[i] = p
		}
		slices.SortFunc(points, comparePoints)
		var c censoring
		c.findCells(points)
		c.assign(points)

		var ends []end
		for i := range points {
			left, right := points[i].interval()
			ends = append(ends, left, right)
		}
		slices.SortFunc(ends, compareEnds)
		var cells []cell
		for i := 1; i < len(ends); i++ {
			if !ends[i-1].right && ends[i].right {
				cells = append(cells, cell{ends[i-1], ends[i]})
			}
		}
		if !slices.Equal(c.cells, cells) {
			t.Fatalf("round %d: %+v gives cells %+v, sorting gives %+v", round, points, c.cells, cells)
		}
		for i := range points {
			left, right := points[i].interval()
			from := sort.Search(len(cells), func(j int) bool { return compareEnds(cells[j].left, left) >= 0 })
			to := sort.Search(len(cells), func(j int) bool { return compareEnds(cells[j].right, right) > 0 })
			if int(c.from[i]) != from || int(c.to[i]) != to {
				t.Fatalf("round %d: point %+v in cells [%d, %d), searching gives [%d, %d)", round, points[i], c.from[i], c.to[i], from, to)
			}
		}
	}
}

// TestMixtureIsSorted: merging the runs leaves the entries in the order that
// sorting gives, with bounds and without, with zeros and equal values.
func TestMixtureIsSorted(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 2000 {
		run := func(n int) []entry {
			es := make([]entry, n)
			for i := range es {
				es[i] = entry{value: float64(r.IntN(12)), near: r.Float64(), bound: Bound(r.IntN(4))}
				es[i].high = es[i].value + 1
			}
			slices.SortFunc(es, func(a, b entry) int { return comparePoints(a.whole(), b.whole()) })
			return es
		}
		a, b := run(r.IntN(9)), run(r.IntN(9))
		got := mergeRuns(nil, a, b)
		for i := 1; i < len(got); i++ {
			if got[i].value < got[i-1].value {
				t.Fatalf("merged %v and %v out of order: %v", a, b, got)
			}
		}
		settleEntries(got)
		want := append(slices.Clone(a), b...)
		slices.SortFunc(want, func(a, b entry) int { return comparePoints(a.whole(), b.whole()) })
		if !slices.Equal(got, want) {
			t.Fatalf("merged and settled %v, sorted %v", got, want)
		}
	}
	if got := mergeRuns(nil, nil, []entry{{value: math.Inf(1)}}); len(got) != 1 {
		t.Fatalf("nothing and one make %d", len(got))
	}
}
