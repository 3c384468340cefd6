package guide_test

import (
	"slices"
	"testing"
	"time"

	"halfstick/fit/measure"
	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// names are the axes of the default rig that the hand takes for other labels.
var names = map[string]string{"yaw": "rudder"}

// measured measures what a world has recorded.
func (w *world) measured(t *testing.T) *measure.Measurement {
	t.Helper()
	m, err := measure.Recording(w.out.Recording(), "guided")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// lacks are the axes of which a measurement misses something.
func lacks(m *measure.Measurement) (out []string) {
	for _, a := range m.Axes {
		for _, f := range a.Findings {
			if f.Code == "too-little-data" {
				out = append(out, a.Label+": "+f.Says)
			}
		}
	}
	return out
}

// From nothing but moving controls to a recording that lacks nothing: frozen
// axes, as real ones are, and not one key.
func TestWholeRig(t *testing.T) {
	w := newWorld(t, rig.DefaultSpecs(1), &rig.Live{Names: names}, guide.Options{})
	w.frozen = true
	took := w.run(t)
	s := w.session.State()
	want := []guide.AxisState{
		{Label: "pitch", Device: "stick", Column: 0, Kind: input.TwoSided},
		{Label: "roll", Device: "stick", Column: 1, Kind: input.TwoSided},
		{Label: "yaw", Device: "pedals", Column: 4, Kind: input.TwoSided},
		{Label: "left-brake", Device: "pedals", Column: 5, Kind: input.OneSided},
		{Label: "right-brake", Device: "pedals", Column: 6, Kind: input.OneSided},
		{Label: "lever", Device: "stick", Column: 3, Kind: input.OneSided},
		{Label: "twist", Device: "stick", Column: 2, Kind: input.TwoSided},
	}
	if !s.Finished || s.Stopped || s.Kind != guide.End || len(s.Axes) != len(want) {
		t.Fatalf("ended as %+v", s)
	}
	for i, a := range s.Axes {
		if len(a.Missing) > 0 || a.Label != want[i].Label || a.Device != want[i].Device || a.Column != want[i].Column || a.Kind != want[i].Kind {
			t.Errorf("axis %d is %+v, want %+v with nothing missing", i, a, want[i])
		}
	}
	if most := 90 * time.Second * time.Duration(len(want)); took > most {
		t.Errorf("it took %v, more than a minute and a half for each axis", took)
	}
	m := w.measured(t)
	if l := lacks(m); len(l) > 0 {
		t.Errorf("the recording lacks something: %q", l)
	}
	pitch, err := m.Axis("pitch")
	if err != nil || !slices.ContainsFunc(pitch.Findings, func(f measure.Finding) bool { return f.Code == "steady" }) {
		t.Errorf("the quiet stick is not found steady: %v, %+v", err, pitch)
	}
}
