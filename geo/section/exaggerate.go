package section

import "math"

// Exaggeration is how many times as high as long a section is drawn: the
// largest of a short list of round numbers (1, 2, 3, 5, 10, 20, 30, 50 … and
// 0.5, 0.2 … below) at which a drawing widthPx wide of a line lengthM long
// stays within mostPx for heightM from its highest to its lowest. It never
// returns 0. Lengths in metres must be positive.
func Exaggeration(lengthM, widthPx, heightM, mostPx float64) float64 {
	most := mostPx / heightM * lengthM / widthPx
	if !(most > 0) || math.IsInf(most, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(most)))
	for _, f := range [...]float64{5, 3, 2} {
		if f == 3 && p < 1 { // a third is no round part
			continue
		}
		if f*p <= most*(1+1e-9) {
			return round(f * p)
		}
	}
	return round(p)
}

// round takes the last digits off that powers of ten bring.
func round(v float64) float64 {
	if v >= 1 {
		return math.Round(v)
	}
	return math.Round(v*1e6) / 1e6
}
