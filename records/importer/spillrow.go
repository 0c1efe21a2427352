package importer

import (
	"encoding/binary"
	"errors"
)

// spillRow is a row that was put aside.
type spillRow struct {
	part  uint16 // which table
	seq   int64  // its place among all rows put aside
	line  int64
	key   string
	raw   []byte
	cells []string
	fault string
	mend  string
	place int64 // in the sorted order
}

// append writes the row: its length, and its parts each behind its length.
func (r *spillRow) append(b []byte) []byte {
	b = binary.AppendUvarint(b, uint64(r.part))
	b = binary.AppendUvarint(b, uint64(r.seq))
	b = binary.AppendUvarint(b, uint64(r.line))
	text := func(t string) {
		b = binary.AppendUvarint(b, uint64(len(t)))
		b = append(b, t...)
	}
	text(r.key)
	text(string(r.raw))
	text(r.fault)
	text(r.mend)
	b = binary.AppendUvarint(b, uint64(len(r.cells)))
	for _, c := range r.cells {
		text(c)
	}
	return b
}

var errSpill = errors.New("importer: the temporary file holds something else than was written")

// read reads what append wrote.
func (r *spillRow) read(b []byte) error {
	number := func() uint64 {
		v, n := binary.Uvarint(b)
		if n <= 0 {
			b = nil
			return 0
		}
		b = b[n:]
		return v
	}
	text := func() string {
		n := number()
		if n > uint64(len(b)) {
			b = nil
			return ""
		}
		t := string(b[:n])
		b = b[n:]
		return t
	}
	r.part, r.seq, r.line = uint16(number()), int64(number()), int64(number())
	r.key, r.raw, r.fault, r.mend = text(), []byte(text()), text(), text()
	n := number()
	if n > maxColumns*2 || b == nil && n > 0 {
		return errSpill
	}
	if n == 0 {
		return nil
	}
	r.cells = make([]string, n)
	for i := range r.cells {
		r.cells[i] = text()
	}
	return nil
}
