package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"halfstick/curves"
	"halfstick/fit/propose"
	"halfstick/fit/stats"
	"halfstick/input"
)

// checkProposals holds the proposals of the slice to what they promise: limits
// and the straight line always, the rest with room for so few flights.
func checkProposals(t *testing.T, list []proposed) {
	t.Helper()
	broken, worse, worseOn, fresh := faulty(list)
	if broken.of < 18 || broken.found > 0 || worse.found > 0 {
		t.Errorf("limits broken on %v, worse than straight %v", broken, worse)
		for _, p := range list {
			if len(p.broken) > 0 {
				t.Logf("%s, flown %s: %v", p.kind, p.how, p.broken)
			}
		}
	}
	if worseOn.percent() > 10 || !(stats.Quantile7(fresh, 0.5) > 0.6) {
		t.Errorf("in flight that goes on: worse than straight on %v, median gain %.2f", worseOn, stats.Quantile7(fresh, 0.5))
	}
	points, reached := gains(list, "points")
	if reached.of < 15 || reached.found < reached.of || stats.Quantile7(points, 1) > 1 {
		t.Errorf("points: 97 %% of the possible gain on %v, at most %.4f", reached, stats.Quantile7(points, 1))
	}
	for family, least := range map[string]float64{"power": 0.5, "blend": 0.75} {
		shares, _ := gains(list, family)
		if m := stats.Quantile7(shares, 0.5); !(m > least && m < 1) {
			t.Errorf("%s: median gain %.3f, want above %g", family, m, least)
		}
		held, width := intervalsOf(list, family, 0, math.Inf(1))
		if held.of < 5 || held.percent() < 80 || !(width > 0.01 && width < 0.2) {
			t.Errorf("%s: %v intervals hold the parameter of long flight, median width %.3f", family, held, width)
		}
	}
}

// The pilots fly the demand that they say.
func TestPilots(t *testing.T) {
	c := chance{rand.New(rand.NewPCG(9, 9))}
	for _, p := range []struct {
		pilot
		mean, rms, memory float64 // of |y| seconds
	}{
		{pilot{input.TwoSided, "gaussian", 0.1, 0, 2}, 0, 0.1, 2},
		// Of a double exponential of deviation 0.1; the transform forgets a little faster.
		{pilot{input.TwoSided, "corner", 0.1, 0, 2}, 0, 0.1, 1.9},
		{pilot{input.TwoSided, "off-centre", 0.1, -0.2, 2}, -0.2, math.Hypot(0.1, 0.2), 2},
		{pilot{input.OneSided, "gaussian", 0.05, 0.4, 2}, 0.4, math.Hypot(0.05, 0.4), 2},
	} {
		y := p.fly(c, 600)
		mean, sd := stat.MeanStdDev(y, nil)
		if math.Abs(mean-p.mean) > 0.004 || math.Abs(math.Hypot(mean, sd)/p.rms-1) > 0.03 {
			t.Errorf("%s: mean %.3f, RMS %.3f, want %.3f, %.3f", p.how, mean, math.Hypot(mean, sd), p.mean, p.rms)
		}
		lag := int(p.memory * flyHz)
		if r := stat.Correlation(y[lag:], y[:len(y)-lag], nil); math.Abs(r-math.Exp(-1)) > 0.04 {
			t.Errorf("%s: correlation %.3f after %g s, want 1/e", p.how, r, p.memory)
		}
	}
	held := pilot{input.TwoSided, "held", 0.05, 0.6, 2}.fly(c, 600)
	large := 0.0
	for _, y := range held {
		if math.Abs(y) > 0.4 {
			large += 1 / float64(len(held))
		}
	}
	if math.Abs(large-0.3173) > 0.03 { // beyond one deviation
		t.Errorf("held: %.3f of the time at a large command", large)
	}
}

// J by the inverse is that by the slope, where nothing lies below the floor: for
// v^p and an even demand p³/(3p−2).
func TestMeanSquareByTheInverse(t *testing.T) {
	even := propose.NewDemand(func(float64) float64 { return 1 })
	for _, p := range []float64{1, 1.5, 2} {
		if got, want := meanSquare(&even, curves.Power{Exponent: p}, 0), p*p*p/(3*p-2); math.Abs(got/want-1) > 1e-3 {
			t.Errorf("exponent %g: J %.5f, want %.5f", p, got, want)
		}
	}
	// Below a floor of 1 nothing is gained: v² has slopes above 1 from y = ¼ on,
	// ¼ + ∫ 4y dy.
	if got, want := meanSquare(&even, curves.Power{Exponent: 2}, 1), 0.25+2*(1-1.0/16); math.Abs(got/want-1) > 1e-3 {
		t.Errorf("with a floor: J %.5f, want %.5f", got, want)
	}
}

// Each limit is noted where a curve breaks it, and none where it does not.
func TestLimitsAreWatched(t *testing.T) {
	opts := propose.Defaults()
	points := func(nodes ...[2]float64) curves.Shape {
		s, err := curves.NewPoints(nodes)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	for _, c := range []struct {
		family string
		shape  curves.Shape
		broken bool
	}{
		{"blend", curves.Blend{Share: 0.5}, false},
		{"power", curves.Power{Exponent: 1.5}, false},
		{"power", curves.Power{Exponent: 2.8}, true}, // too steep behind the deadband, too flat at the centre
		{"blend", curves.Blend{Share: 0.9}, true},    // too flat at the centre
		{"blend", curves.Blend{Share: -0.2}, true},   // falls
		{"points", points([2]float64{0, 0}, [2]float64{0.8, 0.3}, [2]float64{1, 1}), true},
	} {
		r := curves.StraightThrough(curves.TwoSided)
		r.Deadband = curves.Sides{Low: 0.05, High: 0.1}
		var p proposed
		fit := propose.Fit{Family: c.family, Shape: c.shape}
		p.keeps(r, fit, fit, opts)
		if (len(p.broken) > 0) != c.broken {
			t.Errorf("%s %+v: %v", c.family, c.shape, p.broken)
		}
	}
}
