package figuring_test

import (
	"testing"

	"tallybook/records/figuring"
)

func BenchmarkCarryOneDay(b *testing.B) {
	p, err := figuring.Shapes()[1].Of(1500)
	if err != nil {
		b.Fatal(err)
	}
	s := figuring.Supply{Yield: gpm(1), Hole: gal(150), Pump: gpm(8), Tank: 400}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := figuring.Carry(s, p); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSmallestTank(b *testing.B) {
	p, err := figuring.Shapes()[2].Of(1500)
	if err != nil {
		b.Fatal(err)
	}
	for name, slackening := range map[string]bool{"whole yield": false, "slackening": true} {
		b.Run(name, func(b *testing.B) {
			s := figuring.Supply{Yield: gpm(0.4), Hole: gal(150), Pump: gpm(8), Slackening: slackening}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := figuring.SmallestTank(s, p, 10); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
