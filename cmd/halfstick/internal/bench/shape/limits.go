package shape

import (
	"math"

	"halfstick/curves"
)

// What a hand can set. Deadband and end margin leave room for a shape between
// them; all are choices.
const (
	mostDeadband  = 0.3
	mostMargin    = 0.3
	leastExponent = 0.5
	mostExponent  = 5
	leastShare    = curves.MinShare
	mostShare     = curves.MaxShare
	leastGap      = 0.02 // between neighbouring points, in v
	mostPoints    = 9    // with the ends
)

// held keeps v within limits and to whole multiples of a fineness that a
// person can tell apart and type.
func held(v, low, high, fineness float64) float64 {
	if math.IsNaN(v) {
		v = low
	}
	per := math.Round(1 / fineness) // whole, so that 0.021 stays 0.021
	return math.Round(min(max(v, low), high)*per) / per
}

// Finenesses.
const (
	fineU        = 1e-4 // deadband and end margin
	fineExponent = 0.01
	fineShare    = 0.01
	finePoint    = 1e-3
)

// exponentThrough is the exponent of the power shape that passes (v, y).
func exponentThrough(v, y float64) float64 {
	return math.Log(min(max(y, 1e-4), 1-1e-4)) / math.Log(v)
}

// shareThrough is the share of the cubic blend that passes (v, y).
func shareThrough(v, y float64) float64 { return (v - y) / (v - v*v*v) }
