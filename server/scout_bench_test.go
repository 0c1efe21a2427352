package server_test

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"runtime"
	"slices"
	"testing"
	"time"

	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/sqlite"
	"tallybook/server"
)

// benchDesk opens the database that TALLYBOOK_BENCH_DB names (a million wells
// are not made here), else the invented township.
func benchDesk(b *testing.B) *desk.Desk {
	b.Helper()
	path := os.Getenv("TALLYBOOK_BENCH_DB")
	create := path == ""
	if create {
		path = b.TempDir() + "/bench.db"
	}
	vocabulary := lithology.Default()
	store, err := sqlite.Open(b.Context(), sqlite.Options{Path: path, Create: create, Reader: vocabulary})
	if err != nil {
		b.Fatal(err)
	}
	d, err := desk.Open(b.Context(), desk.Options{Store: store, Vocabulary: vocabulary})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := d.Close(); err != nil {
			b.Error(err)
		}
	})
	if create {
		if err := d.AddAll(b.Context(), desk.LocalPerson(), demo.Make(1).Wells, nil, nil); err != nil {
			b.Fatal(err)
		}
		if err := d.SetInventedOffice(b.Context(), desk.LocalPerson()); err != nil {
			b.Fatal(err)
		}
	}
	return d
}

// BenchmarkScout answers for places drawn over the whole set, the whole page
// each: its 95th percentile, and what the heap holds after.
func BenchmarkScout(b *testing.B) {
	d := benchDesk(b)
	s, err := server.New(server.Options{Desk: d})
	if err != nil {
		b.Fatal(err)
	}
	h := s.Handler()
	in, ok := d.Picture().Extent()
	if !ok {
		b.Fatal("there are no wells")
	}
	r := rand.New(rand.NewPCG(1, 1))
	ask := func() time.Duration {
		lon, lat := in.West+(in.East-in.West)*r.Float64(), in.South+(in.North-in.South)*r.Float64()
		began := time.Now()
		if code, page := answerOf(h, fmt.Sprintf("/scout?at=%.6f,%.6f", lat, lon)); code != http.StatusOK {
			b.Fatal(code, page)
		}
		return time.Since(began)
	}
	ask() // calibrates
	var took []time.Duration
	b.ReportAllocs()
	for b.Loop() {
		took = append(took, ask())
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
	b.ReportMetric(float64(d.Picture().Len()), "wells")
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.HeapAlloc)/(1<<20), "heap-MB")
}
