package measure

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"halfstick/input"
	"halfstick/input/rig"
)

// k·area = c·height for any damping: in closed form, the area under a fall of
// height 1 from rest is c/k.
func TestFallTimeIsDamperOverSpring(t *testing.T) {
	const mass, k = 0.1, 25.0
	for _, c := range []float64{0.6, 1.5, 6} { // swings, swings a little, creeps
		var ts, xs []float64
		x, v := 1.0, 0.0
		const dt = 1e-4
		for at := 0.0; at < 6; at += dt {
			ts, xs = append(ts, at), append(xs, 3+x)
			v += dt * (-k*x - c*v) / mass
			x += dt * v
		}
		if got := fallTime(ts, xs, 3); math.Abs(got/(c/k)-1) > 0.01 {
			t.Errorf("c = %.1f: fall time %.4f s, want c/k = %.4f", c, got, c/k)
		}
	}
}

// The gap belongs to the soft side, and on a sensor with a dead side each side
// is measured by its own counts.
func TestCentreBetweenUnequalSides(t *testing.T) {
	for name, change := range map[string]func(a *rig.AxisSpec){
		"soft high": func(a *rig.AxisSpec) { a.Spring.High, a.Friction = 4, 0.2 },
		"soft low":  func(a *rig.AxisSpec) { a.Spring.Low, a.Friction = 4, 0.2 },
		"dead high": func(a *rig.AxisSpec) { a.Lost.High, a.Friction, a.White = 0.9, 0.25, 0.3 },
	} {
		t.Run(name, func(t *testing.T) {
			spec := soundDevice()
			spec.Axes[0].Bits, spec.Axes[0].Damping = 14, 3.5 // it does not swing past the centre
			change(&spec.Axes[0])
			plan := shortPlan
			plan.Settle = 5
			rec, r := scripted(t, spec, plan, 500, nil)
			a, truth := measured(t, rec), r.Truth()[0]
			if a.Return.Gap == nil || a.Return.FromLow.Mean.N != plan.Releases || a.Return.FromHigh.Mean.N != plan.Releases {
				t.Fatalf("return %+v; notes %q", a.Return, a.Notes)
			}
			gap := a.Return.Gap.Value
			if math.Abs(gap / *truth.GapCounts - 1) > 0.15 { // the friction scatters by a tenth
				t.Errorf("gap %s, the rig's is %.1f", show(a.Return.Gap), *truth.GapCounts)
			}
			if off := math.Abs(a.Travel.Centre.Value - truth.CentreCounts); off > 0.1*gap {
				t.Errorf("centre off by %.1f, more than a tenth of the gap of %.1f", off, gap)
			}
		})
	}
}

// Noise and rounding are no scatter of the control: the interval of the spread
// holds what the releases really scatter by, whether the noise is larger, as
// large, or far below a step.
func TestSpreadIsNetOfNoise(t *testing.T) {
	step := 65535.0 / 4095
	const runs = 24
	for _, c := range []struct{ sigma, rho, scatter float64 }{{30, 0.5, 3}, {2, 0, 2}, {0.05, 0, 1}} {
		held, mean := 0, 0.0
		for s := range uint64(runs) {
			d := usual()
			d.seed, d.sigma, d.rho, d.rateHz = 900+s, c.sigma, c.rho, 250
			rng := newScatter(900 + s)
			parts := []part{pause(0.5, 2000), sweeping(100, 4000, 2, 1), resting(8, 2000)}
			for range 5 {
				parts = append(parts, releasing(input.ReleaseLow, 100, 1980+c.scatter*rng()), pause(0.3, 2000))
			}
			q := d.measure(t, parts...).Return.FromLow.Spread
			mean += q.Value / step / runs
			if has(q, c.scatter*step) {
				held++
			}
		}
		// Of 24 at 95 %, fewer than 20 happen in 0.6 % of all choices of seeds.
		if held < 20 {
			t.Errorf("σ %.2f: %d of %d intervals hold a scatter of %.0f steps", c.sigma, held, runs, c.scatter)
		}
		if math.Abs(mean/c.scatter-1) > 0.35 {
			t.Errorf("σ %.2f: spread %.2f steps on the mean, want about %.0f", c.sigma, mean, c.scatter)
		}
	}
}

// The intervals of mean and spread hold what many releases of the rig do.
func TestReturnsOfTheRigCover(t *testing.T) {
	const runs = 12
	plan := shortPlan
	plan.Sweeps, plan.Releases = 1, 3
	means, spreads := 0, 0
	for s := range uint64(runs) {
		spec := soundDevice()
		spec.Axes[0].Bits, spec.Axes[0].FrictionSpread = 10+2*int(s%3), 0.2
		rec, r := seeded(t, 300+s, spec, plan, 250, nil)
		a := measured(t, rec)
		for side, q := range []*ReturnSide{a.Return.FromLow, a.Return.FromHigh} {
			mean, sd := stat.MeanStdDev(r.SimulateReturns(0, side == 1, 60, plan.Settle), nil)
			if has(q.Mean, mean) {
				means++
			}
			if has(q.Spread, sd) {
				spreads++
			}
		}
	}
	// Of 24 at 95 %, fewer than 20 happen in 0.6 % of all choices of seeds.
	if means < 20 || spreads < 20 {
		t.Errorf("of %d intervals, %d hold the mean and %d the spread", 2*runs, means, spreads)
	}
}

// A drift is not held against the centre, and does not hide one that is off.
func TestOffCentreNetOfDrift(t *testing.T) {
	for _, c := range []struct {
		centre, drift float64 // x, steps a minute
		off           bool
	}{{0, -400, false}, {0, 400, false}, {0.12, -300, true}} {
		spec := soundDevice()
		a := &spec.Axes[0]
		a.Spring.Centre, a.DriftStepsPerMinute = c.centre, c.drift
		rec, _ := scripted(t, spec, shortPlan, 250, nil)
		m := measured(t, rec)
		f := code(m, "off-centre")
		if acts := f != nil && f.Severity == Compensate; acts != c.off {
			t.Errorf("centre %.2f, drift %.0f steps a minute: %+v; centre %s", c.centre, c.drift, f, show(m.Travel.Centre))
		}
		if code(m, "drift") == nil {
			t.Errorf("the drift of %.0f steps a minute is not found", c.drift)
		}
	}
}

// The drift between releases is that at rest where that is sure, the releases'
// own where it is not, and never a difference of the two sides.
func TestReturnDrift(t *testing.T) {
	side := func(level float64) (out []seenLevel) {
		for i := range 5 {
			at := 10 * float64(i)
			out = append(out, seenLevel{at, level + 0.7*at + []float64{3, -2, 0, 2, -3}[i]})
		}
		return out
	}
	low, high := side(-400), side(400)
	for name, c := range map[string]struct {
		atRest      *Quantity
		slope, near float64
	}{
		"no rest":     {nil, 0.7, 0.15},
		"unsure rest": {within(0, -600, 600, unitCountsPerMinute, 9, ""), 0.7, 0.15},
		"sure rest":   {within(36, 35.9, 36.1, unitCountsPerMinute, 9, ""), 0.6, 0.01},
	} {
		a := &analysis{step: 1, out: &Axis{Rest: Rest{DriftPerMinute: c.atRest}}, landings: [2][]seenLevel{low, high}}
		if d := a.returnDrift(); math.Abs(d.slope-c.slope) > c.near || d.cost < 0 || d.cost > 0.5 {
			t.Errorf("%s: %+v, want a slope of %.1f", name, d, c.slope)
		}
	}
	a := &analysis{step: 1, out: &Axis{}, landings: [2][]seenLevel{low[:2], high[:2]}}
	if d := a.returnDrift(); d != (returnDrift{}) {
		t.Errorf("from two releases a side: %+v", d)
	}
}
