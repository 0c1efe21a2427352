package desk_test

import (
	"fmt"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
	"tallybook/records/review"
)

// BenchmarkReview works each part anew on 20 invented townships, 18,000 wells;
// materials and intervals read every log as a whole. wells/s is what to compare.
func BenchmarkReview(b *testing.B) {
	var wells []*records.Well
	for seed := range uint64(20) {
		wells = append(wells, demo.Make(seed).Wells...)
	}
	for i, w := range wells {
		w.UID = fmt.Sprintf("00000000-0000-7000-8000-%012d", i)
	}
	d := reviewDesk(b, wells)
	n := 0
	for _, p := range review.Parts() {
		b.Run(p.Name, func(b *testing.B) {
			for b.Loop() {
				n++
				from := 1800 + float64(n)*1e-3 // takes all, and is asked for the first time
				s := reviewSettings(func(s *review.Settings) { s.DrilledFrom = &from })
				if a, err := d.ReviewPart(b.Context(), desk.LocalPerson(), s, p.Name, time.Hour); err != nil || a == nil || a.TooFew != "" {
					b.Fatal(err, a)
				}
			}
			b.ReportMetric(float64(len(wells))*float64(b.N)/b.Elapsed().Seconds(), "wells/s")
		})
	}
}
