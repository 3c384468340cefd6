package propose

import (
	"math"
	"testing"
)

// What a family is said to do is what its shape does in the proposed response;
// for the one that is proposed it is what the axis is said to get.
func TestFamiliesEffects(t *testing.T) {
	p := proposalOf(t, Defaults(), measuredAxis("pitch")).Axes[0]
	for _, f := range p.Fits {
		r := p.Profile.Response
		r.Low, r.High = f.Shape, f.Shape
		near(t, f.Family+" share", f.ResolutionShare, resolutionShare(&r, 0.5), 1e-12)
		if len(f.CommandJitter) != 3 {
			t.Fatalf("%s: jitter %v", f.Family, f.CommandJitter)
		}
		// Far from the deadband the jitter goes with the local slope.
		j := f.CommandJitter[2]
		near(t, f.Family+" jitter near the stop", j.After/j.Before, math.Max(r.Slope(nearStop), r.Slope(-nearStop)), 0.02)
		if f.Family == p.Chosen {
			near(t, "proposed share", f.ResolutionShare, p.ResolutionAfter, 1e-12)
			for i := range p.Jitter {
				near(t, "proposed jitter", f.CommandJitter[i].After, p.Jitter[i].After, 1e-12)
			}
		}
	}
}
