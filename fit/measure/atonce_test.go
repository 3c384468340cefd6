package measure

import (
	"encoding/json"
	"runtime"
	"testing"

	"halfstick/input"
	"halfstick/input/rig"
)

// The axes of a rig are measured at once and share what they read: on one
// processor, on two, and with their phases to be found, the numbers are the same.
// `make test` runs this under the race detector.
func TestAxesAtOnce(t *testing.T) {
	r := rig.Default(5)
	plan := rig.Plan{Sweeps: 2, SweepsOne: 2, SweepSeconds: 3, RestSeconds: 8, Releases: 2, ReleasesOne: 2, Settle: 2.5, HoldSeconds: 2, FlySeconds: 20}
	if err := r.SetScript(r.PlannedScript(plan)); err != nil {
		t.Fatal(err)
	}
	rec := record(t, r, 200)
	measuredOn := func(processors int) string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		m, err := Recording(rec, "rig")
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range m.Axes {
			if a.Rest.Sigma == nil || a.Travel.High == nil || a.Timing.ReportHz == nil {
				t.Fatalf("%s lacks what it is made of", a.Label)
			}
		}
		text, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	for _, what := range []string{"labelled", "unlabelled"} {
		alone := measuredOn(1)
		for range 2 {
			if measuredOn(2) != alone {
				t.Errorf("%s: on two processors the numbers are others", what)
			}
		}
		unlabel(rec, input.Rest, input.Sweep, input.ReleaseLow, input.ReleaseHigh, input.Hold, input.Flight)
	}
}
