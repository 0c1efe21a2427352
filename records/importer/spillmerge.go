package importer

import (
	"bufio"
	"container/heap"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
)

type spillRun struct{ from, to int64 }

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

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += int64(n)
	return n, err
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

func (h *spillHeap) Push(x any) { *h = append(*h, x.(*spillStream)) } //nolint:forcetypeassert // ours alone

func (h *spillHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}
