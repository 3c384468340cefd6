package tryit

import (
	"math"
	"testing"

	"halfstick/curves"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

// Under a steady command the rate is 1 − e^(−t/τ) of its final value, and the
// place its integral, however the way is cut up.
func TestStepResponse(t *testing.T) {
	for _, n := range []int{1, 7, 500} {
		var m Mark
		for range n {
			m.Step(curves.TwoSided, 0.5, 0.9/float64(n))
		}
		near(t, "rate", m.Rate, 0.5*FullRate*(1-math.Exp(-3)), 1e-12)
		near(t, "place", m.Place, 0.5*FullRate*(0.9-Lag*(1-math.Exp(-3))), 1e-12)
	}
}

func TestItStopsAtTheEnds(t *testing.T) {
	var m Mark
	for range 1000 {
		m.Step(curves.TwoSided, -1, 0.01)
	}
	if m.Place != -1 || m.Rate != 0 {
		t.Errorf("at the end it is %+v", m)
	}
	m.Step(curves.TwoSided, 1, 0.1)
	if !(m.Place > -1) {
		t.Error("it stuck to the end")
	}
}

func TestOneSidedCommandsAPlace(t *testing.T) {
	var m Mark
	m.Step(curves.OneSided, 0.8, Lag)
	near(t, "after one lag", m.Place, 0.8*(1-math.Exp(-1)), 1e-12)
	m.Step(curves.OneSided, 0, 100)
	near(t, "in the end", m.Place, 0, 1e-12)
}
