package predict

import "slices"

// Scaled returns the distribution of factor times the quantity, with the same
// ranks: as when cents are turned into whole units. factor must be finite and
// above zero; else Scaled panics.
func (d Distribution) Scaled(factor float64) Distribution {
	if !(factor > 0) || factor*0 != 0 {
		panic("predict: a distribution is scaled by no finite factor above zero")
	}
	d.values = slices.Clone(d.values)
	for i := range d.values {
		d.values[i] *= factor
	}
	d.upperFrom *= factor
	d.lowerTo *= factor
	return d
}
