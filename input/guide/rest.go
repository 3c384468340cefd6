package guide

import (
	"fmt"

	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source.
const (
	calmTiles = 20   // one second: nothing is touched any more
	calmShare = 0.01 // of the travel; less passes for wander
)

// rest is an attempt at leaving all guided axes alone.
type rest struct {
	need  float64 // seconds
	label string  // of the one axis that it is about; empty for all

	waited  int // tiles since it was asked for
	resting bool
	tiles   int // of rest
}

func (a *rest) phase(*Guide) input.Phase {
	if !a.resting {
		return input.Phase{}
	}
	return input.Phase{Kind: input.Rest, Label: a.label}
}

func (a *rest) tick(g *Guide) outcome {
	if g.unmoved() >= 0 {
		*a = rest{need: a.need, label: a.label}
		return goesOn(false)
	}
	a.waited++
	touched := ""
	for _, i := range g.order {
		c := &g.columns[i]
		if c.moved && !c.still(calmTiles, calmShare*c.travel()) {
			touched = c.label
		}
	}
	switch {
	case touched != "" && a.resting:
		a.resting = false
		return again(fmt.Sprintf("%s moved after %.0f s of rest, once more please, touching nothing", touched, float64(a.tiles)*tile))
	case touched != "" || a.waited < calmTiles || g.filling && !a.resting:
		return goesOn(false)
	}
	a.resting = true
	a.tiles++
	if float64(a.tiles)*tile < a.need {
		return goesOn(true)
	}
	a.settle(g)
	return good(fmt.Sprintf("%.0f s of rest", a.need))
}

// settle keeps where the axes stand untouched.
func (a *rest) settle(g *Guide) {
	for _, i := range g.order {
		c := &g.columns[i]
		if c.present {
			c.home, c.hasHome = median(c.past), true
		}
	}
}

func (a *rest) show(g *Guide, s *State) {
	s.Progress = float64(a.tiles) * tile / a.need
	s.Do = "Take hands and feet off everything, and wait."
	if i := g.unmoved(); i >= 0 {
		s.Axis, s.Column = g.columns[i].label, i
		s.Do = fmt.Sprintf("Move %s a little, then let it go.", s.Axis)
		s.Hint = "an axis shows nothing until it has been moved: its rest would be unknown, not quiet"
	}
}
