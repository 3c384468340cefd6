package main

import (
	"strings"
	"time"

	"halfstick/input"
)

// planStep is one phase of a recording and how long it lasts; 0 means until
// the recording is ended by hand.
type planStep struct {
	phase input.Phase
	lasts time.Duration
}

// plan is the phases of a recording, one after another.
type plan []planStep

// parsePlan reads steps such as rest, sweep:rudder=30s. Only the last may go
// without a duration.
func parsePlan(args []string) (plan, error) {
	var p plan
	for i, arg := range args {
		name, lasts, timed := strings.Cut(arg, "=")
		phase, err := input.ParsePhase(name)
		if err != nil {
			return nil, usagef("--phase %s: %w", arg, err)
		}
		step := planStep{phase: phase}
		if timed {
			if step.lasts, err = time.ParseDuration(lasts); err != nil || step.lasts <= 0 {
				return nil, usagef("--phase %s: %q is not a duration above 0; write it as 30s or 2m", arg, lasts)
			}
		} else if i < len(args)-1 {
			return nil, usagef("--phase %s: say how long it lasts, such as %s=30s; only the last phase may go on until the end", arg, arg)
		}
		p = append(p, step)
	}
	return p, nil
}

// duration is how long the plan lasts, 0 when its end is open.
func (p plan) duration() time.Duration {
	var sum time.Duration
	for _, step := range p {
		if step.lasts == 0 {
			return 0
		}
		sum += step.lasts
	}
	return sum
}

// phaseAt is the phase at a time since the start, none after a closed end.
func (p plan) phaseAt(t time.Duration) input.Phase {
	if i := p.stepAt(t); i >= 0 {
		return p[i].phase
	}
	return input.Phase{}
}

func (p plan) stepAt(t time.Duration) int {
	for i, step := range p {
		if step.lasts == 0 || t < step.lasts {
			return i
		}
		t -= step.lasts
	}
	return -1
}

// instruction says in one short sentence what to do in a phase.
func instruction(phase input.Phase) string {
	control := "each control in turn"
	if phase.Label != "" {
		control = "the " + phase.Label
	}
	switch phase.Kind {
	case input.Rest:
		return "hands and feet off"
	case input.Sweep:
		return "move " + control + " slowly from stop to stop and back, again and again"
	case input.ReleaseLow:
		return "push " + control + " to its low side, let go, and wait"
	case input.ReleaseHigh:
		return "push " + control + " to its high side, let go, and wait"
	case input.Hold:
		return "hold " + control + " steady at about half its throw"
	case input.Flight:
		return "fly as usual"
	}
	return "recording"
}

// check reports a phase about an axis that is not there.
func (p plan) check(devices []input.Device) error {
	labels := map[string]bool{"": true}
	var known []string
	for _, d := range devices {
		for _, a := range d.Axes {
			labels[a.Label] = true
			known = append(known, a.Label)
		}
	}
	for _, step := range p {
		if !labels[step.phase.Label] {
			return usagef("--phase %s: there is no axis %q; the axes are %s", step.phase, step.phase.Label, strings.Join(known, ", "))
		}
	}
	return nil
}
