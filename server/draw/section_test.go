package draw_test

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"testing"

	"tallybook/server/draw"
	"tallybook/server/say"
)

// inventedSection puts invented wells on a line of so many metres: n of them,
// crowded in the middle, with a bend, a stretch without an estimate and one
// where the wells tell no more than the area.
func inventedSection(n int, lengthM float64) draw.SectionData {
	nan := math.NaN()
	d := draw.SectionData{
		LengthM: lengthM, WidthM: lengthM / 10, Estimated: true, Datum: "an invented datum",
		From:  draw.SectionEnd{Name: "A", Place: "44.235000, -38.800000", Deg: 230},
		To:    draw.SectionEnd{Name: "A′", Place: "44.262000, -38.720000", Deg: 50},
		Bends: []draw.SectionBend{{AlongM: 0.4 * lengthM, Deg: 80}},
	}
	ground := func(t float64) float64 { return 200 + 30*math.Sin(7*t) }
	names := make([]string, 0, 8)
	all := inventedColumns()
	for name := range all {
		names = append(names, name)
	}
	sort.Strings(names)
	for i := range n {
		t := (float64(i) + 0.5) / float64(n)
		t = 0.5 + 4*(t-0.5)*(t-0.5)*(t-0.5)
		w := draw.SectionWell{ColumnData: all[names[i%len(names)]], AlongM: t * lengthM, OffM: float64(i * 7), OffDeg: float64(i * 90), GroundM: ground(t)}
		w.UID += strconv.Itoa(i)
		if i%4 == 3 {
			w.GroundRead = true
		}
		if i == n-1 {
			w.Beyond = "A′"
		}
		d.Wells = append(d.Wells, w)
	}
	for i := range 101 {
		t := float64(i) / 100
		s := draw.SectionStation{AlongM: t * lengthM, GroundM: ground(t), GroundRead: true, LowM: 4, MiddleM: 9 + 3*math.Sin(20*t), HighM: 22}
		switch {
		case i > 70 && i < 85:
			s.LowM, s.MiddleM, s.HighM = nan, nan, nan
		case i > 90:
			s.Flat = true
		case i == 20:
			s.HighM = math.Inf(1)
		}
		d.Stations = append(d.Stations, s)
	}
	return d
}

func TestSectionIsLegible(t *testing.T) {
	for _, n := range []int{0, 1, 2, 7, 16, 40} {
		for _, width := range []float64{640, 1000, 1180} {
			for _, lengthM := range []float64{150, 3000, 60000} {
				for _, byDepth := range []bool{false, true} {
					t.Run(fmt.Sprint(n, width, lengthM, byDepth), func(t *testing.T) {
						s := inventedSection(n, lengthM)
						s.ByDepth = byDepth
						o := draw.Options{Prefix: "s", Width: width, Units: say.System(n % 2), Theme: draw.Theme(n % 3)}
						d := check(t, draw.Section(s, o), "s")
						if want := draw.SectionWidth(width, n); d.w != want {
							t.Errorf("%v wide, said to be %v", d.w, want)
						}
						for i := range min(n, 1) {
							if name := s.Wells[i].Number; name != "" && !strings.Contains(d.words, name) {
								t.Errorf("%q is not named", name)
							}
						}
					})
				}
			}
		}
	}
}

// Bedrock is drawn where the estimate stands and nowhere else: no curve enters
// a stretch that no well supports.
func TestSectionClaimsNothingUnsupported(t *testing.T) {
	d := inventedSection(7, 3000)
	from, to := d.Stations[71].AlongM, d.Stations[84].AlongM
	got := check(t, draw.Section(d, draw.Options{Prefix: "s", Width: 1180}), "s")
	x := scaleOfAxis(t, d, got)
	bands, hatched := 0, 0
	for _, p := range got.paths {
		lo, hi := spanX(t, p["d"])
		switch p["data-part"] {
		case "range", "middle":
			bands++
			if hi > x(from)+1 && lo < x(to)-1 {
				t.Errorf("%s runs from %.0f to %.0f, into %.0f to %.0f where nothing is told", p["data-part"], lo, hi, x(from), x(to))
			}
		case "untold":
			hatched++
			if math.Abs(lo-x(from)) > 6 || math.Abs(hi-x(to)) > 6 {
				t.Errorf("hatched from %.0f to %.0f, want about %.0f to %.0f", lo, hi, x(from), x(to))
			}
		}
	}
	if bands < 4 || hatched != 1 {
		t.Errorf("%d parts of bedrock, %d hatched stretches", bands, hatched)
	}
	for i := range d.Stations {
		d.Stations[i].MiddleM = math.NaN()
	}
	none := check(t, draw.Section(d, draw.Options{Prefix: "s", Width: 1180}), "s")
	for _, p := range none.paths {
		if p["data-part"] == "range" || p["data-part"] == "middle" {
			t.Error("bedrock is drawn without any estimate")
		}
	}
}

// scaleOfAxis gives the pixel of a distance along the line, worked from what
// is drawn: the marks of the first and the last well on the lower axis would do
// as well, but the axis line has the length itself.
func scaleOfAxis(t *testing.T, d draw.SectionData, got *drawing) func(m float64) float64 {
	t.Helper()
	for _, p := range got.paths {
		if p["data-part"] == "ground" {
			lo, hi := spanX(t, p["d"])
			return func(m float64) float64 { return lo + (hi-lo)*m/d.LengthM }
		}
	}
	t.Fatal("no ground is drawn")
	return nil
}

// spanX is the least and the greatest x of a path of M and L.
func spanX(t *testing.T, d string) (lo, hi float64) {
	t.Helper()
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, n := range inPath.FindAllString(d, -1) {
		v, err := strconv.ParseFloat(n, 64)
		if err != nil {
			t.Fatal(err)
		}
		if i%2 == 0 {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	return lo, hi
}

// The exaggeration that is stated is the one that is drawn: a hole of known
// depth beside a line of known length, measured in pixels.
func TestSectionStatesItsExaggeration(t *testing.T) {
	for times, lengthM := range map[float64]float64{0: 3000, 1: 1000, 5: 3000, 20: 6000} {
		d := inventedSection(1, lengthM)
		d.Times = times
		got := check(t, draw.Section(d, draw.Options{Prefix: "s", Width: 1180, Units: say.SI}), "s")
		var stated float64
		for _, b := range got.texts {
			if _, err := fmt.Sscanf(b.text, "drawn %g times as high as long", &stated); err == nil {
				break
			}
			if strings.HasPrefix(b.text, "drawn as high as long") {
				stated = 1
				break
			}
		}
		if times > 0 && stated != times {
			t.Errorf("asked for %g, states %g", times, stated)
		}
		x := scaleOfAxis(t, d, got)
		along := (x(lengthM) - x(0)) / lengthM
		var ys, es []float64 // the elevation axis: y of the figures and what they say
		for _, b := range got.texts {
			if v, err := strconv.ParseFloat(strings.ReplaceAll(b.text, "−", "-"), 64); err == nil && b.x1 < x(0)-30 {
				ys, es = append(ys, (b.y0+b.y1)/2), append(es, v)
			}
		}
		if len(ys) < 2 {
			t.Fatalf("%d figures on the axis", len(ys))
		}
		n := len(ys) - 1
		up := math.Abs((ys[n] - ys[0]) / (es[n] - es[0]))
		if math.Abs(up/along-stated) > 0.02*stated {
			t.Errorf("states %g times, drawn %g", stated, up/along)
		}
	}
}

// A well whose ground is not known is not drawn by elevation, and is counted.
func TestSectionNamesWhatCannotHang(t *testing.T) {
	d := inventedSection(5, 3000)
	d.Wells[2].GroundM = math.NaN()
	b := draw.Section(d, draw.Options{Prefix: "s"})
	if got := check(t, b, "s"); !strings.Contains(got.words, "1 more in the corridor, not drawn") {
		t.Error("it does not say that one is not drawn")
	}
	if n := strings.Count(string(b), "data-well="); n != 4 {
		t.Errorf("%d columns, want 4", n)
	}
	d.ByDepth = true
	if n := strings.Count(string(draw.Section(d, draw.Options{Prefix: "s"})), "data-well="); n != 5 {
		t.Errorf("by depth %d columns, want 5", n)
	}
}
