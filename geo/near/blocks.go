package near

import (
	"fmt"
	"math"
)

// Blocks assigns each well to one of the given number of folds by the square
// block of sizeM metres it stands in: block (floor(x/sizeM), floor(y/sizeM)).
// A block's fold is a hash of its two numbers and the seed, so it depends
// neither on the other wells nor on their order; folds are therefore even
// only on average. Leaving out whole blocks scores an estimate where no well
// stands near, which leaving out single sites cannot.
//
// Errors: lengths that differ, a coordinate that is not finite, a size that is
// not positive and finite, fewer than two folds.
func Blocks(x, y []float64, sizeM float64, folds int, seed uint64) ([]int32, error) {
	if len(x) != len(y) {
		return nil, fmt.Errorf("near: %d x coordinates but %d y coordinates", len(x), len(y))
	}
	if err := checkFinite(x, y); err != nil {
		return nil, err
	}
	if !(sizeM > 0) || math.IsInf(sizeM, 1) {
		return nil, fmt.Errorf("near: the side of a block must be a positive distance, not %g m", sizeM)
	}
	if folds < 2 || folds > math.MaxInt32 {
		return nil, fmt.Errorf("near: %d folds cannot leave one out", folds)
	}
	fold := make([]int32, len(x))
	for i := range x {
		// The bits of the whole numbers, so that no coordinate can overflow.
		// Adding zero turns minus zero into zero.
		h := mix(seed ^ 0x51_7c_c1_b7_27_22_0a_95)
		h = mix(h ^ math.Float64bits(math.Floor(x[i]/sizeM)+0))
		h = mix(h ^ math.Float64bits(math.Floor(y[i]/sizeM)+0))
		fold[i] = int32(h % uint64(folds))
	}
	return fold, nil
}

// mix is one step of the SplitMix64 generator (G. L. Steele, D. Lea and
// C. H. Flood, 'Fast splittable pseudorandom number generators', OOPSLA 2014;
// constants from memory): every bit of the input changes about half of the
// output's.
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
