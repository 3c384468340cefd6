package stats

import "math"

// The crossover model of a person who flies by hand is the loop L(s) =
// ωc e^(−sτ)/s: near the crossover ωc, radians per second, hand and aircraft
// together behave so, whatever the aircraft, with an effective delay τ, s.
//
// Source: McRuer & Krendel, Mathematical Models of Human Pilot Behavior,
// AGARDograph 188 (1974), from memory; the step's series by the method of steps.

// PhaseMargin returns π/2 − ωc τ, radians; none is left at 0.
func PhaseMargin(crossover, delay float64) float64 { return math.Pi/2 - crossover*delay }

// StepOvershoot returns by how much of a sudden error the crossover model's
// correction goes too far: 0 up to ωc τ = 1/e, +Inf where no phase margin is left.
//
// The error is corrected faster while it lasts, y′(t) = ωc(1 − y(t−τ)), so the
// peak comes τ after y first reaches 1.
func StepOvershoot(crossover, delay float64) float64 {
	switch x := crossover * delay; {
	case x <= 1/math.E:
		return 0
	case x >= math.Pi/2:
		return math.Inf(1)
	}
	// y rises until τ after it first reaches 1, so steps of τ do not miss that.
	// Just above 1/e it creeps up to 1 and overshoots by nothing.
	low, high := delay, 2*delay
	for crossoverStep(crossover, delay, high) < 1 {
		low, high = high, high+delay
		if crossover*low > 40 {
			return 0
		}
	}
	for range 100 {
		middle := (low + high) / 2
		if crossoverStep(crossover, delay, middle) < 1 {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Max(0, crossoverStep(crossover, delay, high+delay)-1)
}

// crossoverStep returns the response at time t to a unit step,
// y(t) = 1 − Σ_k (−ωc (t−kτ))^k / k! over the k with kτ ≤ t.
func crossoverStep(crossover, delay, t float64) float64 {
	sum, factorial := 0.0, 1.0
	for k := 0; float64(k)*delay <= t; k++ {
		if k > 0 {
			factorial *= float64(k)
		}
		sum += math.Pow(-crossover*(t-float64(k)*delay), float64(k)) / factorial
	}
	return 1 - sum
}
