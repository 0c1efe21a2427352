package draw_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tallybook/server/draw"
)

// textBox is where a line of text stands, by the package's own estimate of
// widths, which errs on the wide side.
type textBox struct {
	x0, y0, x1, y1 float64
	text           string
}

// drawing is what the tests read out of an SVG document.
type drawing struct {
	w, h  float64
	texts []textBox
	ids   map[string]bool
	rects []map[string]string
	paths []map[string]string
	words string // all character data
}

var (
	reference = regexp.MustCompile(`url\(#([^)]*)\)`)
	digits    = regexp.MustCompile(`^-?[0-9]+(\.[0-9]{1,2})?$`)
	inPath    = regexp.MustCompile(`-?[0-9]*\.?[0-9]+`)
)

// read parses an SVG document by the standard library's XML reader and
// reports everything that a drawing may never have: bad XML, style, script or
// event attributes, foreign addresses, ids without the prefix or used twice,
// references to nothing, numbers that are not finite or have more than two
// decimals.
func read(b []byte, prefix string) (*drawing, error) {
	d := &drawing{ids: map[string]bool{}}
	dec := xml.NewDecoder(bytes.NewReader(b))
	dec.Strict = true
	var refs []string
	var words strings.Builder
	var text *textBox
	var attrs map[string]string
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
			switch t.Name.Local {
			case "style", "script", "foreignObject", "image", "iframe", "animate", "set":
				return nil, fmt.Errorf("element %s", t.Name.Local)
			}
			attrs = map[string]string{}
			for _, a := range t.Attr {
				name := a.Name.Local
				attrs[name] = a.Value
				if name == "href" && t.Name.Local == "use" { // of the drawing itself, where refs are looked for
					refs = append(refs, strings.TrimPrefix(a.Value, "#"))
					continue
				}
				if name == "style" || name == "href" || strings.HasPrefix(name, "on") {
					return nil, fmt.Errorf("attribute %s on %s", name, t.Name.Local)
				}
				for _, m := range reference.FindAllStringSubmatch(a.Value, -1) {
					refs = append(refs, m[1])
				}
				switch name {
				case "id":
					if !strings.HasPrefix(a.Value, prefix+"-") || d.ids[a.Value] {
						return nil, fmt.Errorf("id %q has no prefix or is used twice", a.Value)
					}
					d.ids[a.Value] = true
				case "x", "y", "width", "height", "font-size", "stroke-width", "rx":
					if !digits.MatchString(a.Value) {
						return nil, fmt.Errorf("%s=%q is no plain number", name, a.Value)
					}
				case "d":
					for _, n := range inPath.FindAllString(a.Value, -1) {
						if v, err := strconv.ParseFloat(n, 64); err != nil || math.Abs(v) > 1e6 || n == "-0" {
							return nil, fmt.Errorf("path number %q", n)
						}
					}
				}
			}
			num := func(n string) float64 { v, _ := strconv.ParseFloat(attrs[n], 64); return v }
			switch t.Name.Local {
			case "svg":
				if d.w != 0 { // an inner one clips
					break
				}
				d.w, d.h = num("width"), num("height")
				if attrs["role"] != "img" || attrs["aria-labelledby"] == "" {
					return nil, errors.New("svg without role=img and aria-labelledby")
				}
			case "rect":
				d.rects = append(d.rects, attrs)
			case "path":
				d.paths = append(d.paths, attrs)
			case "text":
				size := num("font-size")
				text = &textBox{x0: num("x"), y0: num("y") - 0.76*size, y1: num("y") + 0.2*size, x1: size}
			}
		case xml.CharData:
			words.Write(t)
			if text != nil {
				size, bold := text.x1, attrs["font-weight"] != ""
				w := draw.TextWidth(string(t), size, bold)
				text.text = string(t)
				switch attrs["text-anchor"] {
				case "end":
					text.x0 -= w
				case "middle":
					text.x0 -= w / 2
				}
				text.x1 = text.x0 + w
				if strings.HasPrefix(attrs["transform"], "rotate(-90 ") { // upright, about its beginning
					up, left := text.x1-text.x0, text.y0+0.76*size
					text.x0, text.x1 = text.x0-0.76*size, text.x0+0.2*size
					text.y0, text.y1 = left-up, left
				}
				d.texts = append(d.texts, *text)
				text = nil
			}
		}
	}
	for _, r := range refs {
		if !d.ids[r] {
			return nil, fmt.Errorf("reference to %q, which is not there", r)
		}
	}
	if !d.ids[prefix+"-title"] || !d.ids[prefix+"-desc"] {
		return nil, errors.New("no title or no desc")
	}
	d.words = words.String()
	return d, nil
}

// legible reports text that overlaps other text or is cut off by the edge.
func (d *drawing) legible() error {
	const slack = 0.75 // half a hairline of shared leading is not seen
	for i, a := range d.texts {
		if a.x0 < -slack || a.y0 < -slack || a.x1 > d.w+slack || a.y1 > d.h+slack {
			return fmt.Errorf("%q (%.0f,%.0f–%.0f,%.0f) is cut off by the edge of %.0f×%.0f", a.text, a.x0, a.y0, a.x1, a.y1, d.w, d.h)
		}
		for _, b := range d.texts[i+1:] {
			if a.x0+slack < b.x1 && b.x0+slack < a.x1 && a.y0+slack < b.y1 && b.y0+slack < a.y1 {
				return fmt.Errorf("%q (%.0f,%.0f–%.0f,%.0f) and %q (%.0f,%.0f–%.0f,%.0f) overlap",
					a.text, a.x0, a.y0, a.x1, a.y1, b.text, b.x0, b.y0, b.x1, b.y1)
			}
		}
	}
	return nil
}

// check reads a drawing and fails the test on anything wrong.
func check(t *testing.T, b []byte, prefix string) *drawing {
	t.Helper()
	d, err := read(b, prefix)
	if err == nil {
		err = d.legible()
	}
	if err != nil {
		t.Errorf("%v", err)
		return &drawing{}
	}
	return d
}
