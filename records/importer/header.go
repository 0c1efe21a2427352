package importer

import (
	"fmt"
	"strings"
)

// findHeader tells which of the first rows names the columns: the first that
// is nearly as wide as the widest row, holds texts that all differ and no
// numbers. It is the first row that is not blank where none is like that.
func findHeader(grid [][]string) int {
	width, first := 0, -1
	for i, cells := range grid[:min(len(grid), maxHeaderRow)] {
		if n := filled(cells); n > 0 {
			width = max(width, n)
			if first < 0 {
				first = i
			}
		}
	}
	for i, cells := range grid[:min(len(grid), maxHeaderRow)] {
		if n := filled(cells); n*5 >= width*3 && n > 0 && likeHeader(cells, n) {
			return i
		}
	}
	return max(first, 0)
}

func filled(cells []string) int {
	n := 0
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			n++
		}
	}
	return n
}

// likeHeader says whether most cells could be names.
func likeHeader(cells []string, filled int) bool {
	names := 0
	for _, c := range cells {
		text := strings.TrimSpace(c)
		if kind := kindOfText(text); text != "" && len(text) <= 80 && kind != "number" && kind != "date" {
			names++ // X and Y are names too, and say yes elsewhere
		}
	}
	return names*10 >= filled*8
}

// headerNames gives the columns' names: the header's cells, those that stand
// under one heading twice told apart by the row above (casing from, strata
// from), and column_3 for what has none. doubled says whether the row above
// was needed.
func headerNames(grid [][]string, at int) (names []string, doubled bool) {
	cells := grid[at]
	names = make([]string, len(cells))
	times := make(map[string]int)
	for i, c := range cells {
		names[i] = strings.Join(strings.Fields(c), " ")
		times[names[i]]++
	}
	over := ""
	for i, name := range names {
		if at > 0 && i < len(grid[at-1]) {
			if text := strings.Join(strings.Fields(grid[at-1][i]), " "); text != "" {
				over = text
			}
		}
		if name != "" && times[name] > 1 && over != "" {
			names[i], doubled = over+" "+name, true
		}
	}
	for i := range names {
		if names[i] == "" {
			names[i] = fmt.Sprintf("column_%d", i+1)
		}
	}
	return names, doubled
}
