package say

import (
	"math"
	"strconv"

	"tallybook/records"
)

// signs are the signs of the currencies that have one of their own; others are
// written with their code.
var signs = map[string]string{"USD": "$", "EUR": "€", "GBP": "£"}

// Sign is the sign of a currency, "" where it is written with its code.
func Sign(currency string) string { return signs[currency] }

// Money writes a sum given in cents to the cent: '$13,100.50', 'NOK 90,000'.
// Whole sums have no cents.
func Money(cents int64, currency string) string {
	sign, ok := signs[currency]
	if !ok && currency != "" {
		sign = currency + "\u00a0"
	}
	minus := ""
	if cents < 0 {
		minus, cents = "−", -cents
	}
	t := US.Figure(float64(cents/100), 0)
	if rest := cents % 100; rest != 0 {
		t += "." + strconv.FormatInt(rest/10, 10) + strconv.FormatInt(rest%10, 10)
	}
	return minus + sign + t
}

// RoughMoney writes an estimated sum given in cents, with no more digits than
// an estimate has: three, and never less than whole units. '–' where it is not
// finite.
func RoughMoney(cents float64, currency string) string {
	if math.IsNaN(cents) || math.IsInf(cents, 0) {
		return "–"
	}
	return Money(records.RoughCents(cents), currency)
}
