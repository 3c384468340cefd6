package main

import (
	"strings"
	"testing"
	"time"

	"halfstick/input"
)

// halfFrozen has two axes, of which the second shows nothing until it is moved.
type halfFrozen struct {
	input.Source
	moved bool
}

func (s *halfFrozen) Devices() []input.Device {
	return []input.Device{{ID: "d", Axes: []input.Axis{{Label: "a"}, {Label: "b", Index: 1}}}}
}

func (s *halfFrozen) Poll(_ []int16, present []bool) error {
	present[0], present[1] = true, s.moved
	return nil
}

func TestRestOfAnUnmovedAxisIsRefused(t *testing.T) {
	for _, c := range []struct{ phase, frozen, moved string }{
		{"rest:b", "", "rest:b"}, {"rest:a", "rest:a", "rest:a"}, {"rest", "rest", "rest"}, {"sweep:b", "sweep:b", "sweep:b"},
	} {
		var errs strings.Builder
		asked, err := input.ParsePhase(c.phase)
		if err != nil {
			t.Fatal(err)
		}
		src := &halfFrozen{}
		w := newRestWatch(src, &errs, func(time.Duration) input.Phase { return asked })
		for range 2 {
			if err := w.Poll(make([]int16, 2), make([]bool, 2)); err != nil {
				t.Fatal(err)
			}
			if got := w.phaseAt(0).String(); got != c.frozen {
				t.Errorf("%s while b is frozen: %q, want %q", c.phase, got, c.frozen)
			}
		}
		concerned := c.phase == "rest:b" || c.phase == "rest"
		if n := strings.Count(errs.String(), "no rest of b: it has not moved"); n != map[bool]int{true: 1}[concerned] {
			t.Errorf("%s: said %q", c.phase, errs.String())
		}
		src.moved = true
		if err := w.Poll(make([]int16, 2), make([]bool, 2)); err != nil {
			t.Fatal(err)
		}
		if got := w.phaseAt(0).String(); got != c.moved {
			t.Errorf("%s once b has moved: %q, want %q", c.phase, got, c.moved)
		}
	}
}
