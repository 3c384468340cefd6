package stats

import (
	"math"
	"math/cmplx"
)

// Smoother chooses the weights of a first-order filter, see [Smooth].
type Smoother interface {
	// Weights returns the weight 0 < α ≤ 1 of every value of x, taken at
	// rising seconds; the first is 1. Equal seconds give 0.
	Weights(seconds, x []float64) []float64
	// Tau is the time constant at rest, s.
	Tau() float64
}

// Smooth returns out_i = out_{i−1} + α_i (x_i − out_{i−1}), started at x_0.
// For given weights it is linear in x. Slow motion comes [FirstOrderLag] late.
func Smooth(x, alpha []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		if i == 0 {
			out[0] = v
			continue
		}
		out[i] = out[i-1] + alpha[i]*(v-out[i-1])
	}
	return out
}

// FirstOrder is the filter of one time constant, s:
// α = T/(T+τ), T being the time since the value before (backward Euler).
type FirstOrder float64

// Tau implements [Smoother].
func (f FirstOrder) Tau() float64 { return float64(f) }

// Weights implements [Smoother].
func (f FirstOrder) Weights(seconds, x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = 1
		if i > 0 {
			out[i] = smoothingWeight(seconds[i]-seconds[i-1], float64(f))
		}
	}
	return out
}

// OneEuro is the filter whose cutoff, MinCutoff + Beta·|speed|, rises with the
// speed of the motion (unit of x per second, taken from the last smoothed value
// and itself smoothed at SpeedCutoff); cutoffs in hertz. Taken so, the speed of
// a steady motion is seen (τ+T)/T times too large, T being the sample interval
// and τ the time constant in force.
//
// Source: Casiez, Roussel & Vogel, 1 € Filter, CHI 2012.
type OneEuro struct{ MinCutoff, Beta, SpeedCutoff float64 }

// Tau implements [Smoother].
func (f OneEuro) Tau() float64 { return tauOf(f.MinCutoff) }

// Weights implements [Smoother].
func (f OneEuro) Weights(seconds, x []float64) []float64 {
	out := make([]float64, len(x))
	var last, speed float64
	for i, v := range x {
		if i == 0 {
			out[0], last = 1, v
			continue
		}
		if t := seconds[i] - seconds[i-1]; t > 0 {
			speed += smoothingWeight(t, tauOf(f.SpeedCutoff)) * ((v-last)/t - speed)
			out[i] = smoothingWeight(t, tauOf(f.MinCutoff+f.Beta*math.Abs(speed)))
		}
		last += out[i] * (v - last)
	}
	return out
}

func smoothingWeight(t, tau float64) float64 {
	if t <= 0 {
		return 0
	}
	return t / (t + tau)
}

// tauOf is the time constant, s, of a cutoff in hertz.
func tauOf(cutoff float64) float64 { return 1 / (2 * math.Pi * cutoff) }

// FirstOrderLag returns the delay (1−α)/α, in samples, of slow motion through
// a first-order filter of constant weight: τ/T for [FirstOrder].
func FirstOrderLag(alpha float64) float64 { return (1 - alpha) / alpha }

// FirstOrderPhase returns by how much, in radians, a first-order filter of time
// constant tau run every t seconds (0 for a continuous one) delays the angular
// frequency omega, radians per second: −arg H of H(z) = α/(1 − (1−α) z⁻¹).
func FirstOrderPhase(tau, t, omega float64) float64 {
	if t <= 0 {
		return math.Atan(omega * tau)
	}
	keep := complex(1-smoothingWeight(t, tau), 0)
	return cmplx.Phase(1 - keep*cmplx.Exp(complex(0, -omega*t)))
}
