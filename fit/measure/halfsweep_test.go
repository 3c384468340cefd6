package measure

import (
	"strings"
	"testing"

	"halfstick/input"
)

// A sweep that breaks off half way is no sign of a stop: the place was reached
// once only, and nothing is said about the travel there.
func TestBrokenOffSweepIsNoShortTravel(t *testing.T) {
	d := usual()
	upToHalf := part{
		phase: input.Phase{Kind: input.Sweep}, seconds: 5,
		at: func(t float64) float64 { return min(d.most()/2, d.most()*t/8) },
	}
	for _, f := range d.measure(t, upToHalf).Findings {
		if strings.HasPrefix(f.Code, "short-travel") || strings.HasPrefix(f.Code, "dead-side") {
			t.Errorf("%s: %s", f.Code, f.Says)
		}
	}
}
