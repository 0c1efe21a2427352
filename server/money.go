package server

import (
	"math"
	"strconv"

	"tallybook/records/scout"
	"tallybook/server/say"
)

// signs are the signs of the currencies that have one of their own; others are
// written with their code.
var signs = map[string]string{"USD": "$", "EUR": "€", "GBP": "£"}

// money writes a sum to the cent: '$13,100.50', 'NOK 90,000'. Whole sums have
// no cents.
func money(c scout.Cents, currency string) string {
	sign, ok := signs[currency]
	if !ok && currency != "" {
		sign = currency + "\u00a0"
	}
	minus := ""
	if c < 0 {
		minus, c = "−", -c
	}
	t := say.US.Figure(float64(c/100), 0)
	if rest := int(c % 100); rest != 0 {
		t += "." + strconv.Itoa(rest/10) + strconv.Itoa(rest%10)
	}
	return minus + sign + t
}

// roughMoney writes an estimated sum, given in cents, with no more digits than
// an estimate has: three, and never less than whole units.
func roughMoney(cents float64, currency string) string {
	if math.IsNaN(cents) || math.IsInf(cents, 0) {
		return "–"
	}
	units := math.Abs(cents) / 100
	step := 1.0
	if units >= 1000 {
		step = math.Pow(10, math.Floor(math.Log10(units))-2)
	}
	return money(scout.Cents(math.Copysign(math.Round(units/step)*step*100, cents)), currency)
}
