package propose

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/input"
)

// flownLopsided is 40 minutes of small commands to the low side and large ones
// to the high side.
func flownLopsided(t *testing.T, opts Options) AxisProposal {
	t.Helper()
	r := newRecorded(20, input.TwoSided, "pitch")
	fly := gaussianFlight(0.12)
	r.add(input.Flight, 2400, func(t float64) float64 {
		x := fly(t) - 100
		if x > 0 {
			x *= 3
		}
		return 100 + x
	})
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(measuredAxis("pitch"))}, opts)
	if err != nil {
		t.Fatal(err)
	}
	return p.Axes[0]
}

func TestSidesApartFollowTheirOwnDemand(t *testing.T) {
	opts := Defaults()
	opts.Sides = SidesApart
	a := flownLopsided(t, opts)
	if len(a.Sides) != 2 || a.Sides[0].Side != "low" || a.Sides[1].Side != "high" {
		t.Fatalf("sides %+v", a.Sides)
	}
	low, high := a.Sides[0], a.Sides[1]
	within(t, "minutes", low.Demand.Minutes+high.Demand.Minutes, a.Demand.Minutes-0.01, a.Demand.Minutes+0.01)
	within(t, "minutes of the low side", low.Demand.Minutes, 18, 22)
	near(t, "weight of the low side", low.Demand.Weight, low.Demand.Minutes/(low.Demand.Minutes+10), 1e-9)
	if low.Demand.SigmaY > 0.75*high.Demand.SigmaY {
		t.Errorf("RMS command %g to the low side, %g to the high side", low.Demand.SigmaY, high.Demand.SigmaY)
	}
	r := a.Profile.Response
	lowShare, highShare := r.Low.(curves.Blend).Share, r.High.(curves.Blend).Share
	both := a.chosen().Parameter
	if !(lowShare > both && both > highShare && lowShare > highShare+0.05) {
		t.Errorf("low %g, both %g, high %g", lowShare, both, highShare)
	}
	for _, s := range a.Sides {
		fit := chosenOf(s.Fits, a.Chosen)
		if fit.Interval == nil || fit.Gain <= 0.5 || fit.MaxSlope > opts.MaxSlope {
			t.Errorf("%s: %+v", s.Side, fit)
		}
	}
	for _, want := range []string{"low side by itself: cubic blend of ", "high side by itself: cubic blend of ", "both sides together: cubic blend of "} {
		if !strings.Contains(strings.Join(a.Reasons, "\n"), want) {
			t.Errorf("%q is not said: %q", want, a.Reasons)
		}
	}
}

func TestSidesTogetherShareOneShape(t *testing.T) {
	a := flownLopsided(t, Defaults())
	if r := a.Profile.Response; r.Low != r.High || a.Sides != nil {
		t.Errorf("low %v, high %v, sides %v", r.Low, r.High, a.Sides)
	}
	opts := Defaults()
	opts.Sides = "astride"
	if opts.Check() == nil {
		t.Error("astride was accepted")
	}
}

// A deadband on one side limits the shape of that side only.
func TestSidesApartHaveTheirOwnLimits(t *testing.T) {
	wide := measuredAxis("pitch")
	wide.Return.FromHigh = returnSide(4500, 100)
	opts := Defaults()
	opts.Sides, opts.MaxSlope, opts.Shape = SidesApart, 1.6, familyBlend
	a := proposalOf(t, opts, wide).Axes[0]
	within(t, "share low less share high", a.Profile.Response.Low.(curves.Blend).Share-a.Profile.Response.High.(curves.Blend).Share, 0.05, 0.3)
	for _, u := range []float64{-0.985, 0.985} {
		within(t, "slope near the stop", a.Profile.Response.Slope(u), 1.4, 1.6+1e-9)
	}
}

// Commands of exactly 0 are half of each side's.
func TestCommandsOfZeroAreShared(t *testing.T) {
	for of, want := range map[side]float64{bothTogether: 10, lowSide: 4, highSide: 6} {
		flight := tally{of: of}
		flight.add(0, 2)
		flight.add(-0.2, 3)
		flight.add(0.2, 5)
		inCells := floats.Sum(flight.weight[:])
		if flight.total != want || math.Abs(inCells-want) > 1e-12 || len(flight.seconds) != int(want) {
			t.Errorf("side %d: %g s, %g s in cells, %d whole seconds, want %g", of, flight.total, inCells, len(flight.seconds), want)
		}
	}
}
