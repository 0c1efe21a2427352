package draw_test

import (
	"testing"

	"tallybook/server/draw"
)

func BenchmarkColumn(b *testing.B) {
	d := inventedColumns()["schist"]
	n := 0
	b.ReportAllocs()
	for b.Loop() {
		n = len(draw.Column(d, draw.Options{Prefix: "b"}))
	}
	b.ReportMetric(float64(n), "B/svg")
}

func BenchmarkColumnOf(b *testing.B) {
	w, picks, v := invented()["schist"], picksOf("schist"), testVocab()
	b.ReportAllocs()
	for b.Loop() {
		draw.ColumnOf(w, picks, v)
	}
}

func BenchmarkSideBySideOfEight(b *testing.B) {
	row := inventedRow(8)
	n := 0
	b.ReportAllocs()
	for b.Loop() {
		n = len(draw.SideBySide(row, draw.Options{Prefix: "b"}))
	}
	b.ReportMetric(float64(n), "B/svg")
}
