package rig

import (
	"math"

	"halfstick/input"
)

// Session is an axis left alone again and again, as in a flight.
type Session struct {
	Releases int     // from the low and the high stop in turn
	After    float64 // seconds from letting go until the first report counts
	Seconds  float64 // of rest after each release that count
	// DriftSteps is how far the reading has drifted after so many seconds of
	// the session; it replaces the axis's own drift.
	DriftSteps func(seconds float64) float64
}

// SimulateSession lets axis i rest as the session says and gives every report
// of it, with the reading that a sensor without noise would have there, drift
// included, in counts. Chance is fresh: it is that of no recording. A one-sided
// axis is let go at its high stop only, and put at its low stop where it has no
// spring. The device neither stalls nor goes meanwhile, and nothing leaks.
func (r *Rig) SimulateSession(i int, s Session, visit func(release int, counts int16, noiseless float64)) {
	spec := r.axes[i].spec
	spec.DriftStepsPerMinute = 0
	hz := 0.0
	for _, d := range r.devices {
		if i >= d.first && i < d.first+d.count {
			hz = 1 / d.interval
		}
	}
	a := newAxis(spec, r.seed, sessionStream+uint64(i))
	stepCounts := 65535 / float64(spec.maxCode())
	for k := range s.Releases {
		a.start(k%2 == 1)
		for range int(s.After / step) {
			a.advance(0, false)
		}
		for n := range int(s.Seconds * hz) {
			drift := s.DriftSteps(float64(k)*s.Seconds + float64(n)/hz)
			code := a.report(0, hz, drift)
			visit(k, scaleCounts(code, spec.maxCode()), (spec.code(a.sensed)+drift)*stepCounts-32768)
		}
	}
}

// start puts an axis at the stop at which it is let go.
func (a *axis) start(high bool) {
	free := a.spec.Spring == Spring{}
	a.x = a.low
	if a.spec.Kind == input.OneSided && !free || a.spec.Kind == input.TwoSided && high {
		a.x = a.high
	}
	a.v, a.way, a.friction = 0, 0, a.spec.Friction
	a.sensed = a.x + math.Copysign(a.spec.Play/2, -a.x+(a.low+a.high)/2)
}
