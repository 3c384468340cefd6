package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"halfstick/input"
)

// restWatch refuses the rest of an axis that has shown nothing since it was
// opened: the input library holds an axis still until it has moved, and what
// stands still for that reason is unknown, not quiet.
type restWatch struct {
	input.Source
	errs   io.Writer
	phase  func(time.Duration) input.Phase
	labels []string // one an axis
	shown  []bool
	told   map[string]bool
}

func newRestWatch(src input.Source, errs io.Writer, phase func(time.Duration) input.Phase) *restWatch {
	w := &restWatch{Source: src, errs: errs, phase: phase, told: map[string]bool{}}
	for _, d := range src.Devices() {
		for _, a := range d.Axes {
			w.labels = append(w.labels, a.Label)
		}
	}
	w.shown = make([]bool, len(w.labels))
	return w
}

// Poll remembers which axes have shown anything.
func (w *restWatch) Poll(counts []int16, present []bool) error {
	err := w.Source.Poll(counts, present)
	for i, p := range present {
		w.shown[i] = w.shown[i] || p
	}
	return err
}

// Events are those of the source.
func (w *restWatch) Events() []input.Event {
	if s, ok := w.Source.(input.Watcher); ok {
		return s.Events()
	}
	return nil
}

// phaseAt is the phase that is asked for, or none where it is a rest of axes
// that have all shown nothing. It says so, once for each axis.
func (w *restWatch) phaseAt(t time.Duration) input.Phase {
	p := w.phase(t)
	if p.Kind != input.Rest {
		return p
	}
	var still []string
	about := 0
	for i, label := range w.labels {
		if p.Label != "" && p.Label != label {
			continue
		}
		about++
		if !w.shown[i] {
			still = append(still, label)
		}
	}
	untold := slices.DeleteFunc(slices.Clone(still), func(l string) bool { return w.told[l] })
	for _, l := range untold {
		w.told[l] = true
	}
	if len(untold) > 0 {
		fmt.Fprintf(w.errs, "no rest of %s: it has not moved since it was opened and shows nothing until it has, so its rest would be unknown, not quiet; move it by more than 2 %% of its travel, then let it rest\n",
			strings.Join(untold, ", "))
	}
	if len(still) == about {
		return input.Phase{}
	}
	return p
}
