package guide_test

import (
	"testing"
	"time"

	"halfstick/input/guide"
	"halfstick/input/rig"
)

// Where another axis moves along, the sweep is asked for once more alone, and
// once more again; if it still does, that is taken for the device's own.
func TestCouplingIsAskedForAlone(t *testing.T) {
	for _, leak := range []float64{0, 0.1} {
		specs := stick(2)
		if leak > 0 {
			specs[0].Leaks = []rig.Leak{{From: "pitch", To: "roll", Share: leak}}
		}
		w := newWorld(t, specs, &rig.Live{}, guide.Options{Axes: []string{"roll", "pitch"}})
		alone := map[string]bool{}
		w.see = func(_ time.Duration, s guide.State) {
			if s.Kind == guide.Coupling {
				alone[s.Axis] = true
			}
		}
		w.run(t)
		w.complete(t)
		if alone["pitch"] != (leak > 0) || alone["roll"] {
			t.Errorf("leak %g: asked for alone: %v", leak, alone)
		}
		if leak > 0 {
			w.heard(t, "roll moved along by 10 %, once more please")
			if s := w.session.State(); s.Judgement != "roll moved along by 10 % again: it may be the device itself" {
				t.Errorf("at last it said %q", s.Judgement)
			}
		}
	}
}

// A control that has a name is not given another.
func TestNamedControlIsNotNamedTwice(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{Names: map[string]string{"roll": "pitch", "yaw": "roll"}}, guide.Options{})
	w.run(t)
	w.heard(t, "that is pitch already, move another control please")
	axes := w.session.State().Axes
	if len(axes) != 2 || axes[0].Label != "pitch" || axes[1].Label != "yaw" || axes[1].Column != 1 {
		t.Errorf("named %+v", axes)
	}
}
