package predict

import "math"

// decaySteps is in how many steps of equal ratio the table halves.
const decaySteps = 64

// decay gives exp(-x) for 0 <= x <= 36 to 1e-14 of itself, in half the time of
// the general function: 500 of them are in each estimate. It holds 2^(-k/64).
type decay [decaySteps]float64

func newDecay() (t decay) {
	for k := range t {
		t[k] = math.Exp2(-float64(k) / decaySteps)
	}
	return t
}

// of splits x into whole steps, looked up and halved, and a rest of at most half
// a step, whose exponential is its series up to the fifth power: the sixth is
// below 1e-16.
func (t *decay) of(x float64) float64 {
	const perStep = math.Ln2 / decaySteps
	n := int(x*(1/perStep) + 0.5)
	r := float64(float64(n)*perStep) - x
	r2 := float64(r * r)
	low := 1 + r + float64(r2*(0.5+float64(r*(1.0/6))))
	high := float64(r2 * r2 * (1.0/24 + float64(r*(1.0/120))))
	halves := math.Float64frombits(uint64(1023-n/decaySteps) << 52)
	return halves * t[uint(n)%decaySteps] * (low + high)
}
