package stamp_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/server/stamp"
)

var aDay = time.Date(2026, 11, 28, 0, 0, 0, 0, time.UTC)

func feet(v float64) records.Depth { return records.Depth(records.Foot.ToBase(v)) }

// aWell is invented, with a bound, an 'about' and figures with parts.
func aWell() *records.Well {
	return &records.Well{
		Number: "W-1042", PermitNumber: "P-77/04", Completed: records.Date{Year: 2004, Month: 6, Day: 3},
		Owner:      records.Person{Name: "Nobody Invented", Address: "1 Nowhere"},
		Crew:       records.Crew{Driller: "A. Digger (invented)", Licence: "L-9", Firm: "Invented Drilling & Sons"},
		TotalDepth: records.Roughly(feet(305)),
		Casing: []records.Casing{
			{From: records.Of(feet(-1)), To: records.Of(feet(20)), Diameter: records.Of(records.Diameter(203.2))},
			{From: records.Of(feet(-1)), To: records.MoreThan(feet(42)), Diameter: records.Of(records.Diameter(168.275))},
		},
		Screens:      []records.Screen{{From: records.Of(feet(100)), To: records.Of(feet(110.5))}, {From: records.Of(feet(200)), To: records.Of(feet(210))}},
		Yield:        records.Under(records.Flow(records.GallonPerMinute.ToBase(1.5))),
		StaticLevel:  records.Of(feet(18)),
		StaticLevels: []records.Level{{Date: records.Date{Year: 2004, Month: 6, Day: 4}, Depth: records.Of(feet(18))}},
		Pump:         records.Pump{SetDepth: records.Of(feet(280))},
	}
}

// What is stamped is what the record says, with its unit and its sign, in the
// order of the office; what is not recorded has no line, and no owner ever has.
// Figures by hand: 305 ft = 92.964 m, 1.5 gpm = 5.678 L/min.
func TestWordsOfAPlate(t *testing.T) {
	all := records.PlateFormat{Units: "us", Fields: records.PlateFieldWords()}
	for _, c := range []struct {
		name, units string
		well        *records.Well
		stamped     *records.Stamped
		want        string
	}{
		{"a record", "us", aWell(), nil, "driller=Invented Drilling & Sons|licence=L-9|permit=P-77/04|completed=3 June 2004|depth=~305 ft|casing to=>42 ft|casing dia.=6⅝ in|screen=100 to 110.5 ft|screen=200 to 210 ft|yield=<1½ gpm|static level=18 ft, 4 June 2004|pump at=280 ft"},
		{"in metres", "si", aWell(), nil, "driller=Invented Drilling & Sons|licence=L-9|permit=P-77/04|completed=3 June 2004|depth=~93 m|casing to=>12.8 m|casing dia.=168 mm|screen=30.5 to 33.7 m|screen=61 to 64 m|yield=<5.7 L/min|static level=5.5 m, 4 June 2004|pump at=85.3 m"},
		{"a dry hole", "us", &records.Well{Yield: records.Of(records.Flow(0)), TotalDepth: records.MoreThan(feet(400)), Crew: records.Crew{Driller: "A. Digger"}}, nil, "driller=A. Digger|depth=>400 ft|yield=dry"},
		{"a flowing well", "us", &records.Well{StaticLevel: records.Of(feet(-3))}, nil, "static level=3 ft above ground"},
		{"nothing known", "us", &records.Well{}, nil, ""},
		{"stamped, no record", "us", nil, &records.Stamped{Depth: records.Of(feet(90)), Yield: records.Roughly(records.Flow(records.GallonPerMinute.ToBase(4))), Driller: "A.\tDigger\n"}, "driller=A. Digger|depth=90 ft|yield=~4 gpm"},
	} {
		f := all
		f.Units = c.units
		var got []string
		for _, l := range stamp.Of("1", c.well, c.stamped, f).Lines {
			got = append(got, l.Label+"="+l.Value)
		}
		if s := strings.Join(got, "|"); s != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, s, c.want)
		}
	}
	for _, w := range records.PlateFieldWords() {
		if stamp.FieldLabel(w) == "" {
			t.Errorf("%s has no label", w)
		}
	}
	some := stamp.StampedOf(aWell(), records.PlateFormat{Fields: []string{"depth", "casing", "contractor"}})
	if some.Depth != aWell().TotalDepth || some.Casing.Qualifier != records.GreaterThan || some.Driller != "Invented Drilling & Sons" || some.Yield.Known() || !some.Date.IsZero() {
		t.Errorf("kept with the plate: %+v", some)
	}
}

// The code holds the address where the office has one, else the plain number.
func TestWhatACodeHolds(t *testing.T) {
	for _, c := range []struct {
		base         records.PublicBase
		number, want string
	}{
		{"", "W-1042", "W-1042"}, {"", " 40 17 ", "40 17"},
		{"https://wells.example.org", "W-1042", "https://wells.example.org/p/W-1042"},
		{"https://wells.example.org/water", "A/7 é", "https://wells.example.org/water/p/A%2F7%20%C3%A9"},
	} {
		if got := stamp.CodeText(c.base, c.number); got != c.want {
			t.Errorf("%q at %q: %q, want %q", c.number, c.base, got, c.want)
		}
	}
}

// A plate of any size and content is either laid out with every word on it,
// within its edges, clear of code and holes, in letters no smaller than the
// floor, or it is refused in words; and never half of it.
func TestNothingIsCut(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	letters := []rune("abcdefghij WIlM-0123456789éßЖλ⅝½~<>")
	words := func(n int) string {
		b := make([]rune, r.IntN(n+1))
		for i := range b {
			b[i] = letters[r.IntN(len(letters))]
		}
		return strings.Join(strings.Fields(string(b)), " ")
	}
	laid, refused, tries := 0, 0, 600
	if testing.Short() {
		tries = 200
	}
	for i := range tries {
		f := records.PlateFormat{WidthMM: 20 + 130*r.Float64(), HeightMM: 15 + 100*r.Float64(), Tool: []records.PlateTool{records.PlateLabel, records.PlateEngraver}[i%2], PublicBase: "https://wells.example.org", LineMM: 0.1 + 0.3*r.Float64()}
		if i%3 == 0 {
			f.HolesMM = 1 + 4*r.Float64()
		}
		p := stamp.Plate{Heading: words(40), Number: fmt.Sprint(r.IntN(1e6)), Code: f.PublicBase.For("W")}
		for range r.IntN(12) {
			if v := words(30); v != "" {
				p.Lines = append(p.Lines, stamp.Line{Label: "depth", Value: v})
			}
		}
		d, faults := stamp.Lay(p, f)
		if d == nil {
			if refused++; !records.Refuses(faults) || faults[0].Mend == "" {
				t.Fatalf("refused without words: %v", faults)
			}
			continue
		}
		if laid++; len(faults) > 0 {
			t.Fatalf("laid out and refused: %v", faults)
		}
		holds(t, p, d)
	}
	if 4*laid < tries || 12*refused < tries {
		t.Errorf("%d were laid out and %d refused: this looks at too little", laid, refused)
	}
}

func holds(t *testing.T, p stamp.Plate, d *stamp.Drawing) {
	t.Helper()
	floor := 1.8
	if d.Tool == records.PlateEngraver {
		floor = max(2.4, 12*d.Line)
		if d.Module < 1.5*d.Line-1e-9 {
			t.Fatalf("modules of %g mm for a line of %g mm", d.Module, d.Line)
		}
	}
	type box struct{ x0, y0, x1, y1 float64 }
	apart := func(a, b box) bool { return a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0 }
	n := float64(d.Code.Size) * d.Module
	quiet := stamp.QuietModules * d.Module
	taken := []box{{d.CodeX - quiet + 1e-6, d.CodeY - quiet + 1e-6, d.CodeX + n + quiet - 1e-6, d.CodeY + n + quiet - 1e-6}}
	inside := func(b box) bool { return b.x0 >= 0 && b.y0 >= 0 && b.x1 <= d.Width && b.y1 <= d.Height }
	if !inside(taken[0]) || d.Module < stamp.LeastModuleMM-1e-9 {
		t.Fatalf("the code at %v with modules of %g, of a plate of %g by %g", taken[0], d.Module, d.Width, d.Height)
	}
	for _, h := range d.Holes {
		b := box{h.X - h.Radius, h.Y - h.Radius, h.X + h.Radius, h.Y + h.Radius}
		if !inside(b) || !apart(b, taken[0]) {
			t.Fatalf("a hole at %v", b)
		}
		taken = append(taken, b)
	}
	var said []string
	for _, s := range d.Texts {
		b := box{s.X, s.Y - 0.72*s.Size, s.X + s.Width, s.Y + 0.2*s.Size}
		if s.Size < floor-1e-9 || !inside(b) {
			t.Fatalf("“%s” of %g mm at %v, of a plate of %g by %g", s.Words, s.Size, b, d.Width, d.Height)
		}
		for _, other := range taken {
			if !apart(b, other) {
				t.Fatalf("“%s” at %v is over what is at %v", s.Words, b, other)
			}
		}
		taken = append(taken, b)
		said = append(said, s.Words)
	}
	all := strings.Join(said, " ")
	if !strings.Contains(all, p.Heading) || !strings.Contains(all, p.Number) {
		t.Fatalf("%q does not say heading and number %q %q", all, p.Heading, p.Number)
	}
	for _, l := range p.Lines {
		if !strings.Contains(all, l.Value) {
			t.Fatalf("%q does not say %q", all, l.Value)
		}
	}
}

// What cannot be shown is told with its cause.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name   string
		plate  stamp.Plate
		format records.PlateFormat
		field  string
	}{
		{"no number", stamp.Plate{}, records.PlateFormat{}, "number"},
		{"a digit unread", stamp.Plate{Number: "4?17", Code: "4?17"}, records.PlateFormat{}, "number"},
		{"too wide a point", stamp.Plate{Number: "1", Code: "https://wells.example.org/p/1"}, records.PlateFormat{Tool: records.PlateEngraver, LineMM: 1}, "size"},
		{"letters that are not at hand", stamp.Plate{Number: "1", Code: "1", Lines: []stamp.Line{{"driller", "井戸"}}}, records.PlateFormat{}, "driller"},
		{"a number no code holds", stamp.Plate{Number: "Ж7", Code: "Ж7"}, records.PlateFormat{}, "code"},
		{"too long an address", stamp.Plate{Number: "1", Code: "https://wells.example.org/" + strings.Repeat("x", 300)}, records.PlateFormat{WidthMM: 60, HeightMM: 30}, "size"},
		{"no room", stamp.Plate{Number: "1", Code: "1", Lines: []stamp.Line{{"driller", strings.Repeat("Invented", 30)}}}, records.PlateFormat{}, "fields"},
		{"too long a number", stamp.Plate{Number: strings.Repeat("1", 60), Code: "1"}, records.PlateFormat{WidthMM: 60, HeightMM: 30}, "number"},
		{"holes that leave nothing", stamp.Plate{Number: "1", Code: "1"}, records.PlateFormat{WidthMM: 20, HeightMM: 15, HolesMM: 8}, "size"},
	} {
		d, faults := stamp.Lay(c.plate, c.format)
		if d != nil || len(faults) == 0 || faults[0].Field != c.field || faults[0].Mend == "" {
			t.Errorf("%s: %v", c.name, faults)
		}
	}
}

// An engraver's drawing is lines alone: nothing is filled and nothing grey, and
// no letters are asked of a machine that may not have them. A label has text.
func TestDrawnForTheTool(t *testing.T) {
	for _, tool := range []records.PlateTool{records.PlateLabel, records.PlateEngraver} {
		f := records.PlateFormat{Tool: tool, Heading: "<Invented & sons>", HolesMM: 3, WidthMM: 100, HeightMM: 70}.Filled()
		d, faults := stamp.Lay(stamp.Of("W-1042", aWell(), nil, f), f)
		if d == nil {
			t.Fatal(faults)
		}
		svg := d.SVG()
		if !bytes.Equal(svg, d.SVG()) {
			t.Error("two drawings of one plate differ")
		}
		a, err := d.PDF(aDay)
		b, err2 := d.PDF(aDay)
		if err = errors.Join(err, err2); err != nil || !bytes.Equal(a, b) {
			t.Errorf("two files of one plate differ (%v)", err)
		}
		texts, strokes := 0, 0
		for x := xml.NewDecoder(bytes.NewReader(svg)); ; {
			token, err := x.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			e, ok := token.(xml.StartElement)
			if !ok {
				continue
			}
			if e.Name.Local == "text" {
				texts++
			}
			for _, at := range e.Attr {
				switch {
				case at.Name.Local == "style":
					t.Error("a style attribute, which the pages' policy forbids")
				case at.Name.Local == "stroke":
					strokes++
					fallthrough
				case at.Name.Local == "fill":
					if v := at.Value; v != "none" && v != "#000" && !(tool == records.PlateLabel && v == "#fff") || tool == records.PlateEngraver && at.Name.Local == "fill" && v != "none" {
						t.Errorf("%s: %s is %s", tool, at.Name.Local, v)
					}
				}
			}
		}
		if (texts > 0) != (tool == records.PlateLabel) || strokes == 0 {
			t.Errorf("%s: %d texts, %d strokes", tool, texts, strokes)
		}
		if !bytes.Contains(svg, []byte("~305 ft")) || !bytes.Contains(svg, []byte("&lt;1½ gpm")) {
			t.Errorf("%s: the figures are not in it as text", tool)
		}
	}
}

// A sheet holds every plate once, apart from the next and within the paper.
func TestSheet(t *testing.T) {
	for _, paper := range stamp.Papers() {
		for _, size := range [][2]float64{{60, 30}, {80, 50}, {190, 30}} {
			f := records.PlateFormat{WidthMM: size[0], HeightMM: size[1], Fields: []string{}}
			var plates []*stamp.Drawing
			for i := range 37 {
				d, faults := stamp.Lay(stamp.Plate{Number: fmt.Sprint(1000 + i), Code: "1"}, f)
				if d == nil {
					t.Fatal(faults)
				}
				plates = append(plates, d)
			}
			s, err := stamp.NewSheet(paper, plates)
			if err != nil {
				t.Fatal(err)
			}
			all := ""
			for i := range s.Pages() {
				page := string(s.SVG(i))
				if n := strings.Count(page, "<g transform"); n == 0 || n > s.PerPage() {
					t.Errorf("%d plates on a page for %d", n, s.PerPage())
				}
				all += page
			}
			for i := range plates {
				if n := strings.Count(all, fmt.Sprintf(">%d<", 1000+i)); n != 1 {
					t.Errorf("%s: plate %d stands %d times", paper.Word, 1000+i, n)
				}
			}
		}
	}
	big, _ := stamp.Lay(stamp.Plate{Number: "1", Code: "1"}, records.PlateFormat{WidthMM: 300, HeightMM: 70})
	if _, err := stamp.NewSheet(stamp.Papers()[0], []*stamp.Drawing{big}); records.CodeOf(err) != records.Invalid {
		t.Errorf("a plate larger than the paper: %v", err)
	}
	if _, err := stamp.NewSheet(stamp.Papers()[0], nil); records.CodeOf(err) != records.Invalid {
		t.Errorf("a sheet of nothing: %v", err)
	}
}
