package measure

import (
	"math"
	"testing"

	"halfstick/input"
)

// spiked adds a spike of one report to a part, at so many seconds.
func (p part) spiked(at float64) part {
	inner := p.at
	p.at = func(t float64) float64 {
		if t >= at && t < at+1/125.0 {
			return inner(t) + 40
		}
		return inner(t)
	}
	return p
}

// Ten seconds of rest show one spike of six a minute, which is no more than a
// touch; the ends of releases are watched too, and their time counts. Neither
// the fall nor what comes just after it does.
func TestSpikesInTheEndsOfReleases(t *testing.T) {
	d := usual()
	whole := func(tail, fall float64) *Axis {
		parts := d.whole()
		parts[3] = resting(10, 2047).spiked(4)
		for i := range parts {
			if k := parts[i].phase.Kind; k == input.ReleaseLow || k == input.ReleaseHigh {
				parts[i] = parts[i].spiked(tail).spiked(fall)
			}
		}
		return d.measure(t, parts...)
	}
	for _, c := range []struct {
		tail, fall float64
		spikes     float64
		severity   Severity
	}{{2.2, -1, 7, Repair}, {-1, 0.2, 1, Watch}, {-1, 0.56, 1, Watch}} {
		a := whole(c.tail, c.fall)
		q := a.Rest.SpikesPerMinute
		// 9.5 s of rest and six ends of 1.7 s.
		if q == nil || math.Abs(q.Value-c.spikes*60/19.7) > 0.04*q.Value || *q.Low > q.Value || *q.High < q.Value {
			t.Errorf("%+v: %+v", c, q)
			continue
		}
		// They are handed over with their heights, 40 steps each.
		tails := c.spikes - 1
		if p := a.Plots; float64(len(p.SettledSpikes)) != tails || math.Abs(p.SettledSeconds-6*1.7) > 0.4 {
			t.Errorf("%+v: %v in %.2f s of settled ends", c, p.SettledSpikes, p.SettledSeconds)
		}
		for _, h := range a.Plots.SettledSpikes {
			if math.Abs(h/a.Step.Value-40) > 6 {
				t.Errorf("a spike of %.1f steps, want 40 less and more noise", h/a.Step.Value)
			}
		}
		if f := code(a, "spikes"); f == nil || f.Severity != c.severity {
			t.Errorf("%+v: finding %+v", c, f)
		}
	}
}

// A reading is a spike beyond six deviations of the noise and two and a half steps,
// and the gate is just there.
func TestSpikeSize(t *testing.T) {
	for _, c := range []struct{ sigma, step, want float64 }{{10, 1, 60}, {1, 10, 25}, {0, 2, 5}} {
		if got := SpikeSize(c.sigma, c.step); got != c.want {
			t.Errorf("σ %g, step %g: %g, want %g", c.sigma, c.step, got, c.want)
		}
		a := analysis{step: c.step, noiseGuess: c.sigma}
		for _, share := range []float64{0.99, 1.01} {
			x := make([]float64, 41)
			x[20] = share * c.want
			if a.withoutSpikes(x)[20] == 0 != (share > 1) {
				t.Errorf("σ %g, step %g: a reading %g off is a spike: %v", c.sigma, c.step, x[20], share < 1)
			}
		}
	}
}

// A spike of several reports is as high as the highest of them, over what stands
// without it.
func TestSpikeHeights(t *testing.T) {
	x := []float64{105, 105, 145, 150, 105, 65, 105}
	clean := []float64{105, 105, 105, 105, 105, 105, 105}
	if h := spikeHeights(x, clean, []int{2, 3, 5}); len(h) != 2 || h[0] != 45 || h[1] != 40 {
		t.Errorf("heights %v, want 45 and 40", h)
	}
}
