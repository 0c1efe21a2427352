package sqlite_test

import (
	"fmt"
	"os"
	"testing"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// BenchmarkWords searches the database of TALLYBOOK_BENCH_DB, taking in its
// words first.
func BenchmarkWords(b *testing.B) {
	path := os.Getenv("TALLYBOOK_BENCH_DB")
	if path == "" {
		b.Skip("TALLYBOOK_BENCH_DB names no database")
	}
	s, err := sqlite.Open(b.Context(), options(path))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	b.Run("take in 1000", func(b *testing.B) {
		for b.Loop() {
			if err := s.Update(b.Context(), someone, func(tx records.StoreTx) error {
				_, err := tx.IndexWords(b.Context(), 1000)
				return err
			}); err != nil {
				b.Fatal(err)
			}
		}
	})
	for n := 1; n > 0; {
		if err := s.Update(b.Context(), someone, func(tx records.StoreTx) (err error) { n, err = tx.IndexWords(b.Context(), 2000); return err }); err != nil {
			b.Fatal(err)
		}
	}
	for _, ask := range []records.WordsAsked{
		{Words: []string{"granite*"}}, {Words: []string{"clay", "boulder*"}}, {Words: []string{"gray granite"}}, {Words: []string{"nowhere"}},
		{Words: []string{"granite*"}, FromYear: 2000, ToYear: 2001}, {Words: []string{"granite*"}, Plate: true},
	} {
		ask.Limit, ask.Private = 20, true
		b.Run(fmt.Sprintf("%v %d %v", ask.Words, ask.FromYear, ask.Plate), func(b *testing.B) {
			for b.Loop() {
				if err := s.View(b.Context(), func(v records.StoreView) error { _, err := v.FindWords(b.Context(), ask); return err }); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
