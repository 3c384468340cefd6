package stats

import "math"

// SmoothingWeight returns the weight α of each new value in a first-order
// filter of the given cutoff, both rates in hertz: T/(T+τ) with T = 1/rate and
// τ = 1/(2π·cutoff) (backward Euler).
func SmoothingWeight(rate, cutoff float64) float64 {
	return 1 / (1 + rate/(2*math.Pi*cutoff))
}

// FirstOrder returns x smoothed by y += α(x − y), started at x[0]; 0 < α ≤ 1,
// see [SmoothingWeight]. White noise keeps [FirstOrderNoise] of its variance,
// slow motion comes [FirstOrderLag] samples late.
func FirstOrder(x []float64, alpha float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		if i == 0 {
			out[0] = v
			continue
		}
		out[i] = out[i-1] + alpha*(v-out[i-1])
	}
	return out
}

// FirstOrderNoise returns the share α/(2−α) of white noise's variance that a
// first-order filter lets through.
func FirstOrderNoise(alpha float64) float64 { return alpha / (2 - alpha) }

// FirstOrderLag returns the delay (1−α)/α, in samples, of slow motion through
// a first-order filter.
func FirstOrderLag(alpha float64) float64 { return (1 - alpha) / alpha }

// OneEuro returns x, sampled at rate per second, smoothed by a first-order
// filter whose cutoff, minCutoff + beta·|speed|, rises with the speed of the
// motion (unit of x per second, taken from the last smoothed value and itself
// smoothed at speedCutoff); cutoffs in hertz.
//
// Source: Casiez, Roussel & Vogel, 1 € Filter, CHI 2012.
func OneEuro(x []float64, rate, minCutoff, beta, speedCutoff float64) []float64 {
	out := make([]float64, len(x))
	speed := 0.0
	for i, v := range x {
		if i == 0 {
			out[0] = v
			continue
		}
		speed += SmoothingWeight(rate, speedCutoff) * ((v-out[i-1])*rate - speed)
		alpha := SmoothingWeight(rate, minCutoff+beta*math.Abs(speed))
		out[i] = out[i-1] + alpha*(v-out[i-1])
	}
	return out
}
