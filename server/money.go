package server

import (
	"tallybook/records/scout"
	"tallybook/server/say"
)

// money writes a sum to the cent.
func money(c scout.Cents, currency string) string { return say.Money(int64(c), currency) }

// atMost writes a sum that is not gone beyond, rounded up: to the cent it would
// look like a promise.
func atMost(c scout.Cents, currency string) string {
	step := scout.Cents(1)
	for step*1000 < c { // three figures, as estimates have
		step *= 10
	}
	return money((c+step-1)/step*step, currency)
}
