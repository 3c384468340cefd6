package rig

import (
	"math/rand/v2"

	"halfstick/input"
)

// Default returns the rig of the demo: DefaultSpecs under FullScript.
func Default(seed uint64) *Rig {
	r, err := New(DefaultSpecs(seed), seed)
	if err != nil {
		panic(err) // DefaultSpecs are checked by a test for any seed
	}
	r.script = r.FullScript()
	return r
}

// DefaultSpecs describes a quiet stick and a pair of worn pedals, both
// invented. The seed varies friction, noise, drift and centre a little, as
// one unit differs from the next; what is wrong with the pedals stays wrong:
// the rudder's spring is soft on the high side, its track is worn between 0.18
// and 0.30 of half-throw, and the right brake reaches an eighth of its range.
func DefaultSpecs(seed uint64) []DeviceSpec {
	rng := rand.New(rand.NewPCG(seed, specStream))
	specs := []DeviceSpec{exampleStick(), examplePedals()}
	for _, d := range specs {
		for i := range d.Axes {
			vary(&d.Axes[i], rng)
		}
	}
	return specs
}

func vary(a *AxisSpec, rng *rand.Rand) {
	about := func(v float64) float64 { return v * (0.9 + 0.2*rng.Float64()) }
	a.Friction = about(a.Friction)
	a.White = about(a.White)
	a.Wander = about(a.Wander)
	a.DriftStepsPerMinute = about(a.DriftStepsPerMinute)
	if a.Kind == input.TwoSided {
		a.Spring.Centre += 0.01 * (2*rng.Float64() - 1)
	}
}

// exampleStick has Hall sensors and 14-bit converters. Forces, masses and
// noise are chosen to be plausible, not taken from any product.
func exampleStick() DeviceSpec {
	gimbal := AxisSpec{
		Kind: input.TwoSided, Spring: Spring{Low: 25, High: 25},
		Friction: 0.08, FrictionSpread: 0.15, Damping: 2.9, Mass: 0.1,
		Bits: 14, Travel: Travel{0.012, 0.985},
		White: 0.9, Wander: 0.4, WanderCorrelation: 0.8, DriftStepsPerMinute: 1.5,
	}
	pitch, roll, twist := gimbal, gimbal, gimbal
	pitch.Label, roll.Label, twist.Label = "pitch", "roll", "twist"
	roll.Travel = Travel{0.018, 0.99}
	roll.DriftStepsPerMinute = -1
	twist.Spring, twist.Friction = Spring{Low: 14, High: 14}, 0.12
	twist.White, twist.Travel = 1.3, Travel{0.03, 0.97}
	lever := AxisSpec{
		Label: "lever", Kind: input.OneSided, Friction: 1.2, Damping: 2, Mass: 0.2,
		Bits: 14, Travel: Travel{0.01, 0.99},
		White: 1, Wander: 0.3, WanderCorrelation: 0.8, DriftStepsPerMinute: 0.5,
	}
	return DeviceSpec{ID: "stick", Name: "Example Stick", ReportHz: 250,
		Axes: []AxisSpec{pitch, roll, twist, lever}}
}

// examplePedals has old potentiometers and 10-bit converters.
func examplePedals() DeviceSpec {
	rudder := AxisSpec{
		Label: "rudder", Kind: input.TwoSided, Spring: Spring{Low: 40, High: 12},
		Friction: 0.5, FrictionSpread: 0.1, Damping: 4, Mass: 0.1,
		Bits: 10, Travel: Travel{0.03, 0.96},
		White: 1.7, Wander: 0.8, WanderCorrelation: 0.9,
		DriftStepsPerMinute: 0.6, SpikesPerMinute: 3, SpikeSteps: 25,
		Worn: Worn{From: 0.18, To: 0.30, Times: 4},
	}
	brake := AxisSpec{
		Kind: input.OneSided, Spring: Spring{Low: 15, High: 15, Centre: -0.1},
		Friction: 0.3, FrictionSpread: 0.1, Damping: 2.5, Mass: 0.1,
		Bits: 10, White: 0.9, Wander: 0.3, WanderCorrelation: 0.9,
		DriftStepsPerMinute: 0.2,
	}
	left, right := brake, brake
	left.Label, left.Travel = "left-brake", Travel{0.03, 0.95}
	right.Label, right.Travel = "right-brake", Travel{0.03, 0.15}
	return DeviceSpec{ID: "pedals", Name: "Example Pedals", ReportHz: 125,
		Axes: []AxisSpec{rudder, left, right}}
}
