package rig

import "halfstick/input"

// Source reads the rig directly, without any library: each Poll brings the rig
// to the clock's time. Closing it does nothing.
func (r *Rig) Source(clock input.Clock) input.Source { return &source{r, clock} }

type source struct {
	*Rig
	clock input.Clock
}

func (s *source) Poll(counts []int16, present []bool) error {
	s.Advance(s.clock.Now())
	s.Counts(counts)
	s.Present(present)
	return nil
}

func (s *source) Close() error { return nil }
