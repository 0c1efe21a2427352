package importer

import (
	"bytes"
	"errors"
	"io"
)

// window is the piece of a source that is looked at: it moves forward only,
// and knows on which line and byte it stands.
type window struct {
	r    io.Reader
	buf  []byte
	pos  int // the next byte to be taken is buf[pos]
	base int64
	err  error // why there is no more, io.EOF at the end

	line      int64 // of buf[pos], from 1
	lineStart int64 // the byte at which that line begins
}

const windowSize = 256 << 10

func newWindow(r io.Reader) *window {
	return &window{r: r, buf: make([]byte, 0, windowSize), line: 1}
}

// offset is the place of the next byte in the source.
func (w *window) offset() int64 { return w.base + int64(w.pos) }

// column is the place of the next byte in its line, from 1.
func (w *window) column() int64 { return w.offset() - w.lineStart + 1 }

// rest is what has been read and not taken.
func (w *window) rest() []byte { return w.buf[w.pos:] }

// more reads on, so that rest grows, and says whether it did. The bytes of an
// earlier rest may move.
func (w *window) more() bool {
	if w.err != nil {
		return false
	}
	if w.pos > 0 && (w.pos == len(w.buf) || len(w.buf) == cap(w.buf)) {
		n := copy(w.buf, w.buf[w.pos:])
		w.base += int64(w.pos)
		w.buf, w.pos = w.buf[:n], 0
	}
	if len(w.buf) == cap(w.buf) {
		grown := make([]byte, len(w.buf), 2*cap(w.buf))
		copy(grown, w.buf)
		w.buf = grown
	}
	for range 100 {
		n, err := w.r.Read(w.buf[len(w.buf):cap(w.buf)])
		w.buf = w.buf[:len(w.buf)+n]
		if err != nil {
			w.err = err
		}
		if n > 0 {
			return true
		}
		if err != nil {
			return false
		}
	}
	w.err = io.ErrNoProgress
	return false
}

// double reads on until rest has doubled, or the source ends, and says whether
// it grew: for those who look at all of rest again after each reading.
func (w *window) double() bool {
	before := len(w.rest())
	for len(w.rest()) < 2*before || before == 0 {
		if !w.more() {
			break
		}
		if before == 0 {
			return true
		}
	}
	return len(w.rest()) > before
}

// failed is the error of the source itself, nil at its ordinary end.
func (w *window) failed() error {
	if w.err == nil || errors.Is(w.err, io.EOF) {
		return nil
	}
	return w.err
}

// take moves past the next n bytes.
func (w *window) take(n int) {
	b := w.buf[w.pos : w.pos+n]
	if k := bytes.Count(b, newline); k > 0 {
		w.line += int64(k)
		w.lineStart = w.offset() + int64(bytes.LastIndexByte(b, '\n')) + 1
	}
	w.pos += n
}

var newline = []byte{'\n'}

// space moves past white space and gives the next byte without taking it;
// ok is false at the end of the source.
func (w *window) space() (next byte, ok bool) {
	for {
		b := w.rest()
		i := 0
		for i < len(b) && (b[i] == ' ' || b[i] == '\n' || b[i] == '\r' || b[i] == '\t') {
			i++
		}
		w.take(i)
		if i < len(b) {
			return b[i], true
		}
		if !w.more() {
			return 0, false
		}
	}
}
