package rig

import (
	"sort"
	"time"

	"halfstick/input"
)

// Hand is what a hand does to one axis during a step of a script: at t seconds
// from the step's start it pulls towards target (in x), or has let go.
type Hand func(t float64) (target float64, held bool)

// Step is a part of a script. Hands has one entry an axis, in column order;
// a nil or missing entry leaves that axis alone.
type Step struct {
	Phase  input.Phase
	Length time.Duration
	Hands  []Hand
}

// Script is a list of steps, one after another.
type Script struct {
	steps []Step
	ends  []float64 // seconds
}

// NewScript puts steps one after another.
func NewScript(steps ...Step) Script {
	s := Script{steps: steps}
	end := 0.0
	for _, st := range steps {
		end += st.Length.Seconds()
		s.ends = append(s.ends, end)
	}
	return s
}

// Duration is the length of all steps together.
func (s Script) Duration() time.Duration {
	if len(s.ends) == 0 {
		return 0
	}
	return time.Duration(s.ends[len(s.ends)-1] * float64(time.Second))
}

// Steps returns the steps in order.
func (s Script) Steps() []Step { return s.steps }

// PhaseAt returns the phase of the step under way at t, none after the end.
func (s Script) PhaseAt(t time.Duration) input.Phase {
	at := t.Seconds()
	i := sort.Search(len(s.ends), func(i int) bool { return at < s.ends[i] })
	if i == len(s.steps) {
		return input.Phase{}
	}
	return s.steps[i].Phase
}

// cursor walks a script forward without searching it at each step of time.
type cursor struct {
	script Script
	i      int
}

func (s Script) cursor() *cursor { return &cursor{script: s} }

// at returns the step at t seconds and the time since its start; nil after
// the end. t must not fall from call to call.
func (c *cursor) at(t float64) (*Step, float64) {
	for c.i < len(c.script.steps) && t >= c.script.ends[c.i] {
		c.i++
	}
	if c.i == len(c.script.steps) {
		return nil, 0
	}
	start := 0.0
	if c.i > 0 {
		start = c.script.ends[c.i-1]
	}
	return &c.script.steps[c.i], t - start
}
