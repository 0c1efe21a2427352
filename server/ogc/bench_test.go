package ogc_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/server/ogc"
)

// BenchmarkPage2000 asks for a page of 2,000 wells over loopback HTTP by two
// connections: as it is kept, as it is kept and packed, made anew each time;
// and, as the naive way, the same features as trees, by encoding/json.
func BenchmarkPage2000(b *testing.B) {
	w := bareWorld(b)
	r := rand.New(rand.NewPCG(3, 5))
	var wells []*records.Well
	for i := range 2500 {
		x := recordstest.Plain()
		x.UID, x.Number = "", fmt.Sprintf("M-%07d", i)
		x.Place.Lon, x.Place.Lat = -72+r.Float64(), 44+r.Float64()
		wells = append(wells, x)
	}
	if err := w.desk.AddAll(context.Background(), desk.LocalPerson(), wells, nil, nil); err != nil {
		b.Fatal(err)
	}
	const path = "/collections/wells/items?limit=2000"
	page := w.get(path, 200).body
	var same struct {
		Type     string           `json:"type"`
		Features []map[string]any `json:"features"`
	}
	if err := json.Unmarshal(page, &same); err != nil {
		b.Fatal(err)
	}
	naive := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		body, err := json.Marshal(same)
		if err != nil {
			b.Error(err)
		}
		w.Header().Set("Content-Type", "application/geo+json")
		_, _ = w.Write(body) // whoever asked may be gone
	}))
	defer naive.Close()
	var n atomic.Int64
	whole := w.http.URL + ogc.Root + path
	for _, way := range []struct {
		name, encoding string
		href           func() string
	}{
		{"kept", "", func() string { return whole }},
		{"kept-packed", "gzip", func() string { return whole }},
		{"made", "", func() string { return fmt.Sprintf("%s&after=0.%d", whole, n.Add(1)) }}, // the same features by another address
		{"encoding-json", "", func() string { return naive.URL }},
	} {
		b.Run(way.name, func(b *testing.B) { load(b, way.href, way.encoding) })
	}
}

// load asks by two connections, reading every byte.
func load(b *testing.B, href func() string, encoding string) {
	b.ReportAllocs()
	b.SetParallelism(1)
	var sent atomic.Int64
	b.RunParallel(func(p *testing.PB) {
		client := http.Client{Transport: &http.Transport{DisableCompression: true, ReadBufferSize: 256 << 10,
			DialContext: (&net.Dialer{}).DialContext}}
		room := make([]byte, 1<<20)
		for p.Next() {
			r, err := http.NewRequest("GET", href(), nil)
			if err != nil {
				b.Error(err)
				return
			}
			if encoding != "" {
				r.Header.Set("Accept-Encoding", encoding)
			}
			resp, err := client.Do(r)
			if err != nil {
				b.Error(err)
				return
			}
			size, err := io.CopyBuffer(struct{ io.Writer }{io.Discard}, resp.Body, room)
			if err != nil || resp.StatusCode != 200 || size < 1000 {
				b.Errorf("%d, %d bytes: %v", resp.StatusCode, size, err)
				return
			}
			resp.Body.Close()
			sent.Add(size)
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "requests/s")
	b.ReportMetric(float64(sent.Load())/float64(b.N), "B/request")
}
