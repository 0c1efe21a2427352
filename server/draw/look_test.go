package draw_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"tallybook/server/draw"
	"tallybook/server/say"
)

var look = flag.String("look", "", "folder to write drawings of the invented wells to, for a person to look at")

// TestLook writes every invented well in every theme and width into the
// folder given by -look. It checks nothing: the eye does.
func TestLook(t *testing.T) {
	if *look == "" {
		t.Skip("no -look folder given")
	}
	if err := os.MkdirAll(*look, 0o755); err != nil {
		t.Fatal(err)
	}
	write := func(name string, b []byte) {
		if err := os.WriteFile(filepath.Join(*look, name+".svg"), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		for _, width := range []float64{820, 350} {
			for name, d := range inventedColumns() {
				o := draw.Options{Prefix: "l", Units: say.US, Theme: theme, Width: width}
				o.Heading = theme == draw.Print
				write(fmt.Sprintf("%s-%s-%.0f", name, theme, width), draw.Column(d, o))
			}
			if width == 820 {
				width = 1240
			}
			o := draw.Options{Prefix: "l", Units: say.US, Theme: theme, Width: width}
			write(fmt.Sprintf("side8-%s-%.0f", theme, width), draw.SideBySide(inventedRow(8), o))
			o.Join = true
			write(fmt.Sprintf("line3-%s-%.0f", theme, width), draw.SideBySide(inventedLine(), o))
			write(fmt.Sprintf("side4-%s-%.0f", theme, width), draw.SideBySide(inventedRow(4), o))
			write(fmt.Sprintf("section7-%s-%.0f", theme, width), draw.Section(inventedSection(7, 3000), o))
			write(fmt.Sprintf("section30-%s-%.0f", theme, width), draw.Section(inventedSection(30, 9000), o))
			o.Hang, o.Units = draw.HangSeaLevel, say.SI
			write(fmt.Sprintf("sea5-%s-%.0f", theme, width), draw.SideBySide(inventedRow(5), o))
		}
	}
}
