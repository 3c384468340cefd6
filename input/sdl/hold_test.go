package sdl

import "testing"

// What SDL shows of a real axis, reading after reading, and which of it are
// samples (sequences as SDL 2.26.5's source gives them).
func TestOnlyFreeAxesGiveSamples(t *testing.T) {
	type reading struct {
		counts, first int16
		known, want   bool
	}
	for name, readings := range map[string][]reading{
		"before the first report": {{-32768, -32768, true, false}, {-32768, -32768, true, false}},
		"first report replaces the invented zero": {
			{-32768, -32768, true, false}, {120, 120, true, false}, {120, 120, true, false}, {600, 120, true, true}},
		"held, moved, and back at the first reading": {
			{-400, -400, true, false}, {10, -400, true, true}, {-400, -400, true, true}},
		"no first reading known": {{0, 0, false, false}, {5, 0, false, false}},
	} {
		h := newHolds(1, false)[0]
		for i, r := range readings {
			if got := h.sample(r.counts, r.first, r.known); got != r.want {
				t.Errorf("%s: reading %d (%d) is a sample: %v, want %v", name, i, r.counts, got, r.want)
			}
		}
	}
	if h := newHolds(1, true)[0]; !h.sample(5, 5, true) {
		t.Error("a virtual axis is held")
	}
}
