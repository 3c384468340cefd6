package sdl

// hold tells when an axis's counts are samples.
//
// Until a real axis is more than 409 counts away from its first reading, SDL
// holds it there (SDL 2.26.5, SDL_PrivateJoystickAxis), and what it holds may
// be nothing but the zero of a device that has not reported yet. If the first
// report then comes out far from such a zero, SDL may take it for the first
// reading instead and hold that. So an axis counts as not present until its
// counts differ from its first reading; from then on it is free.
type hold struct {
	exempt bool // virtual joysticks are never held
	free   bool
}

// sample takes the axis's counts and what SDL now calls its first reading, and
// tells whether the counts are a sample.
func (h *hold) sample(counts, first int16, firstKnown bool) bool {
	if firstKnown && counts != first {
		h.free = true
	}
	return h.released()
}

// released tells whether the counts are samples whatever they are.
func (h *hold) released() bool { return h.free || h.exempt }

func newHolds(axes int, exempt bool) []hold {
	h := make([]hold, axes)
	for i := range h {
		h[i].exempt = exempt
	}
	return h
}
