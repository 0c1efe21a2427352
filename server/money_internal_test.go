package server

import (
	"testing"

	"tallybook/records/scout"
)

func TestAtMostIsRoundedUp(t *testing.T) {
	for c, want := range map[scout.Cents]string{2226690: "$22,300", 100: "$1", 101: "$1.01", 9_999: "$100", 1_000_000: "$10,000", 1_000_001: "$10,100"} {
		if got := atMost(c, "USD"); got != want {
			t.Errorf("%d: %s, want %s", c, got, want)
		}
	}
}
