package server

import (
	"net/http"
	"strconv"
	"syscall"
	"testing"
	"time"
)

// processorTime is what this process has used of all processors: on a busy
// machine the only time that tells anything.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

const benchMap = "/map.svg?w=1440&h=735&lon=-38.75&lat=44.25&mpp=17"

// BenchmarkMap draws the map of 2,000 wells with a surface: with nothing kept,
// after a pan by a third of the window, and from the cache.
func BenchmarkMap(b *testing.B) {
	w := world(b, county)
	ask := func(b *testing.B, url string) {
		if a := w.get(b, url); a.Code != http.StatusOK {
			b.Fatal(a.Code, a.Body.String())
		}
	}
	ask(b, benchMap)
	b.Run("cold", func(b *testing.B) {
		b.ReportAllocs()
		before := processorTime(b)
		for b.Loop() {
			w.server.cache, w.server.tiles = drawings{}, groundTiles{}
			ask(b, benchMap)
		}
		b.ReportMetric(float64((processorTime(b)-before).Milliseconds())/float64(b.N), "cpu-ms/op")
		b.ReportMetric(float64(len(w.get(b, benchMap).Body.Bytes())), "bytes")
	})
	b.Run("panned", func(b *testing.B) {
		b.ReportAllocs()
		i := 0
		for b.Loop() {
			if i++; i%40 == 1 {
				b.StopTimer()
				w.server.cache, w.server.tiles = drawings{}, groundTiles{}
				ask(b, benchMap)
				b.StartTimer()
			}
			ask(b, "/map.svg?w=1440&h=735&lat=44.25&mpp=17&lon="+strconv.FormatFloat(-38.75+0.002*float64(i%40+1), 'f', 6, 64))
		}
	})
	b.Run("ground kept", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			w.server.cache = drawings{}
			ask(b, benchMap)
		}
	})
	b.Run("kept", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			ask(b, benchMap)
		}
	})
}
