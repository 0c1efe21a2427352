package section

import "math"

// Exaggeration is how many times as high as long a section is drawn: the
// largest of a short list of round numbers (1, 1.5, 2, 3, 4, 5, 6, 8, 10, 15 … and
// 0.5, 0.2, 0.1 … below) at which a drawing widthPx wide of a line lengthM long
// stays within mostPx for heightM from its highest to its lowest. It never
// returns 0. Lengths in metres must be positive.
func Exaggeration(lengthM, widthPx, heightM, mostPx float64) float64 {
	most := mostPx / heightM * lengthM / widthPx
	if !(most > 0) || math.IsInf(most, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(most)))
	steps := []float64{8, 6, 5, 4, 3, 2, 1.5}
	if p < 1 { // parts that are round the other way about: half, fifth, tenth
		steps = []float64{5, 2}
	}
	for _, f := range steps {
		if f*p <= most*(1+1e-9) {
			return round(f * p)
		}
	}
	return round(p)
}

// round takes the last digits off that powers of ten bring.
func round(v float64) float64 {
	return math.Round(v*1e6) / 1e6
}
