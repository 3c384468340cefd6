package propose

import (
	"math"
	"testing"

	"halfstick/curves"
	"halfstick/fit/measure"
)

func TestCommandJitterIsNoiseTimesSlope(t *testing.T) {
	r := calibratedFixture(t)
	r.Low, r.High = curves.Blend{Share: 0.5}, curves.Blend{Share: 0.5}
	r.Deadband, r.EndMargin = curves.Sides{Low: 0.03, High: 0.02}, curves.Sides{Low: 0.01, High: 0.01}
	for _, u := range []float64{-0.8, -0.3, 0.1, 0.5, 0.9} {
		near(t, "jitter", commandJitter(&r, u, 1e-3), 1e-3*r.Slope(u), 1e-3)
	}
	if got := commandJitter(&r, 0, 0.002); got != 0 {
		t.Errorf("ten deviations inside the deadband: jitter %g", got)
	}
	// At the corner half of the noise passes: E[x⁺] = σ/√(2π), E[x⁺²] = σ²/2.
	r.Low, r.High = curves.Straight{}, curves.Straight{}
	slope := r.Slope(0.5)
	near(t, "at the corner", commandJitter(&r, 0.02, 0.001), 0.001*slope*math.Sqrt(0.5-1/(2*math.Pi)), 1e-3)
}

func TestJittersUseTheNoisierSideOfTheSweep(t *testing.T) {
	a := measuredAxis("rudder")
	a.Sweep.Bands = []measure.Band{
		{Span: measure.Span{From: -0.6, To: -0.4}, Sigma: quantity(60, 1, 1)},
		{Span: measure.Span{From: 0.4, To: 0.6}, Sigma: quantity(120, 1, 1)},
		{Span: measure.Span{From: 0.8, To: 1}, Sigma: nil},
	}
	r := calibratedFixture(t)
	r.High, r.Low = curves.Blend{Share: 0.5}, curves.Blend{Share: 0.5}
	j := jitters(&a, r, 0.5)
	near(t, "rest before", j[0].Before, 100*30/30000.0, 1e-3)
	near(t, "normal before", j[1].Before, 100*120/30000.0, 1e-3)
	near(t, "normal after", j[1].After, 100*120/30000.0*(0.5+1.5*0.25), 1e-3)
	near(t, "near the stop", j[2].After, 100*30/30000.0*(0.5+1.5*0.81), 1e-3)
}

func TestResolutionShare(t *testing.T) {
	r := calibratedFixture(t)
	near(t, "straight", resolutionShare(&r, 0.5), 0.5, 1e-12)
	r.Low, r.High = curves.Power{Exponent: 2}, curves.Power{Exponent: 2}
	r.Deadband, r.EndMargin = curves.Sides{Low: 0.1, High: 0.04}, curves.Sides{Low: 0.1, High: 0.06}
	near(t, "power of 2", resolutionShare(&r, 0.25), (0.5*0.8+0.5*0.9)/2, 1e-9)
	lever := curves.StraightThrough(curves.OneSided)
	lever.Deadband.Low, lever.EndMargin.High = 0.02, 0.03
	near(t, "one-sided", resolutionShare(&lever, 0.5), 0.5*0.95, 1e-9)
}

// The same counts are more of a short half-throw.
func TestNoiseIsScaledByItsOwnSide(t *testing.T) {
	a := measuredAxis("rudder")
	a.Travel.Low = quantity(-9900, 5, 6)
	r, _ := calibrated(&a)
	near(t, "low side", noiseAt(&a, r, -0.5), 30/10000.0, 1e-12)
	near(t, "high side", noiseAt(&a, r, 0.5), 30/30000.0, 1e-12)
}
