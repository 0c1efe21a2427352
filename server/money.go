package server

import (
	"tallybook/records/scout"
	"tallybook/server/say"
)

// money writes a sum to the cent.
func money(c scout.Cents, currency string) string { return say.Money(int64(c), currency) }
