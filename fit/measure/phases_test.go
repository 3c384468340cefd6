package measure

import (
	"math"
	"strings"
	"testing"

	"halfstick/input"
	"halfstick/input/rig"
)

// shortRig records a short script of the default rig, with and without its
// labels.
func shortRig(t *testing.T) (labelled, stripped *Measurement) {
	t.Helper()
	r := rig.Default(3)
	plan := rig.FullPlan
	plan.FlySeconds, plan.RestSeconds, plan.HoldSeconds, plan.Sweeps, plan.Releases = 0, 15, 0, 2, 3
	if err := r.SetScript(r.PlannedScript(plan)); err != nil {
		t.Fatal(err)
	}
	rec := record(t, r, 250)
	measured := func(name string) *Measurement {
		m, err := Recording(rec, name)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	labelled = measured("labelled")
	rec.Stretches = []input.Stretch{{To: rec.Rows()}}
	return labelled, measured("stripped")
}

func noted(a *Axis, says string) bool {
	for _, n := range a.Notes {
		if strings.Contains(n, says) {
			return true
		}
	}
	return false
}

// Without labels, rest, sweeps and releases are found from the data, and the
// numbers are those with labels.
func TestPhasesFoundWithoutLabels(t *testing.T) {
	labelled, stripped := shortRig(t)
	for i := range labelled.Axes {
		l, s := &labelled.Axes[i], &stripped.Axes[i]
		if noted(l, "not labelled") {
			t.Errorf("%s: something was searched for although it is labelled: %q", l.Label, l.Notes)
		}
		for _, says := range []string{"rest is not labelled", "sweeps are not labelled"} {
			if !noted(s, says) {
				t.Errorf("%s: no note that %s: %q", s.Label, says, s.Notes)
			}
		}
		if len(l.Coupling) == 0 || len(s.Coupling) != len(l.Coupling) {
			t.Errorf("%s: coupling with %d axes, with labels %d", s.Label, len(s.Coupling), len(l.Coupling))
		}
		if l.Rest.Sigma == nil || s.Rest.Sigma == nil || math.Abs(s.Rest.Sigma.Value/l.Rest.Sigma.Value-1) > 0.1 {
			t.Errorf("%s: σ %+v, with labels %+v", s.Label, s.Rest.Sigma, l.Rest.Sigma)
			continue
		}
		near := func(what string, got, want *Quantity, slack float64) {
			t.Helper()
			if got == nil || want == nil {
				t.Errorf("%s: %s %+v, with labels %+v", s.Label, what, got, want)
			} else if math.Abs(got.Value-want.Value) > slack {
				t.Errorf("%s: %s %s, with labels %s, more than %.0f apart", s.Label, what, show(got), show(want), slack)
			}
		}
		slack := 0.003*fullSpan + l.Step.Value
		near("low stop", s.Travel.Low, l.Travel.Low, slack)
		near("high stop", s.Travel.High, l.Travel.High, slack)
		if l.Return.FromLow == nil || l.Return.FromHigh == nil {
			continue
		}
		if s.Return.FromLow == nil || s.Return.FromHigh == nil {
			t.Errorf("%s: no releases found", s.Label)
			continue
		}
		// After the last sweep the hand brings the axis home in half a second and
		// then lets go: the counts look like one release more.
		more := s.Return.FromLow.Mean.N + s.Return.FromHigh.Mean.N - l.Return.FromLow.Mean.N - l.Return.FromHigh.Mean.N
		if more < 0 || more > 1 {
			t.Errorf("%s: %d releases more found than labelled", s.Label, more)
		}
		near("return from low", s.Return.FromLow.Mean, l.Return.FromLow.Mean, slack)
		near("return from high", s.Return.FromHigh.Mean, l.Return.FromHigh.Mean, slack)
	}
}

// A touch during a labelled rest is cut out; the rest of it counts.
func TestTouchedRest(t *testing.T) {
	d := usual()
	parts := d.whole()
	calm := d.measure(t, parts...)
	mid := 0.5 * d.most()
	touched := parts[3]
	touched.at = func(t float64) float64 {
		if t > 8 && t < 11 {
			return mid + 0.2*d.most()*math.Sin((t-8)*math.Pi/3)
		}
		return mid
	}
	if parts[3].phase.Kind != input.Rest {
		t.Fatal("the fourth part is no rest")
	}
	parts[3] = touched
	a := d.measure(t, parts...)
	if !noted(a, "touched during rest: 1 parts") {
		t.Errorf("no note of the touch: %q", a.Notes)
	}
	if noted(calm, "touched") {
		t.Errorf("an untouched rest is called touched: %q", calm.Notes)
	}
	if math.Abs(a.Rest.Sigma.Value/calm.Rest.Sigma.Value-1) > 0.1 || a.Rest.PeakToPeak.Value > 2*calm.Rest.PeakToPeak.Value {
		t.Errorf("σ %s and peak to peak %s, untouched %s and %s", show(a.Rest.Sigma), show(a.Rest.PeakToPeak), show(calm.Rest.Sigma), show(calm.Rest.PeakToPeak))
	}
}

// Drift and noise are no touch, and a fast hand makes neither rest nor sweep.
func TestNothingFoundWhereNothingIs(t *testing.T) {
	d := usual()
	drifting := resting(30, 0)
	drifting.at = func(t float64) float64 { return 0.5*d.most() + 0.03*d.most()*t/30 }
	parts := d.whole()
	parts[3] = drifting
	d.rho = 0.9
	if a := d.measure(t, parts...); noted(a, "touched") {
		t.Errorf("drift is called a touch: %q", a.Notes)
	}
	waving := part{seconds: 30, at: func(t float64) float64 { return d.most() * (0.5 + 0.4*math.Sin(6*t)) }}
	if a := d.measure(t, waving); noted(a, "not labelled") {
		t.Errorf("a waving hand: %q", a.Notes)
	}
}
