package importer

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
)

// Rows that are put aside come back by their key, in their order, whether they
// stayed in memory or went to a file in many runs: compared with a map.
func TestSpill(t *testing.T) {
	for name, most := range map[string]int{"in memory": 1 << 30, "in runs": 20000} {
		t.Run(name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(4, 11))
			dir := t.TempDir()
			s := newSpill(dir, most)
			want := make(map[string][]int64)
			const rows = 5000
			for i := range int64(rows) {
				key := fmt.Sprintf("W-%d", random.IntN(700))
				if i%50 == 0 {
					key = "the one with many"
				}
				r := spillRow{part: uint16(i % 3), line: i, key: key, raw: []byte(fmt.Sprint("raw ", i)), cells: []string{key, "", fmt.Sprint(i)}}
				if i%97 == 0 {
					r.cells, r.fault, r.mend = nil, "a fault", "a mend"
				}
				if err := s.add(&r); err != nil {
					t.Fatal(err)
				}
				want[key] = append(want[key], i)
			}
			if err := s.finish(); err != nil {
				t.Fatal(err)
			}
			if many := len(s.runs) > 10; many != (name == "in runs") {
				t.Fatalf("%d runs", len(s.runs))
			}
			var left []int64
			asked := 0
			for key, lines := range want {
				if asked++; asked > 500 && key != "the one with many" {
					left = append(left, lines...)
					continue
				}
				found, whole, err := s.find(key, 1<<30)
				if err != nil || !whole {
					t.Fatal(whole, err)
				}
				var got []int64
				for i := range found {
					f := &found[i]
					got = append(got, f.line)
					if f.key != key || string(f.raw) != fmt.Sprint("raw ", f.line) || (f.cells == nil) != (f.line%97 == 0) || f.cells != nil && f.cells[2] != fmt.Sprint(f.line) || (f.fault != "") != (f.cells == nil) {
						t.Fatalf("row %d came back as %+v", f.line, f)
					}
				}
				if !slices.Equal(lines, got) {
					t.Fatalf("%s: lines %v, want %v", key, got, lines)
				}
			}
			if found, _, err := s.find("no such key", 1<<30); err != nil || len(found) > 0 {
				t.Fatal(found, err)
			}
			slices.Sort(left)
			next, err := s.unused()
			if err != nil {
				t.Fatal(err)
			}
			var got []int64
			for {
				r, err := next()
				if errors.Is(err, io.EOF) {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				got = append(got, r.line)
			}
			if !slices.Equal(left, got) {
				t.Fatalf("%d rows are left, want %d, in their order", len(got), len(left))
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			if names, err := os.ReadDir(dir); err != nil || len(names) > 0 {
				t.Errorf("files left behind: %v, %v", names, err)
			}
		})
	}
}
