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
