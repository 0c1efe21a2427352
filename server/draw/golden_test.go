package draw_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"tallybook/server/draw"
	"tallybook/server/say"
)

var update = flag.Bool("update", false, "write the golden drawings anew: look at each before keeping it")

// The patterns of the ground have tests of their own.
var defs = regexp.MustCompile(`(?s)<defs>.*</defs>`)

// TestGolden shows change; that the drawings are right is for the other tests
// and for the eye (see TestLook).
func TestGolden(t *testing.T) {
	all := inventedColumns()
	tests := map[string][]byte{
		"column-wide":    draw.Column(all["schist"], draw.Options{Prefix: "g"}),
		"column-phone":   draw.Column(all["wordy"], draw.Options{Prefix: "g", Width: 350, Units: say.SI, Theme: draw.Dark}),
		"column-nothing": draw.Column(all["nothing"], draw.Options{Prefix: "g", Theme: draw.Print}),
		"side-by-side":   draw.SideBySide(inventedRow(4), draw.Options{Prefix: "g", Width: 1240}),
		"section":        draw.Section(inventedSection(7, 3000), draw.Options{Prefix: "g", Width: 1180}),
		"sea-level":      draw.SideBySide(inventedLine(), draw.Options{Prefix: "g", Width: 1240, Hang: draw.HangSeaLevel, Join: true}),
	}
	for name, b := range tests {
		t.Run(name, func(t *testing.T) {
			got := defs.ReplaceAll(b, []byte("<defs/>"))
			file := filepath.Join("testdata", "golden", name+".svg")
			if *update {
				if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(file, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				i := 0
				for i < len(got) && i < len(want) && got[i] == want[i] {
					i++
				}
				t.Errorf("it differs from %s at byte %d: …%s…", file, i, got[max(i-60, 0):min(i+60, len(got))])
			}
		})
	}
}
