package desk

import (
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
)

// QuoteOf makes a quote of an expected cost, in cents: its middle and the ends
// of the range that 8 in 10 lie between, in round sums. Where that range has no
// upper end, ceiling takes its place, the most that it can cost; 0 where there
// is no such limit. A sum that has no upper end is left out, which is told.
func QuoteOf(cost *predict.Distribution, ceiling float64, currency string) (q records.Quote, openMiddle, openHigh bool) {
	round := func(cents float64) int {
		if math.IsNaN(cents) || math.IsInf(cents, 0) || cents <= 0 {
			return 0
		}
		return int(records.RoughCents(cents))
	}
	r, middle := cost.Range80(), cost.Median()
	q = records.Quote{LowCents: round(r.Low), MidCents: round(middle), HighCents: round(r.High), Currency: currency}
	openMiddle, openHigh = math.IsInf(middle, 1), r.AtLeastHigh || math.IsInf(r.High, 1)
	if openHigh {
		q.HighCents = round(ceiling)
	}
	if q.HighCents < max(q.MidCents, q.LowCents) {
		q.HighCents = 0
	}
	return q, openMiddle, openHigh
}
