package sqlite_test

import (
	"context"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func TestComparedConforms(t *testing.T) { recordstest.ConformCompared(t, fresh) }

// BenchmarkCompared reads what is compared of every record, from whole records.
func BenchmarkCompared(b *testing.B) {
	n := benchWells()
	s := filled(b, n)
	start := processorTime(b)
	for b.Loop() {
		got := 0
		err := s.View(context.Background(), func(v records.StoreView) error {
			return v.Compared(context.Background(), func(page []records.Compared) error {
				got += len(page)
				return nil
			})
		})
		if err != nil || got < n {
			b.Fatal(got, err)
		}
	}
	perSecond(b, n, start)
}
