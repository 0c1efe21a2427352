//go:build judges

package stamp_test

import (
	"bytes"
	"encoding/xml"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/server/stamp"
)

// judge runs a program from outside.
func judge(t *testing.T, name string, args ...string) string {
	t.Helper()
	var out, bad bytes.Buffer
	c := exec.Command(name, args...)
	c.Stdout, c.Stderr = &out, &bad
	if err := c.Run(); err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, bad.String())
	}
	return out.String()
}

// printed is a PDF as a printer of 300 dots to the inch would print it.
func printed(t *testing.T, pdf []byte) *image.RGBA {
	t.Helper()
	file := filepath.Join(t.TempDir(), "plate")
	if err := os.WriteFile(file+".pdf", pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	judge(t, "pdftoppm", "-r", "300", "-png", "-singlefile", file+".pdf", file)
	b, err := os.ReadFile(file + ".png")
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewRGBA(img.Bounds())
	draw.Draw(out, out.Bounds(), img, image.Point{}, draw.Src)
	return out
}

// decode is what zbarimg reads; "" where it reads nothing.
func decode(t *testing.T, img image.Image) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "read.png")
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("zbarimg", "--raw", "--quiet", "-Sdisable", "-Sqrcode.enable", file).Output()
	if err != nil && len(out) > 0 {
		t.Fatalf("zbarimg: %v", err)
	}
	return strings.TrimSuffix(string(out), "\n")
}

// judged are plates with their codes: short and long ones, on label and for an
// engraver, and one whose code has to make do with the lower level.
func judged() []struct {
	name    string
	address records.PublicBase
	number  string
	w, h    float64
	tool    records.PlateTool
	level   string
	line    float64
} {
	long := records.PublicBase("https://wells.example.org/" + strings.Repeat("records-", 7))
	return []struct {
		name    string
		address records.PublicBase
		number  string
		w, h    float64
		tool    records.PlateTool
		level   string
		line    float64
	}{
		{"number alone", "", "4017", 60, 30, records.PlateLabel, "H", 0},
		{"address", "https://wells.example.org", "W-1042/7", 60, 30, records.PlateLabel, "H", 0},
		{"address, engraved", "https://wells.example.org", "W-1042/7", 80, 50, records.PlateEngraver, "H", 0},
		{"address, a wide point", "https://wells.example.org", "W-1042/7", 80, 50, records.PlateEngraver, "H", 0.35},
		{"long address", long, "W-1042", 80, 50, records.PlateLabel, "H", 0},
		{"long address, small plate", long, "W-1042", 60, 23, records.PlateLabel, "Q", 0},
	}
}

// A code reads as it was meant, printed at 300 dots to the inch, no larger than
// 25 mm with its free border (32 mm on the larger plates), and in 95 of 100
// places still does with a stain of a tenth of its area: round, square or long,
// in black, white and grey. It never reads wrong. The three finders are left
// free: ISO/IEC 18004 restores the words of a code, and by those a reader finds
// it. Stains are tried on the words alone, and anywhere but on a finder, where
// they also cover the signs that say version and format. The rest is told here:
// what fails are stains on the patterns by which zbarimg, the judge, finds the
// modules, which no word makes up for.
func TestCodesRead(t *testing.T) {
	const tries = 90
	for _, c := range judged() {
		t.Run(c.name, func(t *testing.T) {
			f := records.PlateFormat{PublicBase: c.address, WidthMM: c.w, HeightMM: c.h, Tool: c.tool, LineMM: c.line, Fields: []string{}}
			d, faults := stamp.Lay(stamp.Of(c.number, &records.Well{}, nil, f), f)
			if d == nil {
				t.Fatal(faults)
			}
			if d.Code.Level != c.level {
				t.Errorf("the code is of level %s, want %s", d.Code.Level, c.level)
			}
			side := float64(d.Code.Size+2*stamp.QuietModules) * d.Module
			if d.Module < stamp.LeastModuleMM-1e-9 || c.w <= 60 && side > 25.4 || side > 32 {
				t.Errorf("modules of %.3f mm, %.1f mm in all", d.Module, side)
			}
			pdf, err := d.PDF(aDay)
			if err != nil {
				t.Fatal(err)
			}
			img := printed(t, pdf)
			want := stamp.CodeText(c.address, c.number)
			if got := decode(t, img); got != want {
				t.Fatalf("it reads %q, want %q", got, want)
			}
			r := rand.New(rand.NewPCG(18004, 1))
			read := [2]int{}
			for i := range tries {
				for anywhere := range read {
					stained := image.NewRGBA(img.Bounds())
					draw.Draw(stained, stained.Bounds(), img, image.Point{}, draw.Src)
					if share := stain(stained, d, r, i, anywhere == 1); share < 0.097 || share > 0.103 {
						t.Fatalf("%.4f of the code is hidden", share)
					}
					if got := decode(t, stained); got == want {
						read[anywhere]++
					} else if got != "" {
						t.Errorf("stain %d: it reads %q, want %q: wrong is worse than nothing", i, got, want)
					}
				}
			}
			t.Logf("%d modules, level %s, of %.3f mm, %.1f mm with the border: of %d stained on the words %d read; of %d stained anywhere but on a finder %d", d.Code.Size, d.Code.Level, d.Module, side, tries, read[0], tries, read[1])
			for _, n := range read {
				if 100*n < 95*tries {
					t.Errorf("%d of %d stained codes read", n, tries)
				}
			}
		})
	}
}

// stain hides a tenth of a code's area, its free border not counted, under one
// round, square or long stain, and gives the share that is hidden. The finders
// stay free, and the signs beside them unless the stain may lie anywhere.
func stain(img *image.RGBA, d *stamp.Drawing, r *rand.Rand, i int, anywhere bool) float64 {
	const dots = 300 / 25.4
	n := float64(d.Code.Size)
	x0, y0, side := d.CodeX*dots, d.CodeY*dots, n*d.Module*dots
	tone := []color.Gray{{0}, {255}, {128}}[i%3]
	clear := 9.0 // modules of a finder, the light one beside it and the format's
	if d.Code.Size >= 45 {
		clear = 11 // and the version's, from version 7 on
	}
	if anywhere {
		clear = 8
	}
	w, h := math.Sqrt(0.1), math.Sqrt(0.1) // shares of the side
	round := false
	switch i / 3 % 3 {
	case 0:
		round = true
		w, h = 2*math.Sqrt(0.1/math.Pi), 2*math.Sqrt(0.1/math.Pi)
	case 1:
		w, h = w*1.4, h/1.4
		if r.IntN(2) == 0 {
			w, h = h, w
		}
	}
	inside := func(u, v, cu, cv float64) bool {
		if round {
			return math.Hypot((u-cu)/w*2, (v-cv)/h*2) <= 1
		}
		return math.Abs(u-cu) <= w/2 && math.Abs(v-cv) <= h/2
	}
	corner := func(u, v float64) bool { // in shares of the side
		c := clear / n
		return u < c && v < c || u > 1-c && v < c || u < c && v > 1-c
	}
	touches := func(cu, cv float64) bool {
		for u := 0.0; u <= 1; u += 0.5 / n {
			for v := 0.0; v <= 1; v += 0.5 / n {
				if corner(u, v) && inside(u, v, cu, cv) {
					return true
				}
			}
		}
		return false
	}
	var cu, cv float64
	for again := true; again; again = touches(cu, cv) {
		cu, cv = w/2+r.Float64()*(1-w), h/2+r.Float64()*(1-h)
	}
	hidden := 0
	for y := int(y0); y <= int(y0+side); y++ {
		for x := int(x0); x <= int(x0+side); x++ {
			if inside((float64(x)+0.5-x0)/side, (float64(y)+0.5-y0)/side, cu, cv) {
				img.Set(x, y, tone)
				hidden++
			}
		}
	}
	return float64(hidden) / (side * side)
}

// The pages of a PDF are as large as the plate or the paper to a tenth of a
// millimetre, by pdfinfo; its text can be taken out again, by pdftotext; its
// letters are in the file, by pdffonts. An SVG says the same size.
func TestTrueSize(t *testing.T) {
	for _, size := range [][2]float64{{60, 30}, {80, 50}, {100, 70}, {50, 80}, {76.2, 50.8}, {123.45, 67.89}} {
		f := records.PlateFormat{PublicBase: "https://wells.example.org", Heading: "Ведомство вод, Écluse", WidthMM: size[0], HeightMM: size[1]}.Filled()
		d, faults := stamp.Lay(stamp.Of("W-1042", aWell(), nil, f), f)
		if d == nil {
			t.Fatal(size, faults)
		}
		pdf, err := d.PDF(aDay)
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "plate.pdf")
		if err := os.WriteFile(file, pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		pageSize(t, file, size)
		svgSize(t, d.SVG(), size)
		text := judge(t, "pdftotext", "-layout", file, "-")
		for _, want := range []string{"W-1042", "~305 ft", "<1½ gpm", "Ведомство", "Écluse", "Drilling"} {
			if !strings.Contains(text, want) {
				t.Errorf("%v: the text has no %q:\n%s", size, want, text)
			}
		}
		for _, line := range strings.Split(strings.TrimSpace(judge(t, "pdffonts", file)), "\n")[2:] {
			if !strings.Contains(line, "TrueType") || !regexp.MustCompile(`Identity-H +yes`).MatchString(line) {
				t.Errorf("letters that are not in the file: %s", line)
			}
		}
		sheet, err := stamp.NewSheet(stamp.Papers()[0], []*stamp.Drawing{d, d, d, d, d, d, d, d, d, d})
		if err != nil {
			t.Fatal(err)
		}
		if pdf, err = sheet.PDF(aDay); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		pageSize(t, file, [2]float64{215.9, 279.4})
		if n := strings.Count(judge(t, "pdftotext", file, "-"), "W-1042"); n != 10 {
			t.Errorf("%v: %d plates on the sheets, want 10", size, n)
		}
	}
}

func pageSize(t *testing.T, file string, want [2]float64) {
	t.Helper()
	m := regexp.MustCompile(`Page size: +([0-9.]+) x ([0-9.]+) pts`).FindStringSubmatch(judge(t, "pdfinfo", file))
	if m == nil {
		t.Fatal("no page size")
	}
	for i, w := range want {
		v, err := strconv.ParseFloat(m[1+i], 64)
		if got := v * 25.4 / 72; err != nil || math.Abs(got-w) > 0.1 {
			t.Errorf("a side of the page is %.3f mm, want %.3f", got, w)
		}
	}
}

func svgSize(t *testing.T, svg []byte, want [2]float64) {
	t.Helper()
	var v struct {
		Width   string `xml:"width,attr"`
		Height  string `xml:"height,attr"`
		ViewBox string `xml:"viewBox,attr"`
	}
	if err := xml.Unmarshal(svg, &v); err != nil {
		t.Fatal(err)
	}
	for i, side := range []string{v.Width, v.Height} {
		got, err := strconv.ParseFloat(strings.TrimSuffix(side, "mm"), 64)
		if err != nil || !strings.HasSuffix(side, "mm") || math.Abs(got-want[i]) > 0.1 {
			t.Errorf("a side of the drawing is %s, want %g mm", side, want[i])
		}
	}
	if v.ViewBox != "0 0 "+strings.TrimSuffix(v.Width, "mm")+" "+strings.TrimSuffix(v.Height, "mm") {
		t.Errorf("a millimetre of the drawing is not one: %s", v.ViewBox)
	}
}
