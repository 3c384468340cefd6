package rig

import (
	"math"
	"math/rand/v2"
)

// step is the integration step. The stiffest motion in the default rig (a
// control held by a hand) has a period of some 30 ms, 60 steps.
const step = 0.0005 // seconds

// A hand is a stiff spring and damper between the script's target and the
// control; its values are chosen, not measured. It is much stiffer than any
// control's spring, as a person corrects for the spring by feel.
const (
	handStiffness = 4000.0 // N per unit of x
	handDamping   = 45.0   // N·s per unit of x
)

// axis is the moving state of one AxisSpec.
type axis struct {
	spec      AxisSpec
	low, high float64 // stops, x

	x, v     float64 // position and speed of the grip
	sensed   float64 // position of the sensor: x behind the play
	friction float64 // N, for the movement under way
	way      float64 // the sign of the last movement

	noise *rand.Rand // the sensor's chance
	hand  *rand.Rand // the friction's chance

	wander    float64 // state of the autoregression, in units of its σ
	spikeLeft int     // reports until the spike under way is over
	spike     float64 // its height, steps
}

func newAxis(spec AxisSpec, seed, stream uint64) *axis {
	a := &axis{
		spec:     spec,
		noise:    rand.New(rand.NewPCG(seed, 2*stream)),
		hand:     rand.New(rand.NewPCG(seed, 2*stream+1)),
		friction: spec.Friction,
	}
	a.low, a.high = spec.stops()
	a.x = math.Min(math.Max(spec.Spring.Centre, a.low), a.high)
	a.sensed = a.x
	a.wander = a.noise.NormFloat64()
	return a
}

// springForce returns the spring's force at x, in N.
func (a *axis) springForce() float64 {
	d := a.x - a.spec.Spring.Centre
	if d < 0 {
		return -a.spec.Spring.Low * d
	}
	return -a.spec.Spring.High * d
}

// advance moves the axis by one step. Semi-implicit Euler: the viscous forces
// are taken at the new speed, so that any damping is stable, and the position
// follows the new speed. Coulomb friction is an impulse that takes at most
// friction·step/mass off the speed and never turns it round; a control that
// this stops stays where it is until a force exceeds the friction.
func (a *axis) advance(target float64, held bool) {
	force, damping := a.springForce(), a.spec.Damping
	if held {
		force += handStiffness * (target - a.x)
		damping += handDamping
	}
	perMass := step / a.spec.Mass
	v := (a.v + force*perMass) / (1 + damping*perMass)
	// The friction's impulse is divided like the other forces' are.
	most := a.friction * perMass / (1 + damping*perMass)
	switch {
	case v > most:
		v -= most
	case v < -most:
		v += most
	default:
		v = 0
	}
	if v*a.way <= 0 && v != 0 {
		a.way = math.Copysign(1, v)
		a.friction = a.spec.Friction * math.Max(0, 1+a.spec.FrictionSpread*a.hand.NormFloat64())
	}
	a.x += v * step
	a.v = v
	if a.x < a.low {
		a.x, a.v = a.low, 0
	}
	if a.x > a.high {
		a.x, a.v = a.high, 0
	}
	half := a.spec.Play / 2
	a.sensed = math.Min(math.Max(a.sensed, a.x-half), a.x+half)
}

// moved is how far the sensor is from where it stands untouched, in throws.
func (a *axis) moved() float64 {
	home := math.Min(math.Max(a.spec.Spring.Centre, a.low), a.high)
	return (a.sensed - home) / (a.high - a.low)
}

// report takes a reading at time t seconds, as the device would send it, and
// returns the converter's code. leaked is what other axes add, in steps.
func (a *axis) report(t, reportHz, leaked float64) int {
	s := a.spec
	rho := s.WanderCorrelation
	a.wander = rho*a.wander + math.Sqrt(1-rho*rho)*a.noise.NormFloat64()
	noise := s.White*a.noise.NormFloat64() + s.Wander*a.wander
	if s.Worn.Times != 0 && a.sensed >= s.Worn.From && a.sensed <= s.Worn.To {
		noise *= s.Worn.Times
	}
	code := math.Round(s.code(a.sensed) + leaked + noise + s.DriftStepsPerMinute*t/60 + a.nextSpike(reportHz))
	return int(math.Min(math.Max(code, 0), float64(s.maxCode())))
}

// nextSpike returns the height, in steps, of the spike under way, 0 if none.
// Spikes begin by chance at the given mean rate, last one to three reports and
// keep their height and sign meanwhile.
func (a *axis) nextSpike(reportHz float64) float64 {
	if a.spec.SpikesPerMinute <= 0 {
		return 0
	}
	if a.spikeLeft > 0 {
		a.spikeLeft--
		return a.spike
	}
	if a.noise.Float64() >= a.spec.SpikesPerMinute/60/reportHz {
		return 0
	}
	a.spikeLeft = a.noise.IntN(3)
	a.spike = a.spec.SpikeSteps * (0.75 + 0.5*a.noise.Float64())
	if a.noise.IntN(2) == 0 {
		a.spike = -a.spike
	}
	return a.spike
}

// scaleCounts turns a converter code 0…most into counts as SDL 2.26.5 does on
// Linux, in single precision: floor(code·65535/most − 32768 + 0.5). It follows
// that a 10-bit code steps by 64 or 65 counts.
func scaleCounts(code, most int) int16 {
	v := float32(float32(code)*65535) / float32(most)
	v = float32(v-32768) + 0.5
	return int16(math.Floor(float64(v)))
}
