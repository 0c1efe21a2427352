package say_test

import (
	"math"
	"testing"

	"tallybook/server/say"
)

func TestMoney(t *testing.T) {
	for _, c := range []struct {
		cents    int64
		currency string
		want     string
	}{
		{0, "USD", "$0"}, {1310050, "USD", "$13,100.50"}, {5, "EUR", "€0.05"}, {-120000, "GBP", "−£1,200"}, {9000000, "NOK", "NOK\u00a090,000"}, {100, "", "1"},
	} {
		if got := say.Money(c.cents, c.currency); got != c.want {
			t.Errorf("%d %s: %q, want %q", c.cents, c.currency, got, c.want)
		}
	}
	for _, c := range []struct {
		cents float64
		want  string
	}{
		{1234567, "$12,300"}, {99949, "$999"}, {1850050, "$18,500"}, {math.Inf(1), "–"}, {math.NaN(), "–"}, {12345678901, "$123,000,000"},
	} {
		if got := say.RoughMoney(c.cents, "USD"); got != c.want {
			t.Errorf("%g: %q, want %q", c.cents, got, c.want)
		}
	}
}
