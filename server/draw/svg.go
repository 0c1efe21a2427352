package draw

import (
	"math"
	"strconv"
	"unicode/utf8"
)

// SVG writes one SVG document. It keeps what a drawing may contain small on
// purpose: elements, presentation attributes, text. Text and attribute values
// are escaped, characters that XML forbids are replaced, numbers have at most
// two decimals and no minus zero, and ids carry the drawing's prefix, so that
// several drawings can stand on one page. There is no way to write a style
// attribute, a script or an event handler, since the pages' content security
// policy would refuse them and the file would not be safe to hand on.
//
// The order of calls is the order in the file: the same calls give the same
// bytes.
type SVG struct {
	b      []byte
	open   []string
	prefix string
	inTag  bool
	unfit  int
}

// NewSVG starts a drawing whose ids all begin with prefix and a hyphen.
// Characters of the prefix other than ASCII letters, digits, '-' and '_' are
// dropped; an empty prefix becomes "d".
func NewSVG(prefix string) *SVG {
	return &SVG{prefix: plainID(prefix, "d"), b: make([]byte, 0, 16<<10)}
}

func plainID(s, otherwise string) string {
	out := make([]byte, 0, len(s)+1)
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z':
			out = append(out, c)
		case c >= '0' && c <= '9', c == '-', c == '_':
			if len(out) == 0 {
				out = append(out, 'd')
			}
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		return otherwise
	}
	return string(out)
}

// ID is the full id of a thing of this drawing, for url(#…) and aria
// references.
func (s *SVG) ID(name string) string { return s.prefix + "-" + plainID(name, "x") }

// URL is a paint or clip reference to a thing of this drawing.
func (s *SVG) URL(name string) string { return "url(#" + s.ID(name) + ")" }

// Prefix is the prefix of this drawing's ids, without the hyphen.
func (s *SVG) Prefix() string { return s.prefix }

// Start begins a tag. Attributes follow; Open, End or Text finishes it. The
// name must be a literal of the program, never data.
func (s *SVG) Start(name string) *SVG {
	s.finishTag()
	s.b = append(s.b, '<')
	s.b = append(s.b, name...)
	s.open = append(s.open, name)
	s.inTag = true
	return s
}

func (s *SVG) finishTag() {
	if s.inTag {
		s.b = append(s.b, '>')
		s.inTag = false
	}
}

// A writes an attribute; the value is escaped. The name must be a literal of
// the program. It panics on a style or event attribute and on href (see Link):
// those are mistakes of the programmer, never of data.
func (s *SVG) A(name, value string) *SVG {
	if name == "style" || name == "href" || name == "xlink:href" || len(name) > 2 && name[:2] == "on" {
		panic("draw: attribute " + name + " is not for drawings")
	}
	return s.attr(name, value)
}

func (s *SVG) attr(name, value string) *SVG {
	s.b = append(s.b, ' ')
	s.b = append(s.b, name...)
	s.b = append(s.b, '=', '"')
	s.b = appendEscaped(s.b, value, true)
	s.b = append(s.b, '"')
	return s
}

// Link writes an href. Anything but a reference within the drawing (#…) or a
// path on the same server (/… or ?…) is left out, so that no record can carry
// a foreign or a script address into a drawing.
func (s *SVG) Link(href string) *SVG {
	switch {
	case len(href) == 0:
		return s
	case href[0] == '#', href[0] == '?':
	case href[0] == '/' && (len(href) == 1 || href[1] != '/' && href[1] != '\\'):
	default:
		return s
	}
	return s.attr("href", href)
}

// N writes a numeric attribute with at most two decimals. A number that is
// not finite, or beyond ten million, is written as 0 and counted by Unfit.
func (s *SVG) N(name string, v float64) *SVG {
	s.b = append(s.b, ' ')
	s.b = append(s.b, name...)
	s.b = append(s.b, '=', '"')
	s.b = s.number(s.b, v)
	s.b = append(s.b, '"')
	return s
}

// D writes the attribute d from a path.
func (s *SVG) D(p *Path) *SVG {
	s.unfit += p.unfit
	s.b = append(s.b, ` d="`...)
	s.b = append(s.b, p.b...)
	s.b = append(s.b, '"')
	return s
}

// IDAttr gives the element the id that ID makes of name.
func (s *SVG) IDAttr(name string) *SVG { return s.attr("id", s.ID(name)) }

// Open finishes the tag and leaves the element open; Close ends it.
func (s *SVG) Open() {
	s.finishTag()
}

// End finishes the tag as an empty element.
func (s *SVG) End() {
	s.b = append(s.b, '/', '>')
	s.inTag = false
	s.open = s.open[:len(s.open)-1]
}

// Text finishes the tag, writes the escaped text and ends the element.
func (s *SVG) Text(t string) {
	s.finishTag()
	s.b = appendEscaped(s.b, t, false)
	s.Close()
}

// Close ends the element opened last. It panics when none is open.
func (s *SVG) Close() {
	s.finishTag()
	name := s.open[len(s.open)-1]
	s.open = s.open[:len(s.open)-1]
	s.b = append(s.b, '<', '/')
	s.b = append(s.b, name...)
	s.b = append(s.b, '>')
}

// Title writes a title element: what a reader is told of the element it
// stands in, and what is shown when a pointer rests there.
func (s *SVG) Title(t string) { s.Start("title").Text(t) }

// Line breaks the file into lines where that helps a person who reads it.
func (s *SVG) Line() {
	s.finishTag()
	s.b = append(s.b, '\n')
}

// Unfit counts the numbers that could not be written.
func (s *SVG) Unfit() int { return s.unfit }

// Bytes closes whatever is open and gives the document.
func (s *SVG) Bytes() []byte {
	for len(s.open) > 0 {
		s.Close()
	}
	return append(s.b, '\n')
}

func (s *SVG) number(b []byte, v float64) []byte {
	b, ok := appendNumber(b, v)
	if !ok {
		s.unfit++
	}
	return b
}

// appendNumber writes v with at most two decimals. It goes through an
// integer, so that neither minus zero nor an exponent can appear and the
// digits are the same on every processor.
func appendNumber(b []byte, v float64) ([]byte, bool) {
	if math.IsNaN(v) || v > 1e7 || v < -1e7 {
		return append(b, '0'), false
	}
	n := int64(math.Round(v * 100))
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	b = strconv.AppendInt(b, n/100, 10)
	if f := n % 100; f != 0 {
		b = append(b, '.', byte('0'+f/10))
		if f%10 != 0 {
			b = append(b, byte('0'+f%10))
		}
	}
	return b, true
}

// appendEscaped writes text so that it can be nothing but text: markup is
// escaped, and what XML 1.0 does not allow (most control characters, lone
// surrogates, U+FFFE and U+FFFF) or what turns text around becomes U+FFFD.
func appendEscaped(b []byte, t string, attr bool) []byte {
	for i := 0; i < len(t); {
		c := t[i]
		if c < utf8.RuneSelf {
			i++
			switch {
			case c == '<':
				b = append(b, "&lt;"...)
			case c == '>':
				b = append(b, "&gt;"...)
			case c == '&':
				b = append(b, "&amp;"...)
			case c == '"' && attr:
				b = append(b, "&#34;"...)
			case c == '\n' || c == '\t' || c == '\r':
				if attr || c == '\r' {
					b = append(b, ' ')
				} else {
					b = append(b, c)
				}
			case c < ' ' || c == 0x7f:
				b = append(b, "\uFFFD"...)
			default:
				b = append(b, c)
			}
			continue
		}
		r, n := utf8.DecodeRuneInString(t[i:])
		if r == utf8.RuneError && n == 1 || r == 0xFFFE || r == 0xFFFF || r >= 0x80 && r < 0xA0 || turnsText(r) {
			b = append(b, "\uFFFD"...)
		} else {
			b = append(b, t[i:i+n]...)
		}
		i += n
	}
	return b
}

// turnsText says whether a character turns the direction of the text around
// it: such a one could make a record read as what it is not.
func turnsText(r rune) bool { return r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 }

// Path builds the d attribute of a path with absolute coordinates. The zero
// Path is ready for use.
type Path struct {
	b      []byte
	unfit  int
	tenths bool // one decimal: for long lines, where no eye tells more
}

func (p *Path) op(c byte, vs ...float64) *Path {
	p.b = append(p.b, c)
	for i, v := range vs {
		if i > 0 {
			p.b = append(p.b, ' ')
		}
		if p.tenths {
			v = math.Round(v*10) / 10
		}
		var ok bool
		if p.b, ok = appendNumber(p.b, v); !ok {
			p.unfit++
		}
	}
	return p
}

// M moves to a point.
func (p *Path) M(x, y float64) *Path { return p.op('M', x, y) }

// L draws a line to a point.
func (p *Path) L(x, y float64) *Path { return p.op('L', x, y) }

// H draws a horizontal line to x.
func (p *Path) H(x float64) *Path { return p.op('H', x) }

// V draws a vertical line to y.
func (p *Path) V(y float64) *Path { return p.op('V', y) }

// Q draws a quadratic curve by one control point.
func (p *Path) Q(cx, cy, x, y float64) *Path { return p.op('Q', cx, cy, x, y) }

// C draws a cubic curve by two control points.
func (p *Path) C(ax, ay, bx, by, x, y float64) *Path { return p.op('C', ax, ay, bx, by, x, y) }

// A draws an elliptic arc with axes rx and ry, without rotation.
func (p *Path) A(rx, ry float64, large, sweep bool, x, y float64) *Path {
	flag := func(f bool) float64 {
		if f {
			return 1
		}
		return 0
	}
	return p.op('A', rx, ry, 0, flag(large), flag(sweep), x, y)
}

// Z closes the figure.
func (p *Path) Z() *Path { p.b = append(p.b, 'Z'); return p }

// Empty says whether nothing was drawn.
func (p *Path) Empty() bool { return len(p.b) == 0 }
