package measure

import (
	"math"
	"testing"

	"halfstick/input"
)

// A small slice of what intervals must hold: over devices of known noise and
// drift, 95 % intervals must contain the truth nearly as often as they say,
// and white noise must come out within a few percent (RMS). Seeds are fixed, so this
// cannot fail by chance; a broken estimator fails it by far.
func TestIntervalsCover(t *testing.T) {
	const runs = 20
	step := 65535.0 / 4095
	all, sigmas, drifts := 0, 0, 0
	for _, c := range []struct{ sigma, rho, rms float64 }{{0.3, 0, 0.05}, {2, 0.8, 0}, {6, 0, 0.025}} {
		sum := 0.0
		for s := uint64(1); s <= runs; s++ {
			d := usual()
			d.sigma, d.rho, d.seed = c.sigma, c.rho, s
			_, frac := math.Modf(float64(s) * 0.618)
			rest := part{phase: input.Phase{Kind: input.Rest}, seconds: 15, at: func(t float64) float64 { return 2000 + frac + 4*t/60 }}
			a := d.measure(t, sweeping(500, 3500, 3, 1), pause(0.5, 2000), rest)
			all++
			if has(a.Rest.Sigma, c.sigma*step) {
				sigmas++
			}
			if has(a.Rest.DriftPerMinute, 4*step) {
				drifts++
			}
			e := a.Rest.Sigma.Value/(c.sigma*step) - 1
			sum += e * e
		}
		if rms := math.Sqrt(sum / runs); c.rho == 0 && rms > c.rms {
			t.Errorf("σ %.1f steps: RMS error %.3f, want at most %.3f", c.sigma, rms, c.rms)
		}
	}
	if all != 3*runs || sigmas < 51 || drifts < 51 {
		t.Errorf("of %d intervals, %d hold σ and %d the drift; want at least 51", all, sigmas, drifts)
	}
}

// The coverage of a return gap from five releases a side that scatter.
func TestGapCovers(t *testing.T) {
	step := 65535.0 / 4095
	held := 0
	const runs = 20
	for s := uint64(1); s <= runs; s++ {
		d := usual()
		d.seed = s
		rng := newScatter(s)
		parts := []part{pause(0.5, 2000), sweeping(100, 4000, 2, 1), pause(0.5, 2000)}
		for range 5 {
			parts = append(parts, releasing(input.ReleaseLow, 100, 1980+4*rng()), pause(0.3, 2000), releasing(input.ReleaseHigh, 4000, 2010+2*rng()), pause(0.3, 2000))
		}
		if has(d.measure(t, parts...).Return.Gap, 30*step) {
			held++
		}
	}
	if held < 17 {
		t.Errorf("%d of %d intervals hold the gap, want at least 17", held, runs)
	}
}
