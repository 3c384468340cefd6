package measure

import (
	"math"

	"halfstick/input"
)

// centreSeconds is the mean time at which the centre was measured: at the ends
// of the releases, or in the rests for want of them; 0 where there is neither.
func (a *analysis) centreSeconds() float64 {
	at := append(a.series.of(input.ReleaseLow), a.series.of(input.ReleaseHigh)...)
	if len(at) == 0 {
		at = a.series.of(input.Rest)
	}
	sum := 0.0
	for _, g := range at {
		sum += g.t[len(g.t)-1]
	}
	return sum / math.Max(1, float64(len(at)))
}

// withoutDrift is the u of a reading at time t. The stops and the centre were read
// at other times, each with the drift until then, so that u counts from both as
// they read at t. The centre was known at time centre; all in seconds, the drift
// in counts a second.
func (a *analysis) withoutDrift(x, t, drift, centre float64) float64 {
	u := a.position(x)
	for range 2 { // the place itself is not known better than the drift
		u = a.position(x + drift*(a.placeSeconds(u, centre)-t))
	}
	return u
}

// placeSeconds is the time at which the reading that belongs to a place was known:
// that of the stop at a stop, that of the centre at the centre, straight between.
func (a *analysis) placeSeconds(u, centre float64) float64 {
	near, far := centre, a.stopTime[1]
	switch {
	case a.oneSided():
		near = a.stopTime[0]
	case u < 0:
		far = a.stopTime[0]
	}
	share := math.Min(1, math.Abs(u))
	return near + share*(far-near)
}

// knownDrift is the drift at rest in counts a second, 0 where it is not twice as
// large as its uncertainty, and the uncertainty: the sweeps are over long before
// the centre is measured, and until then the reading drifts on.
func (a *analysis) knownDrift() (drift, unsure float64) {
	d := a.out.Rest.DriftPerMinute
	if d == nil || d.Low == nil || a.centreSeconds() == 0 {
		return 0, 0
	}
	unsure = (*d.High - *d.Low) / 2 / 60
	if drift = d.Value / 60; math.Abs(drift) < 2*unsure {
		return 0, math.Max(unsure, math.Abs(drift))
	}
	return drift, unsure
}
