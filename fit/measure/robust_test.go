package measure

import (
	"fmt"
	"math"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

// soundDevice is a two-sided axis without a fault, known in every respect.
func soundDevice() rig.DeviceSpec {
	return rig.DeviceSpec{ID: "device", Name: "Example Device", ReportHz: 125, Axes: []rig.AxisSpec{{
		Label: "axis", Kind: input.TwoSided, Bits: 12, Mass: 0.08, Damping: 2,
		Spring: rig.Spring{Low: 25, High: 25}, Friction: 0.1, FrictionSpread: 0.1,
		Travel: rig.Travel{Low: 0.02, High: 0.98}, White: 1.5,
	}}}
}

var shortPlan = rig.Plan{Sweeps: 2, SweepSeconds: 2.5, RestSeconds: 12, Releases: 4, Settle: 3}

// scripted records a device under the steps that change makes of the plan's.
func scripted(t testing.TB, spec rig.DeviceSpec, plan rig.Plan, rateHz float64, change func(r *rig.Rig, s []rig.Step) []rig.Step) (*input.Recording, *rig.Rig) {
	t.Helper()
	return seeded(t, 41, spec, plan, rateHz, change)
}

func seeded(t testing.TB, seed uint64, spec rig.DeviceSpec, plan rig.Plan, rateHz float64, change func(r *rig.Rig, s []rig.Step) []rig.Step) (*input.Recording, *rig.Rig) {
	t.Helper()
	r, err := rig.New([]rig.DeviceSpec{spec}, seed)
	if err != nil {
		t.Fatal(err)
	}
	steps := r.PlannedScript(plan).Steps()
	if change != nil {
		steps = change(r, steps)
	}
	if err := r.SetScript(rig.NewScript(steps...)); err != nil {
		t.Fatal(err)
	}
	return record(t, r, rateHz), r
}

func measured(t testing.TB, rec *input.Recording) *Axis {
	t.Helper()
	m, err := Recording(rec, "robust")
	if err != nil {
		t.Fatal(err)
	}
	return &m.Axes[0]
}

// holdsTruth holds every main quantity of an axis against its rig: σ within
// 10 %, stops and returns within 0.3 % of the half-throw, no play beyond 2 %,
// and nothing found that asks for something.
func holdsTruth(t *testing.T, a *Axis, r *rig.Rig) {
	t.Helper()
	truth := r.Truth()[0]
	half := (truth.HighCounts - truth.LowCounts) / 2
	near := func(what string, q *Quantity, want, slack float64) {
		t.Helper()
		switch {
		case q == nil:
			t.Errorf("no %s; notes %q", what, a.Notes)
		case math.Abs(q.Value-want) > slack:
			t.Errorf("%s %s, the rig's is %.1f; notes %q", what, show(q), want, a.Notes)
		}
	}
	near("σ", a.Rest.Sigma, truth.SigmaCounts, 0.1*truth.SigmaCounts)
	near("step", a.Step, truth.StepCounts, 1e-6)
	near("low stop", a.Travel.Low, truth.LowCounts, 0.003*half)
	near("high stop", a.Travel.High, truth.HighCounts, 0.003*half)
	near("gap", a.Return.Gap, *truth.GapCounts, 0.003*half)
	near("centre", a.Travel.Centre, truth.CentreCounts, 0.003*half)
	near("hysteresis", a.Sweep.Hysteresis, 0, 0.02*half)
	for _, f := range a.Findings {
		if f.Severity == Compensate || f.Severity == Repair {
			t.Errorf("a sound device has %s: %s", f.Code, f.Says)
		}
	}
}

// unlabel takes the labels of some kinds of phase away.
func unlabel(rec *input.Recording, kinds ...input.PhaseKind) {
	for i := range rec.Stretches {
		for _, k := range kinds {
			if rec.Stretches[i].Phase.Kind == k {
				rec.Stretches[i].Phase = input.Phase{}
			}
		}
	}
}

// Whatever is not labelled is found, and what is labelled is taken as it is.
func TestPartlyLabelled(t *testing.T) {
	for name, kinds := range map[string][]input.PhaseKind{
		"all":            nil,
		"no rest":        {input.Rest},
		"no sweep":       {input.Sweep},
		"no release":     {input.ReleaseLow, input.ReleaseHigh},
		"no low release": {input.ReleaseLow},
		"none":           {input.Rest, input.Sweep, input.ReleaseLow, input.ReleaseHigh},
	} {
		t.Run(name, func(t *testing.T) {
			rec, r := scripted(t, soundDevice(), shortPlan, 250, nil)
			unlabel(rec, kinds...)
			a := measured(t, rec)
			holdsTruth(t, a, r)
			if got := noted(a, "not labelled"); got != (len(kinds) > 0) {
				t.Errorf("says that something is not labelled: %v; notes %q", got, a.Notes)
			}
		})
	}
}

// during puts steps into the middle of the rest.
func duringRest(hands ...rig.Hand) func(*rig.Rig, []rig.Step) []rig.Step {
	return func(_ *rig.Rig, steps []rig.Step) []rig.Step {
		var out []rig.Step
		for _, s := range steps {
			if s.Phase.Kind != input.Rest {
				out = append(out, s)
				continue
			}
			s.Length /= 2
			touch := rig.Step{Phase: s.Phase, Length: 1500 * time.Millisecond, Hands: hands}
			out = append(out, s, touch, s)
		}
		return out
	}
}

func TestTouchedRestOnTheRig(t *testing.T) {
	for _, reach := range []float64{0.03, 0.3} {
		touch := func(t float64) (float64, bool) { return reach * math.Sin(2*math.Pi*t), true }
		rec, r := scripted(t, soundDevice(), shortPlan, 500, duringRest(touch))
		a := measured(t, rec)
		holdsTruth(t, a, r)
		if !noted(a, "touched during rest") {
			t.Errorf("a touch of %.0f %% goes unnoticed: %q", 100*reach, a.Notes)
		}
	}
}

// A sweep that turns half way is no stop, adds no hysteresis, and leaves the
// whole ones as they are.
func TestSweepThatTurnsHalfWay(t *testing.T) {
	half := func(r *rig.Rig, steps []rig.Step) []rig.Step {
		hand := func(t float64) (float64, bool) { return -1.04 + 1.5*math.Sin(math.Pi*t/6), true }
		broken := rig.Step{Phase: input.Phase{Kind: input.Sweep, Label: "axis"}, Length: 6 * time.Second, Hands: []rig.Hand{hand}}
		var out []rig.Step
		for i, s := range steps {
			if i > 0 && steps[i-1].Phase.Kind == input.Sweep {
				out = append(out, broken)
			}
			out = append(out, s)
		}
		if len(out) != len(steps)+1 {
			panic("no sweep in the plan")
		}
		return out
	}
	rec, r := scripted(t, soundDevice(), shortPlan, 500, half)
	holdsTruth(t, measured(t, rec), r)
}

// A release that swings through the centre many times comes to rest late, and
// that is where it is measured.
func TestBouncingRelease(t *testing.T) {
	spec := soundDevice()
	a := &spec.Axes[0]
	a.Damping = 2 * 0.08 * math.Sqrt(a.Spring.Low*a.Mass) // a twelfth of critical
	plan := shortPlan
	plan.Settle = 5
	rec, r := scripted(t, spec, plan, 500, nil)
	bounces, calm := measured(t, rec), 0.0
	{
		rec, _ := scripted(t, soundDevice(), plan, 500, nil)
		calm = measured(t, rec).Return.FromHigh.Seconds.Value
	}
	for side, q := range []*ReturnSide{bounces.Return.FromLow, bounces.Return.FromHigh} {
		if q == nil || q.Mean.N != plan.Releases {
			t.Fatalf("%d: %+v, want %d releases; notes %q", side, q, plan.Releases, bounces.Notes)
		}
		ends := r.SimulateReturns(0, side == 1, 40, plan.Settle)
		mean := 0.0
		for _, e := range ends {
			mean += e / float64(len(ends))
		}
		if !has(q.Mean, mean) {
			t.Errorf("%d: returns to %s, the rig to %.1f", side, show(q.Mean), mean)
		}
		if q.Seconds.Value < 2*calm {
			t.Errorf("%d: comes to rest in %s, without a bounce in %.2f s", side, show(q.Seconds), calm)
		}
	}
}

// lose takes the device away for a stretch of seconds.
func lose(rec *input.Recording, from, to float64) {
	edit(rec, func(_ int, row *input.Row) bool {
		if t := float64(row.AtUS) * 1e-6; t >= from && t < to {
			clear(row.Present)
		}
		return true
	})
}

// starts lists when the stretches of a kind begin, in seconds.
func starts(rec *input.Recording, kind input.PhaseKind) []float64 {
	var out []float64
	for _, s := range rec.Stretches {
		if s.Phase.Kind == kind {
			out = append(out, float64(rec.Times.At(s.From))*1e-6)
		}
	}
	return out
}

// A device that is gone for a second in the rest, a sweep and two releases
// (once while the axis falls, once when it has come home) is measured from what
// is left, its absence is found, and no release is lost.
func TestDeviceGoneForASecond(t *testing.T) {
	plan := shortPlan
	plan.Sweeps = 3
	rec, r := scripted(t, soundDevice(), plan, 500, nil)
	rest, sweep, low := starts(rec, input.Rest)[0], starts(rec, input.Sweep)[0], starts(rec, input.ReleaseLow)
	for _, at := range []float64{rest + 5, sweep + 6.2, low[0] + 0.28, low[1] + 1.1} {
		lose(rec, at, at+1)
	}
	a := measured(t, rec)
	found := code(a, "dropouts")
	if found == nil || found.Severity != Repair || math.Abs(a.Timing.LostSamples.Value-2000) > 4 {
		t.Errorf("dropouts: %+v, lost %s", found, show(a.Timing.LostSamples))
	}
	if n := a.Return.FromLow; n.Mean.N != plan.Releases || n.Seconds.N != plan.Releases-1 {
		t.Errorf("%d releases and %d times from low, want %d and one less; notes %q", n.Mean.N, n.Seconds.N, plan.Releases, a.Notes)
	}
	var others []Finding
	for _, f := range a.Findings {
		if f.Code != "dropouts" {
			others = append(others, f)
		}
	}
	a.Findings = others
	holdsTruth(t, a, r)
}

// suspend takes rows out from one time to another. The times after it go on
// from where they stopped if the clock stopped too.
func suspend(rec *input.Recording, from, to float64, clockStops bool) {
	i, j := 0, 0
	for k, us := range rec.Times.All() {
		if t := float64(us) * 1e-6; t < from {
			i = k + 1
		} else if t < to {
			j = k + 1
		}
	}
	away := int64(0)
	if clockStops {
		away = rec.Times.At(j) - rec.Times.At(i)
	}
	edit(rec, func(k int, row *input.Row) bool {
		if k >= j {
			row.AtUS -= away
		}
		return k < i || k >= j
	})
	for s := range rec.Stretches {
		for _, end := range []*int{&rec.Stretches[s].From, &rec.Stretches[s].To} {
			*end -= max(0, min(*end, j)-i)
		}
	}
}

// The computer sleeps during the rest and during a sweep. The first leaves two
// rests, the second a way less. A clock that stops too shows neither.
func TestSuspended(t *testing.T) {
	for _, clockStops := range []bool{false, true} {
		t.Run(fmt.Sprintf("clock stops %v", clockStops), func(t *testing.T) {
			plan := shortPlan
			plan.Sweeps, plan.RestSeconds = 3, 30
			rec, r := scripted(t, soundDevice(), plan, 500, nil)
			rest, sweep := starts(rec, input.Rest)[0], starts(rec, input.Sweep)[0]
			suspend(rec, rest+8, rest+20, clockStops)
			if !clockStops { // else the axis seems to leap
				suspend(rec, sweep+6, sweep+6.8, clockStops)
			}
			a := measured(t, rec)
			holdsTruth(t, a, r)
			if hz := a.Timing.ReportHz; hz == nil || math.Abs(hz.Value-125) > 0.5 {
				t.Errorf("report rate %s", show(hz))
			}
		})
	}
}

// The computer sleeps in a sweep and its clock stops, so that the axis
// leaps: the times of that way say nothing of places, and the leap is no noise.
func TestSuspendedInASweep(t *testing.T) {
	plan := shortPlan
	plan.Sweeps = 3
	rec, r := scripted(t, soundDevice(), plan, 500, nil)
	whole := measured(t, rec)
	sweep := starts(rec, input.Sweep)[0]
	suspend(rec, sweep+6, sweep+6.8, true)
	a := measured(t, rec)
	holdsTruth(t, a, r)
	was, is := whole.Sweep.Hysteresis, a.Sweep.Hysteresis
	if is == nil {
		t.Fatal("no hysteresis, though two of three sweeps are whole")
	}
	if is.N != was.N-1 || is.Value > was.Value+600 {
		t.Errorf("hysteresis %s of %d ways, without the sleep %s of %d", show(is), is.N, show(was), was.N)
	}
	if f := code(a, "worn-band"); f != nil {
		t.Errorf("%s", f.Says)
	}
	if f := code(a, "plateau"); f != nil {
		t.Errorf("%s", f.Says)
	}
}

// Any sampling of any device: the rate that the device reports at, or a bound
// of it, and the same numbers.
func TestSamplingAgainstReporting(t *testing.T) {
	for _, sampled := range []float64{250, 500, 1000} {
		for _, reported := range []float64{60, 125, 1000} {
			t.Run(fmt.Sprintf("%.0f of %.0f", sampled, reported), func(t *testing.T) {
				spec := soundDevice()
				spec.ReportHz = reported
				rec, r := scripted(t, spec, shortPlan, sampled, nil)
				a := measured(t, rec)
				holdsTruth(t, a, r)
				hz := a.Timing.ReportHz
				switch {
				case hz == nil:
					t.Error("no report rate")
				case reported < sampled/1.3 && math.Abs(hz.Value-reported) > 0.005*reported:
					t.Errorf("report rate %s", show(hz))
				case reported > sampled && hz.Low != nil || hz.Value > 1.02*reported:
					t.Errorf("report rate %s, of which only a bound can be known", show(hz))
				}
			})
		}
	}
}

// Ten seconds hold a little of everything, and it is said what is missing.
func TestTenSeconds(t *testing.T) {
	d := usual()
	m := d.most()
	parts := []part{pause(0.3, m/2), sweeping(0.03*m, 0.97*m, 1.5, 1), pause(0.3, m/2), resting(3.2, m/2),
		releasing(input.ReleaseHigh, 0.97*m, m/2)}
	rec := d.record(parts...)
	if s := rec.Duration().Seconds(); s > 10 {
		t.Fatalf("%.1f s", s)
	}
	a := measured(t, rec)
	step := 65535 / m
	if s := a.Rest.Sigma; !has(s, d.sigma*step) || math.Abs(s.Value/(d.sigma*step)-1) > 0.15 {
		t.Errorf("σ %s", show(s))
	}
	if l, h := a.Travel.Low, a.Travel.High; l == nil || h == nil || math.Abs(l.Value+32768-0.03*65535) > 2*step || math.Abs(h.Value+32768-0.97*65535) > 2*step {
		t.Errorf("stops %s and %s", show(l), show(h))
	}
	if r := a.Return.FromHigh; r == nil || r.Mean.Low != nil || a.Return.Gap != nil {
		t.Errorf("one release has no interval: %+v", r)
	}
	f := code(a, "too-little-data")
	if f == nil || f.Says != "Missing for a full measurement: 6 s more of rest, 3 releases more from the low side, 2 releases more from the high side, 1 sweep more there and back." {
		t.Errorf("too little data: %+v", f)
	}
}

// Two hours of an axis that is read 20 times a second: nothing runs over, and
// what takes long to see is seen. A drift of a step in an hour is.
func TestTwoHours(t *testing.T) {
	d := usual()
	d.reportHz, d.rateHz = 20, 20
	m := d.most()
	rest := resting(2*3600-60, 0)
	rest.at = func(t float64) float64 { return 0.5*m + t/3600 }
	parts := append([]part{pause(0.5, m/2), sweeping(0.03*m, 0.97*m, 8, 2), rest}, d.whole()[4:]...)
	a := measured(t, d.record(parts...))
	step := 65535 / m
	if s := a.Rest.Sigma; !has(s, d.sigma*step) || *s.High/(*s.Low) > 1.02 {
		t.Errorf("σ %s, in truth %.2f", show(s), d.sigma*step)
	}
	if q := a.Rest.DriftPerMinute; !significant(q) || !has(q, step/60) {
		t.Errorf("drift %s, in truth %.3f", show(q), step/60)
	}
	if a.Return.Gap == nil || a.Return.FromLow.Mean.N != 3 {
		t.Errorf("return: %+v", a.Return)
	}
}

// Periodic interference of known frequency and amplitude is found; white noise
// has none. A line beyond half the report rate shows as its alias.
func TestPeriodicInterference(t *testing.T) {
	step := 65535.0 / 4095
	for _, c := range []struct{ hz, seen, amplitude float64 }{
		{hz: 50, seen: 50, amplitude: 3}, {hz: 17.3, seen: 17.3, amplitude: 2}, {hz: 100, seen: 25, amplitude: 2},
	} {
		d := usual()
		parts := d.whole()
		parts[3].at = func(t float64) float64 { return 2047.5 + c.amplitude*math.Sin(2*math.Pi*c.hz*t) }
		lines := d.measure(t, parts...).Rest.Periodic
		if len(lines) != 1 {
			t.Errorf("%.1f Hz: %d lines, want 1: %+v", c.hz, len(lines), lines)
			continue
		}
		if !has(&lines[0].FrequencyHz, c.seen) {
			t.Errorf("%.1f Hz: seen at %s, want %.1f", c.hz, show(&lines[0].FrequencyHz), c.seen)
		}
		if got := lines[0].Amplitude.Value / step; math.Abs(got/c.amplitude-1) > 0.1 {
			t.Errorf("%.1f Hz: amplitude %.2f steps, want %.2f", c.hz, got, c.amplitude)
		}
	}
	for seed := range uint64(20) {
		d := usual()
		d.seed = 500 + seed
		if lines := d.measure(t, d.whole()...).Rest.Periodic; len(lines) > 0 {
			t.Errorf("seed %d: white noise has lines %+v", d.seed, lines)
		}
	}
}
