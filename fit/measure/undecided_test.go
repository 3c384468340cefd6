package measure

import (
	"strings"
	"testing"

	"halfstick/input/rig"
)

func undecidedNotes(a *Axis) (out []string) {
	for _, n := range a.Notes {
		if strings.Contains(n, "would halve that interval") {
			out = append(out, n)
		}
	}
	return out
}

// A quantity near the threshold of an action is noted with what would halve its
// interval; the same device far from it is not, nor is a sound one.
func TestUndecidedIsNoted(t *testing.T) {
	// In a 12-bit axis over 96 % of its scale, 1 % of half-throw is 19.7 steps:
	// 6.6 σ there for σ = 2.98; and drift there for as many steps a minute.
	for name, c := range map[string]struct {
		change func(a *rig.AxisSpec)
		want   string
	}{
		"sound":      {func(a *rig.AxisSpec) {}, ""},
		"noise near": {func(a *rig.AxisSpec) { a.White = 2.98 }, "rest noise"},
		"noise far":  {func(a *rig.AxisSpec) { a.White = 6 }, ""},
		"drift near": {func(a *rig.AxisSpec) { a.DriftStepsPerMinute = 19.7 }, "drift"},
		"drift far":  {func(a *rig.AxisSpec) { a.DriftStepsPerMinute = 50 }, ""},
		// F/k is 2 % of half-throw on the high side.
		"return near": {func(a *rig.AxisSpec) {
			a.Spring.High, a.Friction, a.FrictionSpread, a.Damping, a.Mass = 5, 0.1, 0.2, 1.8, 0.03
		}, "return from the high side"},
		// 15 % of the high side are lost, and the stops scatter by the noise.
		"stop near": {func(a *rig.AxisSpec) { a.Travel.High = 0.925 }, "high stop"},
	} {
		t.Run(name, func(t *testing.T) {
			spec := soundDevice()
			c.change(&spec.Axes[0])
			rec, _ := scripted(t, spec, shortPlan, 250, nil)
			a := measured(t, rec)
			notes := undecidedNotes(a)
			if c.want == "" && len(notes) > 0 || c.want != "" && (len(notes) != 1 || !strings.HasPrefix(notes[0], c.want)) {
				t.Errorf("notes %q, want %q; σ %s, drift %s, return %+v", notes, c.want, show(a.Rest.Sigma), show(a.Rest.DriftPerMinute), a.Return.FromHigh)
			}
		})
	}
}

// The promise about drift holds: 0.59 times as much rest more halves the
// interval, as an error of a slope falls with the time to the power of 3/2.
func TestDriftHalvesWithTime(t *testing.T) {
	d := usual()
	parts := d.whole()
	parts[3] = resting(20.5, 0.5*d.most())
	short := d.measure(t, parts...).Rest.DriftPerMinute
	parts[3] = resting(20.5+0.587*20, 0.5*d.most())
	long := d.measure(t, parts...).Rest.DriftPerMinute
	if ratio := (*long.High - *long.Low) / (*short.High - *short.Low); ratio < 0.35 || ratio > 0.7 {
		t.Errorf("with 0.59 times as much rest more the interval is %.2f as wide", ratio)
	}
}
