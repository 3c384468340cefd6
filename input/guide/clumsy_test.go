package guide_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// stick is the default rig's stick with its first axes only.
func stick(axes int) []rig.DeviceSpec {
	d := rig.DefaultSpecs(1)[0]
	d.Axes = d.Axes[:axes]
	return []rig.DeviceSpec{d}
}

func (w *world) heard(t *testing.T, part string) {
	t.Helper()
	if !slices.ContainsFunc(w.said, func(s string) bool { return strings.Contains(s, part) }) {
		t.Errorf("the guide never said %q; it said %q", part, w.said)
	}
}

// complete demands that the guide came to its end with nothing missing.
func (w *world) complete(t *testing.T) {
	t.Helper()
	s := w.session.State()
	if !s.Finished || len(s.Axes) == 0 {
		t.Fatalf("the guide ended as %+v", s)
	}
	for _, a := range s.Axes {
		if len(a.Missing) > 0 {
			t.Errorf("%s misses %v", a.Label, a.Missing)
		}
	}
	if l := lacks(w.measured(t)); len(l) > 0 {
		t.Errorf("the recording lacks something: %q", l)
	}
}

// What a hand gets wrong is said, asked for once more, and mended.
func TestClumsyHand(t *testing.T) {
	for name, c := range map[string]struct {
		clumsy rig.Clumsy
		says   []string
	}{
		"half sweep":    {rig.Clumsy{HalfSweeps: 1}, []string{"that was only 60 % of the scale"}},
		"touched rest":  {rig.Clumsy{TouchedRests: 1}, []string{"pitch moved after 3 s of rest, once more please"}},
		"short push":    {rig.Clumsy{ShortPushes: 1}, []string{"% of the way to the stop, once more please"}},
		"wrong control": {rig.Clumsy{WrongAxes: 1}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, stick(2), &rig.Live{Clumsy: c.clumsy}, guide.Options{Axes: []string{"pitch", "roll"}})
			hint := ""
			w.see = func(_ time.Duration, s guide.State) {
				if strings.HasPrefix(s.Hint, "that is") {
					hint = s.Hint
				}
			}
			w.run(t)
			w.complete(t)
			for _, part := range c.says {
				w.heard(t, part)
			}
			if want := map[bool]string{true: "that is roll; move pitch"}[c.clumsy.WrongAxes > 0]; hint != want {
				t.Errorf("the hint was %q, not %q", hint, want)
			}
		})
	}
}

// The share that is said is that of the movement.
func TestHalfSweepSaysHowFar(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{Clumsy: rig.Clumsy{HalfSweeps: 1}}, guide.Options{})
	w.run(t)
	i := slices.IndexFunc(w.said, func(s string) bool { return strings.Contains(s, "of the travel") })
	if i < 0 {
		t.Fatalf("nothing was said of the travel: %q", w.said)
	}
	var percent float64
	fmt.Sscanf(w.said[i], "that was only %f", &percent)
	// The hand presses 4 % beyond the stops, and goes 60 % of that.
	if math.Abs(percent-62.4) > 3 {
		t.Errorf("%q for a sweep over 62 %%", w.said[i])
	}
}

// A touched rest does not spoil the noise that is measured.
func TestTouchedRestIsNotMeasured(t *testing.T) {
	quiet := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch"}})
	quiet.run(t)
	touched := newWorld(t, stick(2), &rig.Live{Clumsy: rig.Clumsy{TouchedRests: 2}}, guide.Options{Axes: []string{"pitch"}})
	touched.run(t)
	sigma := func(w *world) float64 {
		a, err := w.measured(t).Axis("pitch")
		if err != nil || a.Rest.Sigma == nil {
			t.Fatalf("no rest noise: %v", err)
		}
		return a.Rest.Sigma.Value
	}
	if a, b := sigma(quiet), sigma(touched); math.Abs(a-b) > 0.1*a {
		t.Errorf("rest noise %.2f counts untouched, %.2f touched", a, b)
	}
}

// A hand that does nothing is waited for, reminded, and the step left out;
// the guide comes to its end by itself.
func TestDozingHand(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{Clumsy: rig.Clumsy{Dozes: 1}}, guide.Options{Axes: []string{"pitch", "roll"}})
	var left []float64
	w.see = func(_ time.Duration, s guide.State) {
		if s.Step == 1 && s.SecondsLeft > 0 {
			left = append(left, s.SecondsLeft)
		}
	}
	w.run(t)
	s := w.session.State()
	want := []guide.StepKind{guide.Sweep, guide.Release, guide.Hold}
	if !s.Finished || !slices.Equal(s.Axes[0].Missing, want) || len(s.Axes[1].Missing) > 0 {
		t.Errorf("ended as %+v, want pitch to miss %v", s, want)
	}
	w.heard(t, "nothing moved for 20 s: left out")
	if len(left) == 0 || !slices.IsSortedFunc(left, func(a, b float64) int { return int(math.Copysign(1, b-a)) }) || left[0] > 17 {
		t.Errorf("the seconds left were %v", left)
	}
}

// Nobody there: the naming ends by itself, and nothing is written.
func TestNobodyMoves(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{Clumsy: rig.Clumsy{Dozes: 1000}}, guide.Options{})
	took := w.run(t)
	if s := w.session.State(); !s.Finished || s.Recording || w.out != nil || took > 3*time.Minute {
		t.Errorf("after %v the guide is at %+v", took, s)
	}
}

// Two units of one kind are told apart by which of them moves.
func TestTwoIdenticalDevices(t *testing.T) {
	specs := stick(1)
	twin := specs[0]
	twin.ID = "stick-2"
	twin.Axes = slices.Clone(twin.Axes)
	twin.Axes[0].Label = "pitch-2"
	w := newWorld(t, append(specs, twin), &rig.Live{Names: map[string]string{"pitch": "pitch-2", "roll": "pitch"}}, guide.Options{})
	w.run(t)
	w.complete(t)
	for i, want := range []struct {
		label, device string
		column        int
	}{{"pitch", "stick-2", 1}, {"roll", "stick", 0}} {
		a := w.session.State().Axes[i]
		if a.Label != want.label || a.Device != want.device || a.Column != want.column {
			t.Errorf("axis %d is %+v, want %+v", i, a, want)
		}
	}
	rec := w.out.Recording()
	if d, a := rec.AxisOf(0); d.ID != "stick" || a.Label != "roll" {
		t.Errorf("the first column is %s.%s", d.ID, a.Label)
	}
}

// A device that goes away in a step is waited for, and the step begun anew
// when it is there again; its cells are empty meanwhile.
func TestDeviceGoesAndComes(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch", "roll"}})
	w.frozen = true
	from, to := 8*time.Second, 14*time.Second
	w.gone = func(_ int, at time.Duration) bool { return at >= from && at < to }
	asked := ""
	w.see = func(at time.Duration, s guide.State) {
		if at > from+time.Second && at < to {
			asked = s.Do
		}
	}
	w.run(t)
	w.complete(t)
	if !strings.Contains(asked, "plug it in") {
		t.Errorf("while the device was gone the guide asked: %s", asked)
	}
	rec := w.out.Recording()
	for _, s := range rec.Stretches {
		for i := s.From; i < s.To; i++ {
			if at := time.Duration(rec.Times.At(i)) * time.Microsecond; s.Phase.Kind != input.NoPhase && at > from+100*time.Millisecond && at < to {
				t.Fatalf("rows at %v, without the device, are %s", at, s.Phase)
			}
		}
	}
}

// A device that does not come back is given up.
func TestDeviceGoesForGood(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch"}})
	w.gone = func(_ int, at time.Duration) bool { return at >= 8*time.Second }
	took := w.run(t)
	if s := w.session.State(); !s.Finished || took > 2*time.Minute {
		t.Errorf("after %v the guide is at %+v", took, s)
	}
	w.heard(t, "was gone for 60 s")
}

// An axis that never shows anything is not taken for a quiet one.
func TestFrozenAxis(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{Clumsy: rig.Clumsy{Dozes: 1}}, guide.Options{Axes: []string{"roll", "pitch"}})
	w.frozen = true
	w.run(t)
	s := w.session.State()
	if s.Axes[0].Label != "roll" || !slices.Contains(s.Axes[0].Missing, guide.Sweep) || len(s.Axes[1].Missing) > 0 {
		t.Errorf("ended as %+v", s.Axes)
	}
	a, err := w.measured(t).Axis("roll")
	if err != nil || a.Rest.Sigma != nil {
		t.Errorf("the axis that never moved has a rest noise: %v, %+v", err, a.Rest.Sigma)
	}
}
