package measure

import (
	"math"
	"testing"

	"halfstick/input"
)

// An axis that comes to rest in a worn band is noisier there than where it rested
// long, and that is measured.
func TestNoiseWhereItComesToRest(t *testing.T) {
	d := usual()
	m := d.most()
	for _, times := range []float64{1, 3} {
		d.noise = func(code float64) float64 {
			if math.Abs(code/m-0.5) < 0.05 {
				return times
			}
			return 1
		}
		parts := d.whole()
		parts[3] = resting(20, 0.4*m)
		a := d.measure(t, parts...)
		q := a.Return.Sigma
		if !has(q, times*d.sigma*a.Step.Value) || math.Abs(q.Value/(times*d.sigma*a.Step.Value)-1) > 0.1 {
			t.Errorf("%g times the noise: %s, want %.1f", times, show(q), times*d.sigma*a.Step.Value)
		}
	}
	// Of two sides the noisier counts.
	d.noise = func(code float64) float64 {
		if code/m > 0.51 {
			return 3
		}
		return 1
	}
	parts := d.whole()
	for i, p := range parts {
		if p.phase.Kind == input.ReleaseHigh {
			parts[i] = releasing(input.ReleaseHigh, 0.97*m, 0.53*m)
		}
	}
	a := d.measure(t, parts...)
	if q := a.Return.Sigma; !has(q, 3*d.sigma*a.Step.Value) {
		t.Errorf("the high side is three times as noisy: %s, want %.1f", show(q), 3*d.sigma*a.Step.Value)
	}
	d = usual()
	d.sigma = 0.05
	if q := d.measure(t, d.whole()...).Return.Sigma; q != nil {
		t.Errorf("noise far below a step: %+v", q)
	}
}
