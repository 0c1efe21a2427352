package importer

import (
	"bufio"
	"bytes"
	"container/heap"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"os"
	"slices"
	"sort"

	"tallybook/records"
)

// spill holds the rows of the tables that go with the wells, so that those of
// one key can be found: sorted by a digest of the key, in memory as long as
// they are few and in a temporary file otherwise. What is held in memory is
// bounded whatever the number of rows, but for one index entry in each
// spillStride bytes and one bit a row.
type spill struct {
	dir  string
	seed maphash.Seed
	most int // bytes held before they go to the file

	buf   []byte
	order []spillAt
	runs  []spillRun
	file  *os.File // of the runs

	sorted io.ReaderAt // all rows in order, once finished
	size   int64
	final  *os.File
	index  []spillMark
	count  int64
	used   []uint64 // a bit for each row, by its place in the order
}

// spillAt is where a row stands in the buffer.
type spillAt struct {
	hash     uint64
	seq      int64
	from, to int
}

type spillRun struct{ from, to int64 }

// spillMark is a place in the sorted rows from which they can be read.
type spillMark struct {
	hash  uint64
	at    int64
	place int64
}

const (
	spillBytes  = 48 << 20
	spillStride = 8 << 10
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

func newSpill(dir string, most int) *spill {
	return &spill{dir: dir, seed: maphash.MakeSeed(), most: most}
}

// add puts a row aside.
func (s *spill) add(r *spillRow) error {
	r.seq = s.count
	s.count++
	from := len(s.buf)
	s.buf = r.append(s.buf)
	s.order = append(s.order, spillAt{maphash.String(s.seed, r.key), r.seq, from, len(s.buf)})
	if len(s.buf)+len(s.order)*32 < s.most {
		return nil
	}
	return s.flush()
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

func (s *spill) sortBuffer() {
	slices.SortFunc(s.order, func(a, b spillAt) int {
		switch {
		case a.hash != b.hash && a.hash < b.hash, a.hash == b.hash && a.seq < b.seq:
			return -1
		}
		return 1
	})
}

// writeSorted writes the buffer's rows in order, each as digest, length and
// bytes.
func (s *spill) writeSorted(w *bufio.Writer) error {
	s.sortBuffer()
	var head [16]byte
	for _, at := range s.order {
		n := binary.PutUvarint(head[8:], uint64(at.to-at.from))
		binary.BigEndian.PutUint64(head[:], at.hash)
		if _, err := w.Write(head[:8+min(n, 8)]); err != nil {
			return err
		}
		if _, err := w.Write(s.buf[at.from:at.to]); err != nil {
			return err
		}
	}
	s.buf, s.order = s.buf[:0], s.order[:0]
	return w.Flush()
}

// flush writes the buffer to the file as a run of its own.
func (s *spill) flush() error {
	if s.file == nil {
		f, err := s.temporary()
		if err != nil {
			return err
		}
		s.file = f
	}
	from := int64(0)
	if n := len(s.runs); n > 0 {
		from = s.runs[n-1].to
	}
	c := &counter{w: s.file}
	if err := s.writeSorted(bufio.NewWriterSize(c, 256<<10)); err != nil {
		return s.failed(err)
	}
	s.runs = append(s.runs, spillRun{from, from + c.n})
	return nil
}

// temporary makes a file that has no name any more, so that nothing of it is
// left whatever happens.
func (s *spill) temporary() (*os.File, error) {
	f, err := os.CreateTemp(s.dir, "tallybook-intake-*")
	if err != nil {
		return nil, s.failed(err)
	}
	if err := os.Remove(f.Name()); err != nil {
		return nil, errors.Join(s.failed(err), f.Close())
	}
	return f, nil
}

func (s *spill) failed(err error) error {
	return records.WrapError(records.Internal, err, "the rows that go with the wells cannot be put aside in a temporary file: %v", err)
}

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += int64(n)
	return n, err
}

// finish brings all rows in order.
func (s *spill) finish() error {
	if len(s.runs) == 0 {
		var b bytes.Buffer
		if err := s.writeSorted(bufio.NewWriterSize(&b, 64<<10)); err != nil {
			return err
		}
		s.buf, s.order = nil, nil
		s.sorted, s.size = bytes.NewReader(b.Bytes()), int64(b.Len())
		return s.makeIndex()
	}
	if err := s.flush(); err != nil {
		return err
	}
	s.buf, s.order = nil, nil
	if err := s.merge(); err != nil {
		return err
	}
	return s.makeIndex()
}

// merge writes all runs to one file in order.
func (s *spill) merge() error {
	out, err := s.temporary()
	if err != nil {
		return err
	}
	s.final = out
	c := &counter{w: out}
	w := bufio.NewWriterSize(c, 256<<10)
	var h spillHeap
	for i, r := range s.runs {
		in := &spillStream{r: bufio.NewReaderSize(io.NewSectionReader(s.file, r.from, r.to-r.from), 64<<10), run: i}
		if err := in.next(); err == nil {
			h = append(h, in)
		} else if !errors.Is(err, io.EOF) {
			return s.failed(err)
		}
	}
	heap.Init(&h)
	var head [16]byte
	for len(h) > 0 {
		in := h[0]
		binary.BigEndian.PutUint64(head[:], in.hash)
		n := binary.PutUvarint(head[8:], uint64(len(in.body)))
		if _, err := w.Write(head[:8+n]); err != nil {
			return s.failed(err)
		}
		if _, err := w.Write(in.body); err != nil {
			return s.failed(err)
		}
		switch err := in.next(); {
		case err == nil:
			heap.Fix(&h, 0)
		case errors.Is(err, io.EOF):
			heap.Pop(&h)
		default:
			return s.failed(err)
		}
	}
	if err := w.Flush(); err != nil {
		return s.failed(err)
	}
	s.sorted, s.size = out, c.n
	err = s.file.Close()
	s.file = nil
	return err
}

// makeIndex notes from where rows can be read.
func (s *spill) makeIndex() error {
	in := &spillStream{r: bufio.NewReaderSize(io.NewSectionReader(s.sorted, 0, s.size), 64<<10)}
	last := int64(-spillStride)
	for place := int64(0); ; place++ {
		at := in.at
		err := in.next()
		if errors.Is(err, io.EOF) {
			if place != s.count {
				return errSpill
			}
			s.used = make([]uint64, s.count/64+1)
			return nil
		}
		if err != nil {
			return s.failed(err)
		}
		if at-last >= spillStride {
			s.index = append(s.index, spillMark{in.hash, at, place})
			last = at
		}
	}
}

// find gives the rows of a key in the order in which they were put aside, at
// most the given number of bytes of them, and marks them as used.
func (s *spill) find(key string, most int) (rows []spillRow, whole bool, err error) {
	hash := maphash.String(s.seed, key)
	// The last mark whose digest is smaller: rows of one digest may stand on
	// both sides of a mark.
	i := sort.Search(len(s.index), func(i int) bool { return s.index[i].hash >= hash }) - 1
	from := spillMark{}
	if i >= 0 {
		from = s.index[i]
	}
	in := &spillStream{r: bufio.NewReaderSize(io.NewSectionReader(s.sorted, from.at, s.size-from.at), spillStride)}
	whole = true
	held := 0
	for place := from.place; ; place++ {
		err := in.next()
		if errors.Is(err, io.EOF) || err == nil && in.hash > hash {
			return rows, whole, nil
		}
		if err != nil {
			return nil, false, s.failed(err)
		}
		if in.hash < hash {
			continue
		}
		var r spillRow
		if err := r.read(in.body); err != nil {
			return nil, false, err
		}
		if r.key != key {
			continue
		}
		if held += len(in.body); held > most {
			whole = false
			continue // they stay unused, and are told of one by one
		}
		r.place = place
		s.used[place/64] |= 1 << (place % 64)
		rows = append(rows, r)
	}
}

// unused calls fn with the rows that no key has found, in the order in which
// they were put aside where they are not too many to be sorted.
func (s *spill) unused() (next func() (*spillRow, error), err error) {
	type left struct{ seq, at int64 }
	var all []left
	in := &spillStream{r: bufio.NewReaderSize(io.NewSectionReader(s.sorted, 0, s.size), 64<<10)}
	for place := int64(0); place < s.count; place++ {
		at := in.at
		if err := in.next(); err != nil {
			return nil, s.failed(err)
		}
		if s.used[place/64]&(1<<(place%64)) == 0 {
			var r spillRow
			if err := r.read(in.body); err != nil {
				return nil, err
			}
			all = append(all, left{r.seq, at})
		}
	}
	slices.SortFunc(all, func(a, b left) int { return int(a.seq - b.seq) })
	i := 0
	return func() (*spillRow, error) {
		if i == len(all) {
			return nil, io.EOF
		}
		one := &spillStream{r: bufio.NewReaderSize(io.NewSectionReader(s.sorted, all[i].at, s.size-all[i].at), 4096)}
		i++
		if err := one.next(); err != nil {
			return nil, s.failed(err)
		}
		r := &spillRow{}
		return r, r.read(one.body)
	}, nil
}

// Close gives the files back.
func (s *spill) Close() error {
	var err error
	for _, f := range []*os.File{s.file, s.final} {
		if f != nil {
			err = errors.Join(err, f.Close())
		}
	}
	s.file, s.final = nil, nil
	return err
}

// spillStream reads rows one after the other.
type spillStream struct {
	r    *bufio.Reader
	run  int
	at   int64 // of the next row
	hash uint64
	body []byte
}

func (s *spillStream) next() error {
	var head [8]byte
	if _, err := io.ReadFull(s.r, head[:]); err != nil {
		if errors.Is(err, io.EOF) {
			return io.EOF
		}
		return fmt.Errorf("%w: %w", errSpill, err)
	}
	s.hash = binary.BigEndian.Uint64(head[:])
	n, err := binary.ReadUvarint(s.r)
	if err != nil || n > 1<<31 {
		return errSpill
	}
	s.body = slices.Grow(s.body[:0], int(n))[:n]
	if _, err := io.ReadFull(s.r, s.body); err != nil {
		return errSpill
	}
	var length [binary.MaxVarintLen64]byte
	s.at += 8 + int64(binary.PutUvarint(length[:], n)) + int64(n)
	return nil
}

// spillHeap orders streams by the row that each stands at. Runs were written
// one after the other, so that the earlier one goes first among equals.
type spillHeap []*spillStream

func (h spillHeap) Len() int { return len(h) }
func (h spillHeap) Less(i, j int) bool {
	return h[i].hash < h[j].hash || h[i].hash == h[j].hash && h[i].run < h[j].run
}
func (h spillHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *spillHeap) Push(x any)   { *h = append(*h, x.(*spillStream)) } //nolint:forcetypeassert // ours alone
func (h *spillHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}
