package stats

import (
	"math"
	"testing"
)

func TestCrossoverModel(t *testing.T) {
	var want []struct {
		WC, Tau, Overshoot float64
		PhaseMarginDeg     float64   `json:"phase_margin_deg"`
		StepT              []float64 `json:"step_t"`
		StepY              []float64 `json:"step_y"`
	}
	load(t, "crossover", "pilot.crossover", nil, &want)
	if len(want) != 5 {
		t.Fatalf("%d rows", len(want))
	}
	for _, w := range want {
		wantAbs(t, "margin", PhaseMargin(w.WC, w.Tau)*180/math.Pi, w.PhaseMarginDeg, 1e-10)
		wantAbs(t, "overshoot", StepOvershoot(w.WC, w.Tau), w.Overshoot, 1e-8)
		var y []float64
		for _, at := range w.StepT {
			y = append(y, crossoverStep(w.WC, w.Tau, at))
		}
		wantSlice(t, "step", y, w.StepY, 1e-10)
	}
}

// No overshoot up to ωc τ = 1/e, none that settles from π/2 on, and it grows
// with the delay between.
func TestStepOvershootAtItsLimits(t *testing.T) {
	for _, x := range []float64{0, 0.1, 1 / math.E} {
		if v := StepOvershoot(1, x); v != 0 {
			t.Errorf("overshoot %g at %g", v, x)
		}
	}
	if v := StepOvershoot(2, 0.25*math.Pi); !math.IsInf(v, 1) {
		t.Errorf("overshoot %g without phase margin", v)
	}
	peak := 0.0
	for at := 0.0; at < 20; at += 0.001 {
		peak = math.Max(peak, crossoverStep(1, 0.45, at))
	}
	wantAbs(t, "a small overshoot", StepOvershoot(1, 0.45), peak-1, 1e-6)
	last := 0.0
	for x := 0.37; x < 1.57; x += 0.02 {
		v := StepOvershoot(3, x/3)
		if v < last {
			t.Errorf("overshoot %g at %g after %g", v, x, last)
		}
		last = v
		if x >= 1 { // y reaches 1 at τ + 1/ωc, within the series' second term
			wantAbs(t, "overshoot", v, x-0.5, 1e-9)
		}
	}
}
