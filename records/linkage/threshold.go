package linkage

import "slices"

// Expected is what taking every pair from a probability on would bring.
type Expected struct {
	Links  int     // pairs taken
	False  float64 // how many of them are wrong: the sum of 1 - p
	Missed float64 // how many right ones are left out, among the pairs given
}

// Rate is the share of the pairs taken that is wrong.
func (e Expected) Rate() float64 {
	if e.Links == 0 {
		return 0
	}
	return e.False / float64(e.Links)
}

// At tells what taking the pairs with at least a probability would bring.
func At(probabilities []float64, threshold float64) Expected {
	var e Expected
	for _, p := range probabilities {
		if p >= threshold {
			e.Links++
			e.False += 1 - p
		} else {
			e.Missed += p
		}
	}
	return e
}

// Threshold is the lowest probability, not below least, from which on pairs
// can be taken with at most the given share of them expected to be wrong. Where
// even the surest pair is not sure enough it is above 1: none is taken.
func Threshold(probabilities []float64, wrong, least float64) float64 {
	ps := slices.Clone(probabilities)
	slices.SortFunc(ps, func(a, b float64) int {
		switch {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	threshold, sum := 2.0, 0.0
	for i, p := range ps {
		if p < least {
			break
		}
		sum += 1 - p
		if sum <= wrong*float64(i+1) && (i+1 == len(ps) || ps[i+1] < p) {
			threshold = p
		}
	}
	if threshold <= 1 && threshold == lowestFrom(ps, least) {
		return least // all that are sure enough may be taken
	}
	return threshold
}

// lowestFrom is the lowest of descending numbers that is not below least.
func lowestFrom(ps []float64, least float64) float64 {
	lowest := 2.0
	for _, p := range ps {
		if p < least {
			break
		}
		lowest = p
	}
	return lowest
}
