package importer

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
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

func (s *spill) failed(err error) error {
	return records.WrapError(records.Internal, err, "the rows that go with the wells cannot be put aside in a temporary file: %v", err)
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
