package main

import (
	"halfstick/input"
	"halfstick/input/rig"
	"halfstick/input/sdl"
)

const defaultSeed = 1

// simulatedRig is the default simulated rig behind SDL's virtual joysticks,
// with a clock that jumps, so that minutes of it are recorded in seconds.
type simulatedRig struct {
	*rig.Rig
	source input.Source
	clock  *input.JumpClock
}

func openSimulated(seed uint64) (*simulatedRig, error) {
	s := &simulatedRig{Rig: rig.Default(seed), clock: &input.JumpClock{}}
	var err error
	s.source, err = sdl.NewSimulated(s.Rig, s.clock)
	return s, err
}

// openLive is the default simulated rig under a hand without an end, which
// does what its Ask asks for.
func openLive(seed uint64, clock input.Clock) (input.Source, *rig.Live, error) {
	r, err := rig.New(rig.DefaultSpecs(seed), seed)
	if err != nil {
		return nil, nil, err
	}
	hand := &rig.Live{Names: map[string]string{"yaw": "rudder"}}
	if err := r.SetLive(hand); err != nil {
		return nil, nil, err
	}
	source, err := sdl.NewSimulated(r, clock)
	return source, hand, err
}
