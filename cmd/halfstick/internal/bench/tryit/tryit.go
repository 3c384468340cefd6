// Package tryit moves a simple mark by a command, so that a hand feels a
// response before any simulator is started. It is no model of any aircraft.
//
// A two-sided axis commands a rate, as a stick or a rudder does: the rate
// follows the command with a first-order lag, rate' = (full·y − rate)/τ, and
// the mark moves at that rate. A one-sided axis commands a place, as a lever
// or a brake does, which the mark follows with the same lag.
package tryit

import (
	"math"

	"halfstick/curves"
)

const (
	// Lag is τ in seconds, of the order of an airliner's roll (choice, no source).
	Lag = 0.3
	// FullRate is how much of the way from the middle to an end full command
	// moves the mark in a second (choice, no source).
	FullRate = 0.8
)

// Mark is a mark between −1 and 1, or 0 and 1 on a one-sided axis.
type Mark struct {
	Place float64
	Rate  float64 // per second; on a one-sided axis always 0
}

// Step moves the mark on by seconds under the command y: exactly, for a command
// that stays the same meanwhile. It stops at the ends.
func (m *Mark) Step(kind curves.Kind, y, seconds float64) {
	left := math.Exp(-seconds / Lag) // of the difference from the final value
	if kind == curves.OneSided {
		m.Place = y + (m.Place-y)*left
		return
	}
	final := FullRate * y
	m.Place += final*seconds + (m.Rate-final)*Lag*(1-left)
	m.Rate = final + (m.Rate-final)*left
	if m.Place < -1 || m.Place > 1 {
		m.Place, m.Rate = math.Copysign(1, m.Place), 0
	}
}
