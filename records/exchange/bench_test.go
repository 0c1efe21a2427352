package exchange_test

import (
	"encoding/json"
	"fmt"
	"io"
	"testing"

	"tallybook/records"
	"tallybook/records/exchange"
)

func benchWells(b *testing.B) []*records.Well {
	var out []*records.Well
	for i := range 1000 {
		w := &records.Well{UID: fmt.Sprintf("00000000-0000-5000-8000-%012d", i)}
		text := fmt.Sprintf(`{"number":"W-%04d","total_depth_m":%d.50,"yield_lps":0.10,"strata":[{"top_m":0,"bottom_m":12,"description":"brown clay, some water"},{"top_m":12,"bottom_m":60,"description":"schist, hard"}]}`, i, 30+i)
		if faults := w.ParseProperties([]byte(text)); len(faults) > 0 {
			b.Fatal(faults)
		}
		w.Place = records.Place{Located: true, Lon: -118.25, Lat: 59.5, LonText: "-118.25", LatText: "59.50"}
		out = append(out, w)
	}
	return out
}

func BenchmarkGeoJSON(b *testing.B) {
	wells := benchWells(b)
	b.ReportAllocs()
	for b.Loop() {
		g := exchange.NewGeoJSON(io.Discard, exchange.Options{})
		for _, w := range wells {
			if err := g.Write(w); err != nil {
				b.Fatal(err)
			}
		}
		if err := g.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(wells))*float64(b.N)/b.Elapsed().Seconds(), "wells/s")
}

// BenchmarkEncodingJSON is the naive way: the same features as trees, by
// encoding/json.
func BenchmarkEncodingJSON(b *testing.B) {
	var trees []any
	for _, w := range benchWells(b) {
		var v any
		if err := json.Unmarshal(exchange.AppendFeature(nil, w, exchange.Options{}), &v); err != nil {
			b.Fatal(err)
		}
		trees = append(trees, v)
	}
	b.ReportAllocs()
	for b.Loop() {
		e := json.NewEncoder(io.Discard)
		for _, v := range trees {
			if err := e.Encode(v); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(len(trees))*float64(b.N)/b.Elapsed().Seconds(), "wells/s")
}
