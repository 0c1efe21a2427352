package surface

import "math"

// Levels returns round values strictly between lo and hi, ascending, about n
// of them: the multiples of a step of 1, 2 or 5 times a power of ten, the
// step being the least that gives no more than n. They are levels for contour
// lines, so a level that would only touch the range is left out. To have round
// feet the caller converts the range first and the levels back.
//
// The result is empty when n < 1, or when the range is empty, NaN, infinite or
// too narrow for its steps to be told apart.
func Levels(lo, hi float64, n int) []float64 {
	if n < 1 || !(lo < hi) || !finite(lo) || !finite(hi) || !finite(hi-lo) || hi-lo < 1e-290 {
		return nil
	}
	for exponent := int(math.Floor(math.Log10((hi - lo) / float64(n+1)))); ; exponent++ {
		for _, digit := range []float64{1, 2, 5} {
			step := decimal(digit, exponent)
			first, last := math.Floor(lo/step), math.Ceil(hi/step)
			if max(math.Abs(first), math.Abs(last)) > 1<<50 {
				return nil
			}
			if last-first > float64(n)+2 {
				continue
			}
			var levels []float64
			for i := first; i <= last; i++ {
				if v := decimal(i*digit, exponent); lo < v && v < hi {
					levels = append(levels, v+0) // never minus zero
				}
			}
			if len(levels) <= n {
				return levels
			}
		}
	}
}

// decimal returns a whole number times ten to the exponent. Dividing by a
// power of ten gives the double nearest to a decimal fraction, which
// multiplying by an inexact tenth would not.
func decimal(whole float64, exponent int) float64 {
	if exponent < 0 {
		return whole / math.Pow10(-exponent)
	}
	return whole * math.Pow10(exponent)
}
