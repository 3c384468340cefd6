package propose

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"halfstick/curves"
	"halfstick/fit/stats"
	"halfstick/input"
)

func smoothedReplay(t *testing.T, r *recorded, f stats.Smoother) ReplayedAxis {
	t.Helper()
	out, err := Replay(r.rec, replayProfile(t), Smoothing{Filter: f, Crossover: DefaultCrossover})
	if err != nil {
		t.Fatal(err)
	}
	return out.Axes[0]
}

// swung is a slow swing with noise after a rest.
func swung(sigma float64) *recorded {
	rng := rand.New(rand.NewPCG(5, 2))
	r := newRecorded(200, input.TwoSided, "pitch")
	r.add(input.Rest, 20, func(float64) float64 { return 100 })
	r.add(input.Flight, 60, func(t float64) float64 { return 100 + 12000*math.Sin(2*t) + sigma*rng.NormFloat64() })
	return r
}

// A first-order filter delays a sine of 2 rad/s by atan(2τ)/2, takes white
// noise down to √(α/(2−α)), and costs the phase of its formula.
func TestReplaySmoothedByFirstOrder(t *testing.T) {
	const tau, rate = 0.05, 200
	a := smoothedReplay(t, swung(60), stats.FirstOrder(tau))
	c := a.Smoothing
	near(t, "lag at rest", c.AtRest.MS, 50, 1e-6)
	near(t, "lag in motion", c.InMotion.MS, 50, 1e-6)
	if !c.OneLag() {
		t.Error("one time constant has two lags")
	}
	really := 1000 * stats.FirstOrderPhase(tau, 1.0/rate, 2) / 2
	near(t, "lag measured", c.Measured.Value, really, 0.005)
	if q := c.Measured; *q.Low > really || *q.High < really || *q.High-*q.Low > 0.5 {
		t.Errorf("lag measured %g, %g to %g", q.Value, *q.Low, *q.High)
	}
	phase := stats.FirstOrderPhase(tau, 1.0/rate, 3) * 180 / math.Pi
	near(t, "phase", *c.AtRest.PhaseDeg, phase, 1e-6)
	near(t, "margin before", c.Unsmoothed.MarginDeg, 38.433798438225914, 1e-10) // pilot.crossover
	near(t, "overshoot before", *c.Unsmoothed.Overshoot, 40.01805842666444, 1e-8)
	near(t, "margin after", c.AtRest.Loop.MarginDeg, c.Unsmoothed.MarginDeg-phase, 1e-9)
	if !(*c.AtRest.Loop.Overshoot > *c.Unsmoothed.Overshoot) {
		t.Errorf("overshoot %g", *c.AtRest.Loop.Overshoot)
	}
	alpha := 1 / (1 + tau*rate)
	for _, b := range a.Bands {
		near(t, "jitter", *b.Smoothed/b.After, math.Sqrt(alpha/(2-alpha)), 1e-6)
	}
	if n := len(a.Seconds); len(a.Smoothed) != n || len(a.Worst.NoiseSmoothed) != len(a.Worst.NoiseAfter) {
		t.Errorf("%d smoothed commands of %d, %d of the worst", len(a.Smoothed), n, len(a.Worst.NoiseSmoothed))
	}
	if !strings.Contains(c.Says, "every movement comes 50 ms late") {
		t.Errorf("says %q", c.Says)
	}
}

// The interval is as wide as the lag measured scatters, from flight to flight:
// it depends on how fast the hand moves.
func TestMeasuredLagsInterval(t *testing.T) {
	const of = 40
	var lags, widths []float64
	rng := rand.New(rand.NewPCG(8, 2))
	for range of {
		r := newRecorded(50, input.TwoSided, "pitch")
		r.add(input.NoPhase, 1, func(float64) float64 { return 100 })
		pace, at := 0.0, 0.0
		r.add(input.Flight, 300, func(t float64) float64 {
			if math.Mod(t, 10) < 0.019 {
				pace = 0.5 + 3*rng.Float64()
			}
			at += pace / 50
			return 100 + 12000*math.Sin(at)
		})
		q := smoothedReplay(t, r, stats.FirstOrder(0.2)).Smoothing.Measured
		lags, widths = append(lags, q.Value), append(widths, (*q.High-*q.Low)/2)
	}
	// Student's t of 0.975 with 29 degrees of freedom, from 30 blocks; three
	// standard errors of a scatter of 40 are 0.34 of it.
	within(t, "width over scatter", stat.Mean(widths, nil)/2.0452/stat.StdDev(lags, nil), 0.66, 1.34)
}

// What is left is what the filter leaves of the noise alone, were it known; the
// device here reports every fourth row.
func TestSmoothedJitterIsThatOfTheNoiseAlone(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 2))
	r := newRecorded(200, input.TwoSided, "pitch")
	var noise, seconds []float64
	held, hand := 0.0, 0.0
	r.add(input.Flight, 120, func(t float64) float64 {
		if len(noise)%4 == 0 {
			held, hand = 300*rng.NormFloat64(), 15000+2000*math.Sin(t)
		}
		noise, seconds = append(noise, held), append(seconds, t)
		return hand + held
	})
	f := stats.FirstOrder(0.05)
	left := stat.StdDev(stats.Smooth(noise, f.Weights(seconds, noise)), nil) / stat.StdDev(noise, nil)
	for _, b := range smoothedReplay(t, r, f).Bands {
		near(t, "left", *b.Smoothed/b.After, left, 0.05)
	}
}

// At rest the 1 € filter is as slow as its cutoff there, on a steady ramp as
// fast as the speed has made it.
func TestReplaySmoothedByOneEuro(t *testing.T) {
	r := newRecorded(200, input.TwoSided, "pitch")
	r.add(input.Rest, 10, func(float64) float64 { return 100 })
	r.add(input.Flight, 16, func(t float64) float64 { return 100 + 30000*0.05*t })
	c := smoothedReplay(t, r, stats.OneEuro{MinCutoff: 1, Beta: 40, SpeedCutoff: 1}).Smoothing
	near(t, "lag at rest", c.AtRest.MS, 1000/(2*math.Pi), 1e-6)
	// On a ramp of 0.05 a second (the fixture's half-throw is 30000 counts) the
	// filter, τ behind, sees the speed 0.05 (τ+T)/T, as it takes it from its own
	// last value; τ settles where that gives its cutoff.
	const step = 1.0 / 200
	tau := 0.1
	for range 200 {
		tau = (tau + 1/(2*math.Pi*(1+40*0.05*(tau+step)/step))) / 2
	}
	near(t, "lag in motion", c.InMotion.MS, 1000*tau, 0.005)
	if c.OneLag() || !strings.Contains(c.Says, "near rest come 159 ms late") || !strings.Contains(c.Says, "quick ones come 17 ms late") {
		t.Errorf("says %q", c.Says)
	}
}

// The false motions left are counted on the smoothed command: single spikes
// beyond the deadband are smoothed away.
func TestReplaySmoothedFalseMotions(t *testing.T) {
	r := newRecorded(100, input.TwoSided, "pitch")
	r.add(input.Rest, 60, func(t float64) float64 {
		if int(math.Round(t*100))%1000 == 500 {
			return 100 + 900
		}
		return 100
	})
	a := smoothedReplay(t, r, stats.FirstOrder(0.1))
	if a.FalseMotions != 6 || a.Smoothing.FalseMotions != 0 || a.Smoothing.InMotion != nil || a.Smoothing.Measured != nil {
		t.Errorf("%d false motions, smoothed %+v", a.FalseMotions, a.Smoothing)
	}
}

func TestSmoothingLeavesNoMargin(t *testing.T) {
	c := smoothedReplay(t, swung(0), stats.FirstOrder(0.6)).Smoothing
	if c.AtRest.Loop.Overshoot != nil || c.AtRest.Loop.MarginDeg > 0 || !strings.Contains(c.Says, "does not settle") {
		t.Errorf("loop %+v, says %q", c.AtRest.Loop, c.Says)
	}
	for _, crossover := range []float64{0, -1, 5.3, math.NaN()} {
		if _, err := Replay(swung(0).rec, replayProfile(t), Smoothing{stats.FirstOrder(0.1), crossover}); err == nil || !strings.Contains(err.Error(), "crossover") {
			t.Errorf("crossover %g: %v", crossover, err)
		}
	}
}

// A lever is not flown in a loop: its lag is stated, no phase.
func TestSmoothingOfALever(t *testing.T) {
	r := newRecorded(100, input.OneSided, "pitch")
	r.add(input.Flight, 30, func(t float64) float64 { return -20000 + 1000*t + 500*math.Sin(t) })
	p := replayProfile(t)
	p.Axes[0].Response = curves.StraightThrough(curves.OneSided)
	out, err := Replay(r.rec, p, Smoothing{stats.FirstOrder(0.04), 3})
	if err != nil {
		t.Fatal(err)
	}
	c := out.Axes[0].Smoothing
	if c.AtRest.PhaseDeg != nil || c.AtRest.Loop != nil || c.Unsmoothed != nil || strings.Contains(c.Says, "correction") {
		t.Errorf("%+v", c)
	}
	near(t, "lag measured", c.Measured.Value, 40, 0.02)
}
