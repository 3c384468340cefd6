package propose

import (
	"fmt"
	"math"
)

// sameLag is how near, ms, two lags are that are not told apart in words.
const sameLag = 0.5

// OneLag tells whether the lag is the same at rest and in motion, as near as a
// person cares.
func (c *SmoothingCost) OneLag() bool {
	return c.InMotion == nil || math.Abs(c.InMotion.MS-c.AtRest.MS) < sameLag
}

// says puts in plain words what smoothing does in flight.
func (c *SmoothingCost) says() string {
	if c.OneLag() {
		return "in flight: " + c.AtRest.says("every movement comes", c.Unsmoothed)
	}
	return "in flight: " + c.AtRest.says("small movements near rest come", c.Unsmoothed) + "; " +
		c.InMotion.says("quick ones come", c.Unsmoothed)
}

func (l Lag) says(what string, without *Loop) string {
	s := fmt.Sprintf("%s %s late", what, Milliseconds(l.MS))
	switch {
	case l.Loop == nil:
	case l.Loop.Overshoot == nil:
		s += ", which leaves no phase margin: a correction by hand swings to and fro and does not settle, so smooth less"
	default:
		s += fmt.Sprintf(", and a correction by hand goes %.0f %% too far instead of %.0f %%", *l.Loop.Overshoot, *without.Overshoot)
	}
	return s
}

// Milliseconds writes a lag.
func Milliseconds(ms float64) string {
	if math.Abs(ms) >= 9.95 {
		return fmt.Sprintf("%.0f ms", ms)
	}
	return fmt.Sprintf("%.1f ms", ms)
}
