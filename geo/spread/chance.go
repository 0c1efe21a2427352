package spread

import "math"

// CountRange is where the number that is to be expected lies 95 times in a
// hundred when count came by chance: the exact range of a Poisson number
// (Garwood, Biometrika 28, 1936; from memory).
func CountRange(count int) (low, high float64) {
	k := float64(max(count, 0))
	if count > 0 {
		low = gammaQuantile(k, 0.025)
	}
	return low, gammaQuantile(k+1, 0.975)
}

// gammaQuantile is the x at which the regularised lower incomplete gamma
// function of shape a is p, by halving.
func gammaQuantile(a, p float64) float64 {
	low, high := 0.0, a+10*math.Sqrt(a)+20
	for range 200 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if lowerGamma(a, mid) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// lowerGamma is the regularised lower incomplete gamma function P(a, x), a and
// x above zero: by its power series under a + 1, by its continued fraction in
// Lentz's form beyond (both are standard; from memory).
func lowerGamma(a, x float64) float64 {
	if x <= 0 {
		return 0
	}
	lg, _ := math.Lgamma(a)
	front := math.Exp(a*math.Log(x) - x - lg)
	if x < a+1 {
		term, sum := 1/a, 1/a
		for n := 1.0; n < 1e6; n++ {
			term *= x / (a + n)
			sum += term
			if term < sum*1e-17 {
				break
			}
		}
		return front * sum
	}
	const tiny = 1e-300
	b := x + 1 - a
	c, d := 1/tiny, 1/b
	h := d
	for n := 1.0; n < 1e6; n++ {
		an := -n * (n - a)
		b += 2
		if d = an*d + b; math.Abs(d) < tiny {
			d = tiny
		}
		if c = b + an/c; math.Abs(c) < tiny {
			c = tiny
		}
		d = 1 / d
		delta := d * c
		h *= delta
		if math.Abs(delta-1) < 1e-16 {
			break
		}
	}
	return 1 - front*h
}
