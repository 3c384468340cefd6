package rig

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"halfstick/input"
)

// DeviceSpec describes one simulated controller.
type DeviceSpec struct {
	ID   string // as in a recording's header
	Name string // as the device calls itself
	// ReportHz is how often the device sends a report, above 0.
	ReportHz float64
	Axes     []AxisSpec

	// Stalls are times in which the device sends nothing though it is there;
	// in Dropouts it is gone. Neither happens where PerMinute is 0.
	Stalls, Dropouts Outages
	Leaks            []Leak
}

// Leak is crosstalk between two sensors of a device: a whole travel of axis
// From moves the reading of axis To by Share of To's travel.
type Leak struct {
	From, To string // labels
	Share    float64
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

	// Stuck is a stretch of positions in which the reading stands still, as of
	// a bridged piece of track: the rest of the track shares out the range, so
	// the reading does not jump at the ends of the stretch.
	Stuck Stretch
	// Jump is a step in the reading at one position.
	Jump Jump
	// Lost is the share of the reading that is missing on either side of the
	// middle of a two-sided axis: 0 a healthy side, near 1 a dead one.
	Lost Lost
}

// Stretch is a stretch of positions x; a zero Stretch is none.
type Stretch struct{ From, To float64 }

// Jump adds Steps converter steps to the reading at and above the position At.
type Jump struct{ At, Steps float64 }

// Lost is a share, 0 to below 1, for each side.
type Lost struct{ Low, High float64 }

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

// span is the noise-free reading's way from stop to stop, in steps.
func (a AxisSpec) span() float64 {
	low, high := a.stops()
	return a.code(high) - a.code(low)
}

// code returns the noise-free reading at position x, in steps, not yet rounded.
func (a AxisSpec) code(x float64) float64 {
	low, high := a.stops()
	share := (a.along(x) - low) / (high - low)
	code := (a.Travel.Low + share*(a.Travel.High-a.Travel.Low)) * float64(a.maxCode())
	if a.Jump.Steps != 0 && x >= a.Jump.At {
		code += a.Jump.Steps
	}
	return code
}

// along is where on a sound sensor the reading at x would be.
func (a AxisSpec) along(x float64) float64 {
	if a.Stuck != (Stretch{}) {
		low, high := a.stops()
		gone := math.Min(math.Max(x-a.Stuck.From, 0), a.Stuck.To-a.Stuck.From)
		x = low + (x-low-gone)*(high-low)/(high-low-(a.Stuck.To-a.Stuck.From))
	}
	switch {
	case a.Kind == input.OneSided:
		return x
	case x < 0:
		return x * (1 - a.Lost.Low)
	}
	return x * (1 - a.Lost.High)
}

func (a AxisSpec) check() error {
	switch {
	case a.Label == "":
		return errors.New("an axis has no label; give it one")
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
	case a.Stuck != (Stretch{}) && !a.inside(a.Stuck):
		return fmt.Errorf("axis %s: stuck from %v to %v; use a stretch within the throw and shorter than it", a.Label, a.Stuck.From, a.Stuck.To)
	case !(a.Lost.Low >= 0 && a.Lost.Low < 1 && a.Lost.High >= 0 && a.Lost.High < 1):
		return fmt.Errorf("axis %s: lost shares %v and %v; use 0 to below 1", a.Label, a.Lost.Low, a.Lost.High)
	case a.Kind == input.OneSided && a.Lost != (Lost{}):
		return fmt.Errorf("axis %s: a one-sided axis has no sides to lose; shorten its travel", a.Label)
	}
	return nil
}

// inside tells whether a stretch rises and leaves some of the throw.
func (a AxisSpec) inside(s Stretch) bool {
	low, high := a.stops()
	return s.From >= low && s.From < s.To && s.To <= high && s.To-s.From < high-low
}

// check tells what is wrong with what a device does as a whole.
func (d DeviceSpec) check() error {
	for _, o := range []Outages{d.Stalls, d.Dropouts} {
		if o.PerMinute < 0 || o.PerMinute > 0 && !(o.Seconds > 0) {
			return fmt.Errorf("device %s: %v outages a minute of %v s; use a rate of 0 or more and a length above 0", d.ID, o.PerMinute, o.Seconds)
		}
	}
	for _, l := range d.Leaks {
		if d.axis(l.From) < 0 || d.axis(l.To) < 0 || l.From == l.To {
			return fmt.Errorf("device %s: a leak from %q to %q; name two different axes of the device", d.ID, l.From, l.To)
		}
	}
	return nil
}

// axis is the place of the axis with a label, -1 if there is none.
func (d DeviceSpec) axis(label string) int {
	return slices.IndexFunc(d.Axes, func(a AxisSpec) bool { return a.Label == label })
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
		if err := d.check(); err != nil {
			return err
		}
	}
	return nil
}
