package draw_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/lithology"
	"tallybook/server/draw"
)

var updatePatterns = flag.Bool("update-patterns", false, "write the golden patterns anew; look at them before accepting")

func patternSheet(p *draw.Patterns, prefix string, theme draw.Theme, codes ...string) string {
	s := draw.NewSVG(prefix)
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").N("width", 200).N("height", 200).Open()
	s.Start("defs").Open()
	s.Line()
	p.Defs(s, codes, theme)
	s.Close()
	for i, c := range codes {
		p.Swatch(s, c, 10, 10+float64(i)*40, 60, 30, theme)
	}
	return string(s.Bytes())
}

func allCodes() []string {
	var out []string
	for _, m := range lithology.Default().All() {
		out = append(out, m.Code)
	}
	return out
}

func TestPatternsAreSafeXML(t *testing.T) {
	p := draw.NewPatterns(lithology.Default())
	number := regexp.MustCompile(`-0(\.0*)?([^.0-9]|$)|[0-9]e[-+0-9]|NaN|Inf`)
	colour := regexp.MustCompile(`#[0-9a-f]{6}`)
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		doc := patternSheet(p, "a1", theme, allCodes()...)
		if bad := number.FindString(colour.ReplaceAllString(doc, "")); bad != "" {
			t.Errorf("%s: number %q", theme, bad)
		}
		patterns := 0
		dec := xml.NewDecoder(strings.NewReader(doc))
		for {
			tok, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", theme, err)
			}
			e, ok := tok.(xml.StartElement)
			if !ok {
				continue
			}
			if e.Name.Local == "style" || e.Name.Local == "script" {
				t.Errorf("%s: element %s", theme, e.Name.Local)
			}
			if e.Name.Local == "pattern" {
				patterns++
			}
			for _, a := range e.Attr {
				switch {
				case a.Name.Local == "style", a.Name.Local == "class", strings.HasPrefix(a.Name.Local, "on"):
					t.Errorf("%s: attribute %s", theme, a.Name.Local)
				case a.Name.Local == "id" && !strings.HasPrefix(a.Value, "a1-"):
					t.Errorf("%s: id %q lacks the prefix", theme, a.Value)
				}
			}
		}
		if want := len(allCodes()); patterns != want {
			t.Errorf("%s: %d patterns, want %d", theme, patterns, want)
		}
	}
}

// Materials must be told apart when only black is printed.
func TestNoTwoPatternsPrintTheSame(t *testing.T) {
	p := draw.NewPatterns(lithology.Default())
	seen := map[string]string{}
	for _, code := range allCodes() {
		s := draw.NewSVG("x")
		p.Defs(s, []string{code}, draw.Print)
		_, body, _ := strings.Cut(string(s.Bytes()), ">")
		if other, dup := seen[body]; dup {
			t.Errorf("%s prints as %s", code, other)
		}
		seen[body] = code
	}
}

func TestPatternsAreTheSameEveryTime(t *testing.T) {
	a := patternSheet(draw.NewPatterns(lithology.Default()), "p", draw.Light, allCodes()...)
	codes := allCodes()
	slices.Reverse(codes)
	s, s2 := draw.NewSVG("p"), draw.NewSVG("p")
	draw.PatternDefs(s, codes, draw.Light)
	draw.PatternDefs(s2, append(codes, codes...), draw.Light)
	if !bytes.Equal(s.Bytes(), s2.Bytes()) {
		t.Error("a code named twice, or the order of codes, changes the patterns")
	}
	if !strings.Contains(a, strings.TrimSpace(string(s.Bytes()))) {
		t.Error("two builds of the patterns differ")
	}
}

func TestPatternFill(t *testing.T) {
	s := draw.NewSVG("col")
	if got, want := draw.PatternFill(s, "clay"), "url(#col-ground-clay)"; got != want {
		t.Errorf("fill %q, want %q", got, want)
	}
	if got, want := draw.PatternFill(s, `"><script>`), draw.PatternFill(s, lithology.Unknown); got != want {
		t.Errorf("a foreign code fills with %q, want %q", got, want)
	}
}

func TestPatternCodes(t *testing.T) {
	got := draw.NewPatterns(lithology.Default()).PatternCodes([]string{"granite", "till", "no such", "granite", "clay"})
	if d := cmp.Diff([]string{lithology.Unknown, "clay", "till", "granite"}, got); d != "" {
		t.Error(d)
	}
}

func TestOwnMaterialsArePainted(t *testing.T) {
	v, err := lithology.Default().With(
		lithology.Entry{Material: lithology.Material{Code: "own_sand", Label: "Own <sand>", Class: records.ClassSoil, FGDC: 607, Tint: "#ddccaa"}},
		lithology.Entry{Material: lithology.Material{Code: "own_rock", Label: "Own rock", Class: records.ClassRock, NoFGDC: "ours", Tint: "#ccbbaa"}},
	)
	if err != nil {
		t.Fatal(err)
	}
	p := draw.NewPatterns(v)
	body := func(code string) string {
		s := draw.NewSVG("x")
		p.Defs(s, []string{code}, draw.Print)
		return strings.ReplaceAll(string(s.Bytes()), code+`"`, `"`)
	}
	if body("own_sand") != body("sand") {
		t.Error("a material with the number of sand is not drawn as sand")
	}
	if body("own_rock") != body("rock") {
		t.Error("a material without a number is not drawn by its class")
	}
	doc := patternSheet(p, "x", draw.Light, "own_sand", "own_rock")
	if !strings.Contains(doc, "#ddccaa") || strings.Contains(doc, "<sand>") {
		t.Error("its own tint is not used, or its label is not escaped")
	}
}

func TestGoldenPatterns(t *testing.T) {
	for _, code := range []string{"granite", "limestone"} {
		got := patternSheet(draw.NewPatterns(lithology.Default()), "g", draw.Light, code)
		file := filepath.Join("testdata", "pattern-"+code+".svg")
		if *updatePatterns {
			if err := os.MkdirAll("testdata", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), got); d != "" {
			t.Errorf("%s differs from %s:\n%s", code, file, d)
		}
	}
}

func BenchmarkPatternDefs(b *testing.B) {
	p := draw.NewPatterns(lithology.Default())
	codes := []string{"till", "clay", "sand", "weathered_rock", "gneiss", "granite"}
	b.ReportAllocs()
	for b.Loop() {
		s := draw.NewSVG("x")
		p.Defs(s, codes, draw.Light)
	}
}

// The cost of the first drawing after a start.
func BenchmarkPatternsFirstUse(b *testing.B) {
	codes := []string{"till", "clay", "sand", "weathered_rock", "gneiss", "granite"}
	b.ReportAllocs()
	for b.Loop() {
		draw.NewPatterns(lithology.Default()).Defs(draw.NewSVG("x"), codes, draw.Light)
	}
}
