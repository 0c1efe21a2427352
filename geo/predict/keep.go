package predict

import (
	"encoding/json"
	"fmt"
	"math"
)

// kept is a distribution as it is written down: a forecast that is kept must
// come back to the last digit, to be scored when the well is drilled.
type kept struct {
	Values  []float64 `json:"values"`            // strictly ascending
	Shares  []float64 `json:"shares"`            // of weight, up to and including each value
	Halves  []float64 `json:"halves"`            // half of the largest single weight at each value
	Above   float64   `json:"above,omitempty"`   // share known only to lie above AboveOf
	AboveOf float64   `json:"aboveOf,omitempty"` //
	Below   float64   `json:"below,omitempty"`   // share known only to lie below BelowOf
	BelowOf float64   `json:"belowOf,omitempty"` //
	Low     float64   `json:"rankLow,omitempty"` // ranks of the 80 % range
	High    float64   `json:"rankHigh,omitempty"`
}

// MarshalJSON writes the whole distribution, ranks of its range included, so that
// UnmarshalJSON gives back the same numbers exactly.
func (d Distribution) MarshalJSON() ([]byte, error) {
	return json.Marshal(kept{
		d.values, d.cum, d.half, d.upperShare, d.upperFrom, d.lowerShare, d.lowerTo, d.rankLow, d.rankHigh,
	})
}

// UnmarshalJSON reads what MarshalJSON wrote. It returns an error, and leaves d
// as it was, for anything that is no distribution.
func (d *Distribution) UnmarshalJSON(text []byte) error {
	var k kept
	if err := json.Unmarshal(text, &k); err != nil {
		return fmt.Errorf("predict: kept distribution: %w", err)
	}
	if err := k.check(); err != nil {
		return fmt.Errorf("predict: kept distribution: %w", err)
	}
	if n := len(k.Shares); n > 0 {
		k.Shares[n-1] = 1 - k.Above // what rounding left would weigh on to infinity
	}
	*d = Distribution{
		values: k.Values, cum: k.Shares, half: k.Halves,
		upperShare: k.Above, upperFrom: k.AboveOf, lowerShare: k.Below, lowerTo: k.BelowOf,
		rankLow: k.Low, rankHigh: k.High,
	}
	return nil
}

// keptSlack is what rounding may have left between shares that sum to one.
const keptSlack = 1e-9

func (k *kept) check() error {
	n := len(k.Values)
	if len(k.Shares) != n || len(k.Halves) != n {
		return fmt.Errorf("%d values, %d shares, %d halves", n, len(k.Shares), len(k.Halves))
	}
	value, share := math.Inf(-1), 0.0
	for i, v := range k.Values {
		if v < 0 || v <= value {
			return fmt.Errorf("value %g follows %g", v, value)
		}
		own := k.Shares[i] - share
		if own < -keptSlack {
			return fmt.Errorf("share %g follows %g", k.Shares[i], share)
		}
		if k.Halves[i] < 0 || k.Halves[i] > own/2+keptSlack {
			return fmt.Errorf("half a weight of %g in a share of %g", k.Halves[i], own)
		}
		value, share = v, k.Shares[i]
	}
	for _, p := range []float64{k.Above, k.Below, k.Low, k.High} {
		if p < 0 || p > 1 {
			return fmt.Errorf("share %g", p)
		}
	}
	switch {
	case k.AboveOf < 0 || k.BelowOf < 0:
		return fmt.Errorf("limits %g and %g", k.AboveOf, k.BelowOf)
	case k.Above > 0 && k.AboveOf < value:
		return fmt.Errorf("limit %g lies under the value %g", k.AboveOf, value)
	case k.Low > k.High:
		return fmt.Errorf("ranks %g and %g", k.Low, k.High)
	case (n > 0 || k.Above > 0) && math.Abs(share+k.Above-1) > keptSlack:
		return fmt.Errorf("shares sum to %g", share+k.Above)
	}
	return nil
}
