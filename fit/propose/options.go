package propose

import (
	"fmt"

	"halfstick/curves"
)

// The choices of Options.Sides.
const (
	SidesTogether = "together"
	SidesApart    = "apart"
)

// Options are a person's choices. The zero value is not valid; see Defaults.
type Options struct {
	Normal       float64         // normal deflection, share of half-throw, 0.05 to 1
	Shape        string          // power, blend, points, straight; "" lets the tool choose
	MaxSlope     float64         // largest slope dy/du, 1 to 20
	MinSlope     float64         // smallest slope dy/du at centre, 0 to 1
	FalseMotions float64         // accepted per minute, above 0
	KeepHolds    bool            // keep long holds at large deflection in the demand
	Sides        string          // together or apart: one shape for both sides, or one each; "" is together
	FlownWith    *curves.Profile // overrides the recordings' own flown_with
}

// Defaults returns the choices that hold unless a person makes others: normal
// deflection 50 % (common practice for airliners, no source), largest slope 3,
// smallest slope 0.2, one false motion in ten minutes.
func Defaults() Options {
	return Options{Normal: 0.5, MaxSlope: 3, MinSlope: 0.2, FalseMotions: 0.1}
}

// Check reports the first choice that cannot be met.
func (o Options) Check() error {
	switch {
	case !(o.Normal >= 0.05 && o.Normal <= 1):
		return fmt.Errorf("normal deflection is %g; give a share of the half-throw from 0.05 to 1 (5%% to 100%%)", o.Normal)
	case !(o.MaxSlope >= 1 && o.MaxSlope <= 20):
		return fmt.Errorf("largest slope is %g; give a number from 1 (straight) to 20", o.MaxSlope)
	case !(o.MinSlope >= 0 && o.MinSlope <= 1):
		return fmt.Errorf("smallest slope is %g; give a number from 0 to 1", o.MinSlope)
	case !(o.FalseMotions > 0 && o.FalseMotions <= 1000):
		return fmt.Errorf("false motions are %g per minute; give a rate above 0, up to 1000: noise always leaves a deadband sometime", o.FalseMotions)
	}
	if o.Sides != "" && o.Sides != SidesTogether && o.Sides != SidesApart {
		return fmt.Errorf("sides %q is not known; choose together or apart", o.Sides)
	}
	switch o.Shape {
	case "", familyStraight, familyPower, familyBlend, familyPoints:
		return nil
	}
	return fmt.Errorf("shape %q is not known; choose power, blend, points or straight, or leave it out", o.Shape)
}
