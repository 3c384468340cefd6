package rig

import (
	"fmt"

	"halfstick/input"
)

// DeviceSpec describes one simulated controller.
type DeviceSpec struct {
	ID   string // as in a recording's header
	Name string // as the device calls itself
	// ReportHz is how often the device sends a report, above 0.
	ReportHz float64
	Axes     []AxisSpec
}

// AxisSpec describes one simulated axis: mechanics, sensor and converter.
//
// Mechanical positions x run from −1 to 1 half-throw (two-sided) or from 0 to
// 1 throw (one-sided), stop to stop. Forces are newtons at the grip, so
// stiffness is N per unit of x, damping N·s and mass N·s², both per unit of x.
type AxisSpec struct {
	Label string
	Kind  input.Kind

	Spring   Spring
	Friction float64 // Coulomb friction, N
	// FrictionSpread is the share (standard deviation over mean) by which the
	// friction differs from one movement to the next.
	FrictionSpread float64
	Damping        float64 // N·s per unit of x
	Mass           float64 // N·s² per unit of x, above 0
	// Play is the width of the free movement between grip and sensor, in x.
	Play float64

	Bits   int    // converter's width, 1…16
	Travel Travel // the share of the converter's range that the stops span

	// White and Wander are standard deviations in converter steps: White is
	// independent from report to report, Wander is a first-order
	// autoregression whose successive values correlate by WanderCorrelation.
	White, Wander       float64
	WanderCorrelation   float64 // 0 ≤ ρ < 1, from one report to the next
	DriftStepsPerMinute float64
	SpikesPerMinute     float64
	SpikeSteps          float64 // typical height of a spike
	Worn                Worn
}

// Spring pulls an axis towards Centre; the two sides may differ.
type Spring struct {
	Low, High float64 // N per unit of x, below and above Centre
	// Centre is where the spring pulls to, in x. A return spring with preload
	// (a brake pedal) has its centre beyond the stop.
	Centre float64
}

// Travel is the part of the converter's range, 0…1, between the two stops.
type Travel struct{ Low, High float64 }

// Worn is a stretch of positions x in which the sensor is noisier. Times is
// the factor on White and Wander; a zero Worn wears nothing.
type Worn struct{ From, To, Times float64 }

// stops returns the axis's mechanical stops in x.
func (a AxisSpec) stops() (low, high float64) {
	if a.Kind == input.OneSided {
		return 0, 1
	}
	return -1, 1
}

// maxCode is the converter's highest code; the lowest is 0.
func (a AxisSpec) maxCode() int { return 1<<a.Bits - 1 }

// code returns the noise-free reading at position x, in steps, not yet rounded.
func (a AxisSpec) code(x float64) float64 {
	low, high := a.stops()
	share := (x - low) / (high - low)
	return (a.Travel.Low + share*(a.Travel.High-a.Travel.Low)) * float64(a.maxCode())
}

func (a AxisSpec) check() error {
	switch {
	case a.Label == "":
		return fmt.Errorf("an axis has no label; give it one")
	case a.Kind != input.TwoSided && a.Kind != input.OneSided:
		return fmt.Errorf("axis %s: kind %q; use %q or %q", a.Label, a.Kind, input.TwoSided, input.OneSided)
	case a.Bits < 1 || a.Bits > 16:
		return fmt.Errorf("axis %s: %d bits; use 1 to 16", a.Label, a.Bits)
	case !(a.Mass > 0):
		return fmt.Errorf("axis %s: mass %v; use a mass above 0", a.Label, a.Mass)
	case a.Spring.Low < 0 || a.Spring.High < 0 || a.Friction < 0 || a.Damping < 0 || a.Play < 0:
		return fmt.Errorf("axis %s: stiffness, friction, damping and play must not be negative", a.Label)
	case a.WanderCorrelation < 0 || a.WanderCorrelation >= 1:
		return fmt.Errorf("axis %s: wander correlation %v; use 0 to below 1", a.Label, a.WanderCorrelation)
	case !(a.Travel.Low >= 0 && a.Travel.Low < a.Travel.High && a.Travel.High <= 1):
		return fmt.Errorf("axis %s: travel %v to %v; use 0 ≤ low < high ≤ 1", a.Label, a.Travel.Low, a.Travel.High)
	}
	return nil
}

func checkSpecs(specs []DeviceSpec) error {
	seen := map[string]bool{}
	for _, d := range specs {
		if d.ID == "" || !(d.ReportHz > 0) || len(d.Axes) == 0 {
			return fmt.Errorf("device %q: give it an id, a report rate above 0 and at least one axis", d.ID)
		}
		for _, a := range d.Axes {
			if err := a.check(); err != nil {
				return fmt.Errorf("device %s: %w", d.ID, err)
			}
			if seen[a.Label] {
				return fmt.Errorf("device %s: label %q is used twice; labels are unique within a rig", d.ID, a.Label)
			}
			seen[a.Label] = true
		}
	}
	return nil
}
