package importer

import (
	"bytes"
	"io"

	"tallybook/records"
)

// maxMarkupBytes is the longest tag with the text behind it, or comment, that
// is read of a part of a workbook: a decoder of XML holds each as a whole, and
// a cell holds 32,767 letters at most (common practice, no source).
const maxMarkupBytes = 8 << 20

// markupGuard ends reading where a piece of XML would fill the memory of the
// decoder. In well-formed XML the sign < stands at the beginning of a tag and
// otherwise only in comments, CDATA and processing instructions, which are
// followed to their ends.
type markupGuard struct {
	r     io.Reader
	name  string // of the file, for the error
	since int    // bytes since the piece began
	open  []byte // < and what followed it, up to the four bytes of <!--
	inner string // what ends a piece that may hold <; "" in any other
	last  [2]byte
}

func (g *markupGuard) Read(p []byte) (int, error) {
	n, err := g.r.Read(p)
	g.scan(p[:n])
	if g.since > maxMarkupBytes {
		return 0, records.Errorf(records.TooLarge, "%s holds a piece of more than %d bytes, which no cell needs; save the sheet as CSV", g.name, maxMarkupBytes)
	}
	return n, err
}

func (g *markupGuard) scan(b []byte) {
	for len(b) > 0 {
		switch {
		case g.inner != "":
			b = g.inside(b)
		case len(g.open) > 0:
			b = g.begun(b)
		default:
			k := bytes.IndexByte(b, '<')
			if k < 0 {
				g.since += len(b)
				return
			}
			b, g.since, g.open = b[k+1:], 1, append(g.open[:0], '<')
		}
	}
}

// begun looks at the bytes behind a < until it is known what begins there.
func (g *markupGuard) begun(b []byte) []byte {
	g.open = append(g.open, b[0])
	g.since++
	switch s := string(g.open); s {
	case "<!", "<!-":
		return b[1:]
	case "<!--":
		g.inner = "-->"
	case "<![":
		g.inner = "]]>"
	case "<?":
		g.inner = "?>"
	}
	g.open, g.last = g.open[:0], [2]byte{}
	return b[1:]
}

// inside follows a piece to what ends it.
func (g *markupGuard) inside(b []byte) []byte {
	for i, c := range b {
		g.since++
		if c == '>' && (g.inner == "-->" && g.last == [2]byte{'-', '-'} || g.inner == "]]>" && g.last == [2]byte{']', ']'} || g.inner == "?>" && g.last[1] == '?') {
			g.inner, g.since = "", 0
			return b[i+1:]
		}
		g.last[0], g.last[1] = g.last[1], c
	}
	return nil
}
