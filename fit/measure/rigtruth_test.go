package measure

import (
	"math"
	"testing"

	"halfstick/input"
	"halfstick/input/rig"
)

// seeds of the default rig that the tests measure.
var seeds = []uint64{1, 2}

func eachAxis(t *testing.T, f func(t *testing.T, a *Axis, truth rig.Truth)) int {
	t.Helper()
	n := 0
	for _, seed := range seeds {
		d := defaultRig(t, seed)
		if len(d.m.Axes) != len(d.truth) {
			t.Fatalf("seed %d: %d axes measured, the rig has %d", seed, len(d.m.Axes), len(d.truth))
		}
		for i := range d.m.Axes {
			f(t, &d.m.Axes[i], d.truth[i])
			n++
		}
	}
	return n
}

func TestRigStepAndRate(t *testing.T) {
	n := eachAxis(t, func(t *testing.T, a *Axis, truth rig.Truth) {
		if a.Step == nil || math.Abs(a.Step.Value-truth.StepCounts) > 1e-9*truth.StepCounts {
			t.Errorf("%s: step %+v, the rig's is %v", a.Label, a.Step, truth.StepCounts)
		}
		if hz := a.Timing.ReportHz; hz == nil || math.Abs(hz.Value-truth.ReportHz) > 0.002*truth.ReportHz {
			t.Errorf("%s: report rate %+v, the rig's is %v", a.Label, hz, truth.ReportHz)
		}
	})
	if n != 14 {
		t.Fatalf("looked at %d axes, want 14", n)
	}
}

// Of 95 % intervals, 14 axes miss 0.7 on the mean; four or more would happen
// in 0.4 % of all choices of seeds. Beyond the count, none may be far off.
func TestRigRestNoise(t *testing.T) {
	missed, drifts, corrs := 0, 0, 0
	eachAxis(t, func(t *testing.T, a *Axis, truth rig.Truth) {
		s := a.Rest.Sigma
		if s == nil {
			t.Fatalf("%s: no σ", a.Label)
		}
		if math.Abs(s.Value/truth.SigmaCounts-1) > 0.06 {
			t.Errorf("%s: σ %.2f, the rig's is %.2f", a.Label, s.Value, truth.SigmaCounts)
		}
		if !has(s, truth.SigmaCounts) {
			missed++
		}
		if !has(a.Rest.DriftPerMinute, truth.DriftCountsPerMinute) {
			drifts++
		}
		// Rounding adds a white part to the noise and so dilutes the correlation.
		v := truth.SigmaCounts * truth.SigmaCounts
		diluted := truth.Correlation * v / (v + truth.StepCounts*truth.StepCounts/12)
		if !has(a.Rest.Correlation, diluted) {
			corrs++
		}
	})
	if missed > 3 || drifts > 3 || corrs > 3 {
		t.Errorf("of 14 intervals, σ's missed %d, drift's %d, correlation's %d; want at most 3 each", missed, drifts, corrs)
	}
}

// The rig drifts while it is recorded, so a stop or a resting place met late
// is off by the drift until then.
func TestRigTravelAndReturn(t *testing.T) {
	for _, seed := range seeds {
		d := defaultRig(t, seed)
		minutes := d.rec.Duration().Minutes()
		for i := range d.m.Axes {
			a, truth := &d.m.Axes[i], d.truth[i]
			slack := math.Abs(truth.DriftCountsPerMinute)*minutes + 1.5*truth.StepCounts + truth.SigmaCounts
			near := func(what string, q *Quantity, want float64) {
				t.Helper()
				if q == nil || math.Abs(q.Value-want) > slack {
					t.Errorf("seed %d %s: %s %+v, the rig's is %.0f ± %.0f", seed, a.Label, what, q, want, slack)
				}
			}
			near("low stop", a.Travel.Low, truth.LowCounts)
			near("high stop", a.Travel.High, truth.HighCounts)
			if truth.Kind == input.OneSided {
				if a.Travel.Centre != nil || a.Return.FromLow != nil || a.Return.FromHigh != nil {
					t.Errorf("%s: a one-sided axis has no centre and no return", a.Label)
				}
				continue
			}
			// Releases scatter with the friction.
			slack += 2 * truth.ReturnSpread * *truth.GapCounts
			near("return from low", a.Return.FromLow.Mean, *truth.ReturnLow)
			near("return from high", a.Return.FromHigh.Mean, *truth.ReturnHigh)
			near("centre", a.Travel.Centre, truth.CentreCounts)
			slack = 2*truth.StepCounts + 1.3*truth.ReturnSpread**truth.GapCounts
			near("gap", a.Return.Gap, *truth.GapCounts)
			if r := a.Return.FromHigh.Seconds; r.Value <= 0.05 || r.Value > 3 {
				t.Errorf("%s: %.2f s to rest", a.Label, r.Value)
			}
		}
	}
}

func TestRigFaultsFound(t *testing.T) {
	for _, seed := range seeds {
		d := defaultRig(t, seed)
		axis := func(label string) *Axis {
			a, err := d.m.Axis(label)
			if err != nil {
				t.Fatal(err)
			}
			return a
		}
		want := func(label, c string, s Severity) *Finding {
			t.Helper()
			f := code(axis(label), c)
			if f == nil || f.Severity != s {
				t.Fatalf("seed %d: %s has no %s of severity %s: %+v", seed, label, c, s, axis(label).Findings)
			}
			if f.Says == "" || f.Advice == "" || len(f.Evidence) == 0 {
				t.Errorf("%s: %s says %q, advises %q on %d numbers", label, c, f.Says, f.Advice, len(f.Evidence))
			}
			return f
		}
		want("rudder", "poor-return-high", Compensate)
		want("rudder", "rest-noise", Compensate)
		want("right-brake", "dead-side-high", Repair)
		if f := want("rudder", "worn-band", Repair); axis("rudder").Findings[0].Code != f.Code {
			t.Errorf("rudder's first finding is %s", axis("rudder").Findings[0].Code)
		}
		if low := code(axis("rudder"), "poor-return-low"); low != nil && low.Severity == Compensate && seed == 1 {
			t.Errorf("the rudder's good side is found poor: %s", low.Says)
		}
		for _, label := range []string{"pitch", "roll", "twist", "lever"} {
			want(label, "steady", Good)
			for _, f := range axis(label).Findings {
				if f.Severity == Compensate || f.Severity == Repair {
					t.Errorf("seed %d: %s is healthy but has %s: %s", seed, label, f.Code, f.Says)
				}
			}
		}
	}
}

func TestRigWornBand(t *testing.T) {
	for _, seed := range seeds {
		d := defaultRig(t, seed)
		for i := range d.m.Axes {
			a, truth := &d.m.Axes[i], d.truth[i]
			w := a.Sweep
			if truth.Worn == nil {
				if w.WornRatio != nil && w.WornRatio.Value > 1.5 {
					t.Errorf("seed %d %s: worn by %.2f where the rig is not", seed, a.Label, w.WornRatio.Value)
				}
				continue
			}
			if w.WornRatio == nil {
				t.Fatalf("seed %d %s: worn band not found", seed, a.Label)
			}
			half := (truth.HighCounts - truth.LowCounts) / 2
			for j, q := range []*Quantity{w.WornFrom, w.WornTo} {
				at := q.Value*(a.Travel.High.Value-a.Travel.Centre.Value) + a.Travel.Centre.Value
				// 2 % of the throw is 4 % of the half-throw.
				if off := math.Abs(at-truth.WornCounts[j]) / half; off > 0.04 {
					t.Errorf("seed %d: end %d of the worn band is off by %.3f of half-throw", seed, j, off)
				}
			}
			if math.Abs(w.WornRatio.Value/truth.Worn.Times-1) > 0.15 {
				t.Errorf("seed %d: worn by %.2f, the rig by %.2f", seed, w.WornRatio.Value, truth.Worn.Times)
			}
			if len(w.Bands) != bandCount {
				t.Errorf("%d bands", len(w.Bands))
			}
		}
	}
}

// Slow motion must not count as noise: away from the worn stretch, the noise
// along the throw is that at rest.
func TestRigSweepNoise(t *testing.T) {
	n := 0
	eachAxis(t, func(t *testing.T, a *Axis, truth rig.Truth) {
		for _, b := range a.Sweep.Bands {
			if b.Sigma == nil || truth.Worn != nil && b.To > 0.1 && b.From < 0.4 {
				continue
			}
			n++
			if r := b.Sigma.Value / truth.SigmaCounts; r < 0.6 || r > 1.4 {
				t.Errorf("%s at %.1f: σ %.1f, at rest %.1f", a.Label, b.From, b.Sigma.Value, truth.SigmaCounts)
			}
		}
	})
	if n < 200 {
		t.Errorf("only %d bands have a number", n)
	}
}

func TestRigCoupling(t *testing.T) {
	n := 0
	eachAxis(t, func(t *testing.T, a *Axis, _ rig.Truth) {
		for _, c := range a.Coupling {
			n++
			if math.Abs(c.Share.Value) > 1 {
				t.Errorf("%s with %s: %.2f %%, the rig has none", a.Label, c.With, c.Share.Value)
			}
		}
	})
	if want := len(seeds) * (4*3 + 3*2); n != want {
		t.Errorf("%d couplings, want %d", n, want)
	}
}
