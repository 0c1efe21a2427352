package plates_test

import (
	"os"
	"strconv"
	"testing"

	"tallybook/records/plates"
)

func sizeOf(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

// BenchmarkMatch matches PLATES plates (2,000) against RECORDS records
// (20,000).
func BenchmarkMatch(b *testing.B) {
	v := invent(1, sizeOf("RECORDS", 20_000), sizeOf("PLATES", 2000))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := plates.Match(b.Context(), v.plates, v.records, plates.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDuplicates looks for records of one well among RECORDS (20,000).
func BenchmarkDuplicates(b *testing.B) {
	v := invent(1, sizeOf("RECORDS", 20_000), 10)
	source, _ := withTwins(v, 2, 0.02)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := plates.Duplicates(b.Context(), source, plates.Options{Owners: true}); err != nil {
			b.Fatal(err)
		}
	}
}
