package rig

import (
	"math"
	"math/rand/v2"
	"time"

	"halfstick/input"
)

// Plan says how long the parts of a full script last. Times are seconds.
type Plan struct {
	Sweeps       int     // up-and-down sweeps of each two-sided axis
	SweepsOne    int     // of each one-sided axis
	SweepSeconds float64 // from stop to stop
	RestSeconds  float64
	Releases     int     // of each two-sided axis, from each side
	ReleasesOne  int     // of each one-sided axis that has a spring
	Settle       float64 // left alone after each release
	HoldSeconds  float64
	FlySeconds   float64
}

// FullPlan is the plan of FullScript.
var FullPlan = Plan{
	Sweeps: 3, SweepsOne: 2, SweepSeconds: 4.5, RestSeconds: 25,
	Releases: 5, ReleasesOne: 3, Settle: 3.2, HoldSeconds: 2.5, FlySeconds: 120,
}

// FullScript covers every axis: sweeps, then a rest of all axes, then releases
// from both sides and a hold at half throw, then a flight. One-sided axes have
// no low side to be released from; those without a spring are not released.
func (r *Rig) FullScript() Script { return r.PlannedScript(FullPlan) }

// PlannedScript is FullScript with other lengths.
func (r *Rig) PlannedScript(p Plan) Script {
	var steps []Step
	idle := func(seconds float64) { steps = append(steps, r.alone(input.NoPhase, seconds)) }
	idle(1)
	for i := range r.axes {
		steps = append(steps, r.sweep(i, p)...)
		idle(1.5)
	}
	steps = append(steps, r.alone(input.Rest, p.RestSeconds))
	for i, a := range r.axes {
		if a.spec.Spring == (Spring{}) {
			continue
		}
		if a.spec.Kind == input.OneSided {
			for range p.ReleasesOne {
				steps = append(steps, r.release(i, input.ReleaseHigh, p)...)
			}
			continue
		}
		for range p.Releases {
			steps = append(steps, r.release(i, input.ReleaseLow, p)...)
			steps = append(steps, r.release(i, input.ReleaseHigh, p)...)
		}
	}
	for i := range r.axes {
		steps = append(steps, r.hold(i, p)...)
		idle(1)
	}
	if p.FlySeconds > 0 {
		steps = append(steps, r.flight(p.FlySeconds))
	}
	idle(1)
	return NewScript(steps...)
}

// reach is how long a hand takes to bring a control to where it is wanted, and
// press is how far beyond a stop it pulls to be sure of the stop.
const (
	reach = 0.7 // seconds
	press = 1.04
)

// alone is a step in which nobody touches anything.
func (r *Rig) alone(kind input.PhaseKind, seconds float64) Step {
	return Step{Phase: input.Phase{Kind: kind}, Length: duration(seconds)}
}

// one is a step in which a hand works on axis i alone.
func (r *Rig) one(i int, kind input.PhaseKind, seconds float64, h Hand) Step {
	s := Step{Length: duration(seconds), Hands: make([]Hand, len(r.axes))}
	s.Hands[i] = h
	if kind != input.NoPhase {
		s.Phase = input.Phase{Kind: kind, Label: r.axes[i].spec.Label}
	}
	return s
}

// home is where the hand takes hold of an axis that has been left alone.
func (r *Rig) home(i int) float64 {
	a := r.axes[i]
	return math.Min(math.Max(a.spec.Spring.Centre, a.low), a.high)
}

// pressed returns a target a little beyond the low or the high stop.
func (r *Rig) pressed(i int, high bool) float64 {
	a := r.axes[i]
	mid, half := (a.low+a.high)/2, (a.high-a.low)/2*press
	if high {
		return mid + half
	}
	return mid - half
}

func (r *Rig) sweep(i int, p Plan) []Step {
	low, high, home := r.pressed(i, false), r.pressed(i, true), r.home(i)
	unsteady := newWaves(rand.New(rand.NewPCG(r.seed, flightStream+uint64(1000+i))), 6, 0.15, 1.2, 0.004)
	pass, passes := 2*p.SweepSeconds, p.Sweeps
	if r.axes[i].spec.Kind == input.OneSided {
		passes = p.SweepsOne
	}
	hand := func(t float64) (float64, bool) {
		share := math.Mod(t, pass) / p.SweepSeconds
		if share > 1 {
			share = 2 - share
		}
		return low + share*(high-low) + unsteady.at(t), true
	}
	return []Step{
		r.one(i, input.NoPhase, reach, glide(home, low)),
		r.one(i, input.Sweep, pass*float64(passes), hand),
		r.one(i, input.NoPhase, reach, glide(low, home)),
	}
}

// release pushes axis i to a stop and lets go; the labelled stretch begins
// with a moment at the stop and ends where the control came to rest.
func (r *Rig) release(i int, kind input.PhaseKind, p Plan) []Step {
	const wait = 0.3
	stop := r.pressed(i, kind == input.ReleaseHigh)
	letGo := func(t float64) (float64, bool) { return stop, t < wait }
	return []Step{
		r.one(i, input.NoPhase, reach, glide(r.home(i), stop)),
		r.one(i, kind, wait+p.Settle, letGo),
	}
}

// hold keeps axis i at half throw with a hand that trembles a little.
func (r *Rig) hold(i int, p Plan) []Step {
	a := r.axes[i]
	half := (math.Max(a.low, 0) + a.high) / 2
	tremor := newWaves(rand.New(rand.NewPCG(r.seed, flightStream+uint64(2000+i))), 8, 6, 12, 0.0003)
	hand := func(t float64) (float64, bool) { return half + tremor.at(t), true }
	return []Step{
		r.one(i, input.NoPhase, reach, glide(r.home(i), half)),
		r.one(i, input.Hold, p.HoldSeconds, hand),
		r.one(i, input.NoPhase, reach, glide(half, r.home(i))),
	}
}

// glide moves from one target to another along half a cosine in reach.
func glide(from, to float64) Hand {
	return func(t float64) (float64, bool) {
		share := (1 - math.Cos(math.Pi*math.Min(t/reach, 1))) / 2
		return from + share*(to-from), true
	}
}

func duration(seconds float64) time.Duration {
	return time.Duration(math.Round(seconds * float64(time.Second)))
}
