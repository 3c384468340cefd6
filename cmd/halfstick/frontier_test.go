package main

import (
	"path/filepath"
	"testing"

	"halfstick/curves"
)

// A mark differs from the axis that is drawn by its shapes only.
func TestMarksKeepTheAxis(t *testing.T) {
	demo := filepath.Join(demoFolder(t), "profile.json")
	r := curves.StraightThrough(curves.TwoSided)
	r.Deadband, r.Calibration.Centre = curves.Sides{Low: 0.11, High: 0.12}, 77
	for arg, want := range map[string]int{"power:1.4": 1, demo + "#pitch": 1, demo: 4} {
		named, err := onAxis(arg, r)
		if err != nil {
			t.Fatal(err)
		}
		if len(named) != want {
			t.Errorf("%s: %d curves, want %d", arg, len(named), want)
		}
		for _, n := range named {
			if n.Response.Deadband != r.Deadband || n.Response.Calibration != r.Calibration {
				t.Errorf("%s: %+v", n.Name, n.Response)
			}
			if n.Response.High.At(0.5) > 0.45 {
				t.Errorf("%s is straight", n.Name)
			}
		}
	}
}
