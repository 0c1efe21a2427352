package draw_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/surface"
	"tallybook/server/draw"
)

// mapText is a line of text on a map.
type mapText struct {
	x0, y0, x1, y1 float64
	text, part     string
	turned         bool // its box is in a frame of its own
}

// mapRead is what the tests read out of a map.
type mapRead struct {
	texts []mapText
	parts map[string]int // elements by part and name, such as "wells a"
	ids   map[string]bool
	words string
	key   *mapText // the legend's box
}

var mapNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]{1,2})?$`)

// readMap parses a map strictly and reports what may never stand in one.
func readMap(b []byte, prefix string) (*mapRead, error) {
	m := &mapRead{parts: map[string]int{}, ids: map[string]bool{}}
	dec := xml.NewDecoder(bytes.NewReader(b))
	var refs []string
	var part, turned []string // for each open element
	var text *mapText
	var attrs map[string]string
	var words strings.Builder
	last := func(s []string) string {
		if len(s) == 0 {
			return ""
		}
		return s[len(s)-1]
	}
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("not well-formed: %w", err)
		}
		switch t := tok.(type) {
		case xml.StartElement:
			attrs = map[string]string{}
			for _, a := range t.Attr {
				name := a.Name.Local
				attrs[name] = a.Value
				switch {
				case name == "style", strings.HasPrefix(name, "on"):
					return nil, fmt.Errorf("attribute %s on %s", name, t.Name.Local)
				case name == "id":
					if !strings.HasPrefix(a.Value, prefix+"-") || m.ids[a.Value] {
						return nil, fmt.Errorf("id %q has no prefix or is used twice", a.Value)
					}
					m.ids[a.Value] = true
				case name == "href" && t.Name.Local == "use":
					refs = append(refs, strings.TrimPrefix(a.Value, "#"))
				case name == "href":
					if t.Name.Local != "a" || !strings.HasPrefix(a.Value, "/") || strings.HasPrefix(a.Value, "//") {
						return nil, fmt.Errorf("%s leads to %q", t.Name.Local, a.Value)
					}
				case name == "x", name == "y", name == "cx", name == "cy", name == "r", name == "width", name == "height", name == "x1", name == "y1", name == "x2", name == "y2":
					if !mapNumber.MatchString(a.Value) {
						return nil, fmt.Errorf("%s=%q is no plain number", name, a.Value)
					}
				case name == "d":
					if strings.ContainsAny(a.Value, "eNI") {
						return nil, fmt.Errorf("a path with %.40q", a.Value)
					}
				}
				for _, r := range reference.FindAllStringSubmatch(a.Value, -1) {
					refs = append(refs, r[1])
				}
			}
			p := last(part)
			if v, ok := attrs["data-part"]; ok {
				p = v
			}
			turn := last(turned)
			if attrs["transform"] != "" {
				turn = "yes"
			}
			part, turned = append(part, p), append(turned, turn)
			m.parts[p+" "+t.Name.Local]++
			num := func(n string) float64 { v, _ := strconv.ParseFloat(attrs[n], 64); return v }
			switch t.Name.Local {
			case "script", "style", "foreignObject", "image", "iframe", "animate", "set":
				return nil, fmt.Errorf("element %s", t.Name.Local)
			case "rect":
				if p == "key" && m.key == nil {
					m.key = &mapText{x0: num("x"), y0: num("y"), x1: num("x") + num("width"), y1: num("y") + num("height")}
				}
			case "text":
				size := num("font-size")
				if size < 10 {
					return nil, fmt.Errorf("text of %g pixels", size)
				}
				text = &mapText{x0: num("x"), y0: num("y") - 0.75*size, y1: num("y") + 0.2*size, x1: size, part: p, turned: turn != ""}
			}
		case xml.EndElement:
			part, turned = part[:len(part)-1], turned[:len(turned)-1]
			text = nil
		case xml.CharData:
			words.Write(t)
			if text != nil {
				w := draw.TextWidth(string(t), text.x1, attrs["font-weight"] != "")
				switch attrs["text-anchor"] {
				case "end":
					text.x0 -= w
				case "middle":
					text.x0 -= w / 2
				}
				text.x1, text.text = text.x0+w, string(t)
				m.texts = append(m.texts, *text)
			}
		}
	}
	for _, r := range refs {
		if !m.ids[r] {
			return nil, fmt.Errorf("reference to %q, which is not there", r)
		}
	}
	m.words = words.String()
	return m, nil
}

// legible reports labels that overlap or leave the frame.
func (m *mapRead) legible(w, h float64) error {
	over := func(a, b mapText) bool {
		const slack = 0.5
		return a.x0+slack < b.x1 && b.x0+slack < a.x1 && a.y0+slack < b.y1 && b.y0+slack < a.y1
	}
	for i, a := range m.texts {
		if a.turned || a.part == "hexes" {
			continue
		}
		if a.x0 < -0.5 || a.y0 < -0.5 || a.x1 > w+0.5 || a.y1 > h+0.5 {
			return fmt.Errorf("%q (%.0f,%.0f–%.0f,%.0f) leaves the frame of %.0f×%.0f", a.text, a.x0, a.y0, a.x1, a.y1, w, h)
		}
		if m.key != nil && a.part != "key" && over(a, *m.key) {
			return fmt.Errorf("%q lies under the legend", a.text)
		}
		for _, b := range m.texts[i+1:] {
			if !b.turned && b.part != "hexes" && over(a, b) {
				return fmt.Errorf("%q (%.0f,%.0f–%.0f,%.0f) and %q (%.0f,%.0f–%.0f,%.0f) overlap", a.text, a.x0, a.y0, a.x1, a.y1, b.text, b.x0, b.y0, b.x1, b.y1)
			}
		}
	}
	return nil
}

const attackText = `"><script>alert(1)</script><img src=x onerror=alert(1)>'` + "\x00\x1b\u202e"

// inventedMap is a map of n wells at random with a surface that has a hole, a
// flat part, layers and a site.
func inventedMap(seed uint64, n int, v draw.View, t draw.Theme) *draw.MapData {
	r := rand.New(rand.NewPCG(seed, 1))
	d := &draw.MapData{View: v, Title: "an invented map", Key: draw.MapKey{
		Title: "Depth to sound bedrock, ft", Ramp: draw.DepthRamp(t), Colours: 5, Ends: [3]string{"under 10", "50", "over 100"},
		Words: []string{"neighbours cut the error by a third", "the 8-in-10 range held 80 % of 900 hidden wells"}, Short: "neighbours help",
	}}
	for i := range n {
		lon, lat := v.Position(r.Float64()*v.W, r.Float64()*v.H)
		w := draw.MapWell{ID: int64(i + 1), Lon: lon, Lat: lat, Label: fmt.Sprintf("NF-%04d", i), Title: fmt.Sprintf("well %d", i+1), Href: fmt.Sprintf("/well/%d", i+1),
			Share: r.Float64(), Known: i%7 != 0, Bound: i%5 == 0, Chosen: i%50 == 3, DepthM: 100 * r.Float64(), BedrockM: 40*r.Float64() - 5, Deeper: i%9 == 0, Dry: i%11 == 0}
		for range i % 4 {
			w.StrikesM = append(w.StrikesM, 100*r.Float64())
		}
		d.CoreM = max(d.CoreM, w.DepthM)
		d.Wells = append(d.Wells, w)
	}
	d.Surface = inventedSurface(v, t)
	for k, kind := range []string{"road", "stream", "boundary", "parcel", "other", "road"} {
		l := draw.MapLayer{Kind: kind}
		for j := range 3 {
			line := draw.MapLine{Name: fmt.Sprintf("%s %d", kind, j), Area: kind == "parcel"}
			x, y := r.Float64()*v.W, r.Float64()*v.H
			for range 12 {
				lon, lat := v.Position(x, y)
				line.Points = append(line.Points, [2]float64{lon, lat})
				x, y = x+60*math.Cos(float64(k)), y+60*math.Sin(float64(k))+8*r.NormFloat64()
			}
			l.Lines = append(l.Lines, line)
		}
		d.Layers = append(d.Layers, l)
	}
	d.Site = &draw.MapSite{Lon: v.Lon, Lat: v.Lat, RingsM: []float64{100 * v.MPerPixel, 200 * v.MPerPixel}, RingText: []string{"¼ mile", "½ mile"}}
	return d
}

// bareAt and flatAt say where the invented surface claims nothing and where
// its wells say no more than the area; pixels.
func bareAt(v draw.View, x, y float64) bool { return math.Hypot(x-v.W*0.75, y-v.H*0.6) < v.W/6 }
func flatAt(v draw.View, x, _ float64) bool { return x < v.W*0.2 }

func inventedSurface(v draw.View, t draw.Theme) *draw.MapSurface {
	const step = 13.0
	g := surface.Grid{Cols: int(v.W/step) + 6, Rows: int(v.H/step) + 6, MinX: -3 * step, MinY: -v.H - 3*step, CellW: step, CellH: step}
	s := &draw.MapSurface{Field: surface.Field{Grid: g, Values: make([]float64, g.Len())}, Flat: make([]bool, g.Len()),
		Levels: []float64{10, 20, 50, 100}, Ramp: draw.DepthRamp(t), Contours: true, Label: func(l float64) string { return strconv.FormatFloat(l, 'f', -1, 64) },
		FlatWords: "the wells here say no more than the area as a whole", BareWords: "no wells near: not drawn"}
	for row := range g.Rows {
		for col := range g.Cols {
			x, y := g.X(col), -g.Y(row)
			i := g.Index(col, row)
			s.Field.Values[i] = 60 + 55*math.Sin(x/130)*math.Cos(y/110)
			s.Flat[i] = flatAt(v, x, y)
			if bareAt(v, x, y) {
				s.Field.Values[i] = math.NaN()
			}
		}
	}
	return s
}

func views() []draw.View {
	return []draw.View{
		{Lon: -38.75, Lat: 44.25, MPerPixel: 8, W: 1440, H: 735},
		{Lon: 179.99, Lat: -16, MPerPixel: 12, W: 390, H: 540},
		{Lon: 20, Lat: 70, MPerPixel: 500, W: 820, H: 620},
	}
}

// TestMapProperties holds for every level, theme and size.
func TestMapProperties(t *testing.T) {
	for vi, v := range views() {
		for theme := draw.Light; theme <= draw.Print; theme++ {
			for _, level := range []string{"cores", "dots", "hexagons"} {
				t.Run(fmt.Sprintf("%d %s %s", vi, theme, level), func(t *testing.T) {
					d := inventedMap(uint64(vi+1), 1000, v, theme)
					switch level {
					case "cores":
						d.Cores = true
					case "hexagons":
						d.Wells, d.Hexes = nil, inventedHexes(v)
					}
					b := draw.Map(d, theme, "map")
					m, err := readMap(b, "map")
					if err != nil {
						t.Fatal(err)
					}
					if err := m.legible(v.W, v.H); err != nil {
						t.Error(err)
					}
					if !bytes.Equal(b, draw.Map(d, theme, "map")) {
						t.Error("the same data gave other bytes")
					}
					if bytes.Contains(b, []byte("NaN")) || bytes.Contains(b, []byte("Inf")) {
						t.Error("a number that is none")
					}
					if level != "hexagons" && m.parts["wells a"] < 850 {
						t.Errorf("only %d of 1000 wells", m.parts["wells a"])
					}
					if level == "hexagons" && m.parts["hexes a"] != len(d.Hexes) {
						t.Errorf("%d of %d cells", m.parts["hexes a"], len(d.Hexes))
					}
					for _, part := range []string{"surface", "graticule", "scale", "north", "key"} {
						if m.parts[part+" g"] == 0 {
							t.Errorf("no %s", part)
						}
					}
					if m.parts["surface path"] < 6 {
						t.Errorf("a surface of %d paths", m.parts["surface path"])
					}
				})
			}
		}
	}
}

func inventedHexes(v draw.View) []draw.MapHex {
	var out []draw.MapHex
	for i := range 60 {
		out = append(out, draw.MapHex{X: float64(i%10)*v.W/10 + 20, Y: float64(i/10)*v.H/6 + 20, R: 30, Count: 1 << (i % 21), Share: float64(i%11) / 10, Known: i%6 != 0, Title: fmt.Sprint(i), Href: fmt.Sprintf("/?x=%d", i)})
	}
	return out
}

// TestMapLabelsWhereSupported: no contour label stands where nothing is
// claimed, nor where the wells say no more than the area.
func TestMapLabelsWhereSupported(t *testing.T) {
	for _, v := range views()[:2] {
		d := inventedMap(1, 0, v, draw.Light)
		d.Layers, d.Site = nil, nil
		m, err := readMap(draw.Map(d, draw.Light, "map"), "map")
		if err != nil {
			t.Fatal(err)
		}
		labels := 0
		for _, x := range m.texts {
			if x.part != "" {
				continue
			}
			if _, err := strconv.Atoi(x.text); err != nil {
				continue
			}
			labels++
			if cx, cy := (x.x0+x.x1)/2, (x.y0+x.y1)/2; bareAt(v, cx, cy) || flatAt(v, cx, cy) {
				t.Errorf("label %s at %.0f, %.0f", x.text, cx, cy)
			}
		}
		if labels < 3 {
			t.Errorf("only %d labels", labels)
		}
		for _, words := range []string{"no wells near", "say no"} {
			if v.W > 1000 && !strings.Contains(m.words, words) {
				t.Errorf("no words %q", words)
			}
		}
	}
}

// TestMapHostile: no text of a record or a layer can be anything but text.
func TestMapHostile(t *testing.T) {
	v := views()[0]
	d := inventedMap(3, 20, v, draw.Light)
	d.Cores = true
	d.Title, d.Key.Title, d.Key.Short = attackText, attackText, attackText
	d.Key.Words = []string{attackText, strings.Repeat("w", 5000)}
	d.Key.Ends = [3]string{attackText, attackText, attackText}
	for i := range d.Wells {
		d.Wells[i].Label, d.Wells[i].Title, d.Wells[i].Href = attackText, attackText, "javascript:alert(1)"
	}
	for i := range d.Layers {
		d.Layers[i].Kind = attackText
		for j := range d.Layers[i].Lines {
			d.Layers[i].Lines[j].Name = attackText
		}
	}
	d.Surface.Label = func(float64) string { return attackText }
	d.Site.RingText = []string{attackText, attackText}
	for _, prefix := range []string{"map", attackText, ""} {
		b := draw.Map(d, draw.Light, prefix)
		var plain strings.Builder
		for _, r := range prefix {
			if r < 128 && (r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z') {
				plain.WriteRune(r)
			}
		}
		if plain.Len() == 0 {
			plain.WriteString("d")
		}
		m, err := readMap(b, plain.String())
		if err != nil {
			t.Fatal(err)
		}
		if strings.ContainsAny(m.words, "\x00\x1b\u202e") {
			t.Error("a control character went through")
		}
	}
}

// TestMapExtremes: nothing, one, all in one place, and numbers that are none.
func TestMapExtremes(t *testing.T) {
	v := draw.View{Lon: 10, Lat: 50, MPerPixel: 5, W: 700, H: 500}
	nan, inf := math.NaN(), math.Inf(1)
	same := make([]draw.MapWell, 300)
	for i := range same {
		same[i] = draw.MapWell{ID: int64(i), Lon: 10, Lat: 50, Label: "one place", Title: "x", Href: "/well/1", Known: true}
	}
	bare := inventedSurface(v, draw.Light)
	flat := inventedSurface(v, draw.Light)
	for i := range bare.Field.Values {
		bare.Field.Values[i] = nan
		flat.Flat[i] = true
	}
	for name, d := range map[string]*draw.MapData{
		"nothing":       {View: v},
		"tiny":          {View: draw.View{Lon: 10, Lat: 50, MPerPixel: 5, W: 200, H: 160}, Key: draw.MapKey{Title: "Depth to sound bedrock, ft", Colours: 3, Ramp: draw.DepthRamp(draw.Light), Short: "neighbours cut the error by 15 %"}},
		"pole":          {View: draw.View{Lon: 0, Lat: 85, MPerPixel: 60000, W: 700, H: 500}, Wells: same},
		"world":         {View: draw.View{Lon: 180, Lat: 0, MPerPixel: 60000, W: 1440, H: 900}, Wells: same},
		"one":           {View: v, Wells: same[:1], Cores: true},
		"one place":     {View: v, Wells: same, Cores: true, CoreM: 0},
		"no numbers":    {View: v, Cores: true, CoreM: nan, Wells: []draw.MapWell{{Lon: nan, Lat: nan, Share: nan, Known: true, DepthM: nan, BedrockM: nan, StrikesM: []float64{nan, inf}}, {Lon: inf, Lat: -inf, DepthM: inf, BedrockM: inf}}},
		"all bare":      {View: v, Surface: bare},
		"all flat":      {View: v, Surface: flat},
		"empty lines":   {View: v, Layers: []draw.MapLayer{{Kind: "road", Lines: []draw.MapLine{{}, {Points: [][2]float64{{1, 2}}}, {Name: "x", Points: [][2]float64{{10, 50}, {10, 50}}}}}}},
		"far beyond":    {View: v, Layers: []draw.MapLayer{{Kind: "road", Lines: []draw.MapLine{{Name: "long", Points: [][2]float64{{-170, -80}, {170, 80}, {10, 50}, {10.001, 50.001}}}}}}},
		"tiny hexagons": {View: v, Hexes: []draw.MapHex{{X: 10, Y: 10, R: 0, Count: 0}, {X: 100, Y: 100, R: 30, Count: 1 << 40, Share: nan, Known: true}}},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := readMap(draw.Map(d, draw.Light, "m"), "m")
			if err != nil {
				t.Fatal(err)
			}
			if err := m.legible(d.View.W, d.View.H); err != nil {
				t.Error(err)
			}
			if name == "far beyond" && m.parts[" path"] == 0 {
				t.Error("the stretch in the window was lost")
			}
		})
	}
}

// TestMapNoWellHalfHidden: a sign that would lie under the legend is left out
// rather than shown in part.
func TestMapNoWellHalfHidden(t *testing.T) {
	v := draw.View{Lon: 10, Lat: 50, MPerPixel: 5, W: 900, H: 600}
	d := inventedMap(1, 0, v, draw.Light)
	lon, lat := v.Position(40, 40)
	d.Wells = []draw.MapWell{{ID: 1, Lon: lon, Lat: lat, Title: "under", Href: "/well/1", DepthM: 50}}
	for _, cores := range []bool{true, false} {
		d.Cores, d.CoreM = cores, 50
		m, err := readMap(draw.Map(d, draw.Light, "m"), "m")
		if err != nil {
			t.Fatal(err)
		}
		if m.parts["wells a"] != 0 {
			t.Errorf("cores %t: a well under the legend was drawn", cores)
		}
	}
}

// TestMapGolden shows change in a small map; that maps are right is for the
// other tests and for the eye.
func TestMapGolden(t *testing.T) {
	v := draw.View{Lon: -38.75, Lat: 44.25, MPerPixel: 8, W: 480, H: 360}
	got := draw.Map(inventedMap(5, 12, v, draw.Light), draw.Light, "g")
	file := filepath.Join("testdata", "golden", "map.svg")
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("the map differs from %s", file)
	}
}

// BenchmarkMapDrawing draws 1,000 wells with a surface and layers.
func BenchmarkMapDrawing(b *testing.B) {
	d := inventedMap(1, 1000, views()[0], draw.Light)
	b.ReportAllocs()
	for b.Loop() {
		draw.Map(d, draw.Light, "map")
	}
}
