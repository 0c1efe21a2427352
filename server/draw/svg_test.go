package draw_test

import (
	"encoding/xml"
	"math"
	"strings"
	"testing"

	"tallybook/server/draw"
)

func TestNumbers(t *testing.T) {
	tests := []struct {
		v    float64
		want string
	}{
		{0, "0"}, {math.Copysign(0, -1), "0"}, {-0.004, "0"}, {1, "1"}, {1.5, "1.5"}, {1.234, "1.23"}, {1.05, "1.05"},
		{-2.25, "-2.25"}, {1e-9, "0"}, {123456.789, "123456.79"}, {math.NaN(), "0"}, {math.Inf(1), "0"}, {math.Inf(-1), "0"}, {1e300, "0"},
	}
	for _, c := range tests {
		s := draw.NewSVG("p")
		s.Start("rect").N("x", c.v).End()
		if got := string(s.Bytes()); got != `<rect x="`+c.want+`"/>`+"\n" {
			t.Errorf("%v is written %s", c.v, got)
		}
		wrong := math.IsNaN(c.v) || math.Abs(c.v) > 1e7
		if (s.Unfit() == 1) != wrong {
			t.Errorf("%v: unfit %d", c.v, s.Unfit())
		}
	}
}

func TestIDs(t *testing.T) {
	tests := []struct{ prefix, name, want string }{
		{"a", "b", "a-b"}, {"", "b", "d-b"}, {`x" onload="y`, "n", "xonloady-n"}, {"7", "", "d7-x"}, {"well-9", "sand_gravel", "well-9-sand_gravel"},
	}
	for _, c := range tests {
		if got := draw.NewSVG(c.prefix).ID(c.name); got != c.want {
			t.Errorf("ID(%q, %q) = %q, want %q", c.prefix, c.name, got, c.want)
		}
	}
}

func TestForbiddenAttributes(t *testing.T) {
	for _, name := range []string{"style", "onload", "onclick", "href", "xlink:href"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("attribute %s was let through", name)
				}
			}()
			draw.NewSVG("p").Start("g").A(name, "x")
		}()
	}
}

func TestLinksStayHere(t *testing.T) {
	tests := map[string]bool{
		"/well/7": true, "#part": true, "?at=1": true, "/": true,
		"": false, "//evil.example": false, `/\evil.example`: false, "http://evil.example": false, "javascript:alert(1)": false, "well/7": false,
	}
	for href, want := range tests {
		s := draw.NewSVG("p")
		s.Start("a").Link(href).End()
		if got := strings.Contains(string(s.Bytes()), "href="); got != want {
			t.Errorf("link to %q written: %v", href, got)
		}
	}
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"", "plain", "<&>\"'", "]]>", "\x00\x08\x7f\u0085", "\xff\xfe", "\ufffe\uffff", "💧 ½ شق", "\u202e"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s := draw.NewSVG("p")
		s.Start("g").A("data-x", text).Open()
		s.Title(text)
		s.Start("text").Text(text)
		dec := xml.NewDecoder(strings.NewReader(string(s.Bytes())))
		var elements int
		for {
			tok, err := dec.Token()
			if tok == nil {
				break
			}
			if err != nil {
				t.Fatalf("not well-formed: %v", err)
			}
			if e, ok := tok.(xml.StartElement); ok {
				elements++
				if len(e.Attr) > 1 {
					t.Fatalf("attributes out of text: %v", e.Attr)
				}
			}
		}
		if elements != 3 {
			t.Fatalf("%d elements, want 3", elements)
		}
	})
}
