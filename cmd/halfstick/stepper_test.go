package main

import "halfstick/input"

// stepper is a controller of one axis that counts how often it was asked.
type stepper struct {
	polls  int
	onPoll func(poll int) error
	closed bool
}

func (s *stepper) Describe() string { return "test" }
func (s *stepper) Close() error     { s.closed = true; return nil }
func (s *stepper) Devices() []input.Device {
	return []input.Device{{ID: "pedals", Name: "Example Pedals", Axes: []input.Axis{{Label: "rudder", Kind: input.TwoSided}}}}
}

func (s *stepper) Poll(counts []int16, present []bool) error {
	counts[0], present[0] = int16(s.polls), true
	s.polls++
	if s.onPoll != nil {
		return s.onPoll(s.polls - 1)
	}
	return nil
}

// noticing is a stepper to which things happen.
type noticing struct {
	*stepper
	events map[int]input.Event
}

func (n noticing) Events() []input.Event {
	if e, ok := n.events[n.polls]; ok {
		return []input.Event{e}
	}
	return nil
}
