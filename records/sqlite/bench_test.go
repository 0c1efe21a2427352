package sqlite_test

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// Speeds are per well with six strata, on the settings that the program
// ships: one transaction of two thousand wells at a time, written through to
// the disk.

func copies(n int) []*records.Well {
	var wells []*records.Well
	for i := range n {
		wells = append(wells, invented(uint64(i)))
	}
	return wells
}

func insert(b *testing.B, s *sqlite.Store, wells []*records.Well) {
	b.Helper()
	err := s.Update(context.Background(), someone, func(tx records.StoreTx) error {
		for _, w := range wells {
			w := *w
			if err := tx.PutWell(context.Background(), &w, ""); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}

// processorTime is what this process has used, which on a busy machine tells
// more than the clock does.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func perSecond(b *testing.B, n int, start time.Duration) {
	b.Helper()
	b.ReportMetric(float64((processorTime(b)-start).Microseconds())/float64(n)/float64(b.N), "cpu-us/well")
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "wells/s")
}

func BenchmarkInsert(b *testing.B) {
	s, _ := newStore(b)
	wells := copies(2000)
	b.ReportAllocs()
	start := processorTime(b)
	for b.Loop() {
		insert(b, s, wells)
	}
	perSecond(b, len(wells), start)
}

// BenchmarkInsertOneByOne is the naive way: a transaction for each.
func BenchmarkInsertOneByOne(b *testing.B) {
	s, _ := newStore(b)
	wells := copies(100)
	b.ReportAllocs()
	start := processorTime(b)
	for b.Loop() {
		for i := range wells {
			insert(b, s, wells[i:i+1])
		}
	}
	perSecond(b, len(wells), start)
}

// BenchmarkInsertByTriggers is what another program's inserts cost, bare rows
// without records or strata: the triggers decode each position.
func BenchmarkInsertByTriggers(b *testing.B) {
	s, path := newStore(b)
	_ = s
	const n = 1000
	b.ReportAllocs()
	start := processorTime(b)
	for b.Loop() {
		foreign(b, path, `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < `+strconv.Itoa(n)+`)
			INSERT INTO wells(number, geom) SELECT i, `+geom(10.5, 45.25)+` FROM n`)
	}
	perSecond(b, n, start)
}

func BenchmarkUpdateOne(b *testing.B) {
	s, _ := newStore(b)
	insert(b, s, copies(2000))
	w := read(b, s, 1000)
	b.ReportAllocs()
	for b.Loop() {
		w.Remarks += "x"
		if len(w.Remarks) > 100 {
			w.Remarks = ""
		}
		put(b, s, w)
	}
}

// filled is a store of n wells; STORE_BENCH_DIR keeps it for the next run.
func filled(b *testing.B, n int) *sqlite.Store {
	b.Helper()
	dir := os.Getenv("STORE_BENCH_DIR")
	if dir == "" {
		dir = b.TempDir()
	}
	s := open(b, filepath.Join(dir, strconv.Itoa(n)+".sqlite"))
	var have int64
	view(b, s, func(ctx context.Context, v records.StoreView) (err error) {
		have, err = v.CountWells(ctx)
		return err
	})
	for i := int(have); i < n; i += 2000 {
		var wells []*records.Well
		for j := i; j < min(i+2000, n); j++ {
			wells = append(wells, invented(uint64(j)))
		}
		insert(b, s, wells)
	}
	return s
}

// benchWells is how many wells the larger benchmarks read: STORE_BENCH_WELLS,
// else 100,000.
func benchWells() int {
	if n, err := strconv.Atoi(os.Getenv("STORE_BENCH_WELLS")); err == nil {
		return n
	}
	return 100_000
}

func readDigests(b *testing.B, s *sqlite.Store, want int) {
	b.Helper()
	n := 0
	err := s.View(context.Background(), func(v records.StoreView) error {
		return v.Digests(context.Background(), func(ds []records.Digest) error { n += len(ds); return nil })
	})
	if err != nil || n != want {
		b.Fatalf("%d digests (%v)", n, err)
	}
}

func BenchmarkDigestsKept(b *testing.B) {
	n := benchWells()
	s := filled(b, n)
	readDigests(b, s, n)
	b.ReportAllocs()
	start := processorTime(b)
	for b.Loop() {
		readDigests(b, s, n)
	}
	perSecond(b, n, start)
}

// BenchmarkDigestsMade is the naive way: from the records.
func BenchmarkDigestsMade(b *testing.B) {
	n := benchWells()
	s := filled(b, n)
	b.ReportAllocs()
	start := processorTime(b)
	for b.Loop() {
		if err := s.DropPictures(b.Context()); err != nil {
			b.Fatal(err)
		}
		readDigests(b, s, n)
	}
	perSecond(b, n, start)
}

func BenchmarkOpen(b *testing.B) {
	n := benchWells()
	s := filled(b, n)
	readDigests(b, s, n)
	for b.Loop() {
		again, err := sqlite.Open(b.Context(), options(s.Path()))
		if err != nil {
			b.Fatal(err)
		}
		readDigests(b, again, n)
		if err := again.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkViewport(b *testing.B) {
	n := benchWells()
	s := filled(b, n)
	box := records.Bounds{West: -70.53, South: 44.47, East: -70.46, North: 44.54} // about 0.5 % of the area
	seen := 0
	b.ReportAllocs()
	for b.Loop() {
		seen = 0
		err := s.View(b.Context(), func(v records.StoreView) error {
			return v.EachWell(b.Context(), &box, func(*records.Well) error { seen++; return nil })
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(seen), "wells")
}

func BenchmarkFind(b *testing.B) {
	s := filled(b, benchWells())
	b.ReportAllocs()
	for b.Loop() {
		err := s.View(b.Context(), func(v records.StoreView) error {
			ms, err := v.Find(b.Context(), "T-0123", 10)
			if len(ms) == 0 {
				b.Fatal("nothing found")
			}
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}
