package stats

import (
	"math"
	"slices"
	"testing"
)

// even returns n times, rate a second.
func even(n int, rate float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(i) / rate
	}
	return out
}

func TestFirstOrder(t *testing.T) {
	var want []struct {
		FS, FC float64
		Alpha  float64 `json:"alpha_backward_euler"`
		Gain   float64 `json:"noise_var_gain_be"`
		Delay  float64 `json:"dc_group_delay_samples_be"`
	}
	load(t, "smoothing", "filter.first_order", nil, &want)
	if len(want) == 0 {
		t.Fatal("no rows")
	}
	for _, w := range want {
		f := FirstOrder(tauOf(w.FC))
		// An impulse after a long rest: its squares sum to the noise gain.
		x := make([]float64, 4000)
		x[1] = 1
		alpha := f.Weights(even(len(x), w.FS), x)
		wantAbs(t, "first weight", alpha[0], 1, 0)
		wantAbs(t, "alpha", alpha[1], w.Alpha, 1e-12)
		gain := 0.0
		for _, y := range Smooth(x, alpha) {
			gain += y * y
		}
		wantAbs(t, "gain", gain, w.Gain, 1e-12)
		wantRel(t, "delay", FirstOrderLag(alpha[1]), w.Delay, 1e-12)
		wantRel(t, "delay in seconds", FirstOrderLag(alpha[1])/w.FS, f.Tau(), 1e-12)
		// The slope of the phase at 0 is the delay.
		wantRel(t, "phase", FirstOrderPhase(f.Tau(), 1/w.FS, 1e-4*w.FS)/1e-4, w.Delay, 1e-5)
	}
	// How far the filter itself trails a ramp.
	ramp := even(3000, 100)
	f := FirstOrder(0.05)
	wantRel(t, "lag", 29.99-Smooth(ramp, f.Weights(ramp, ramp))[2999], 0.05, 1e-9)
}

// The phase at a frequency is that of a sine sent through the filter; a filter
// run ever more often comes to atan(ωτ).
func TestFirstOrderPhase(t *testing.T) {
	const tau, step, omega = 0.05, 0.02, 3.0
	seconds := even(5000, 1/step)
	x := make([]float64, len(seconds))
	for i, at := range seconds {
		x[i] = math.Sin(omega * at)
	}
	y := Smooth(x, FirstOrder(tau).Weights(seconds, x))
	var in, out float64           // y's parts in phase with the sine and a quarter behind
	for i := 806; i < 4995; i++ { // 40 whole periods after the start has died away
		in += y[i] * math.Sin(omega*seconds[i])
		out -= y[i] * math.Cos(omega*seconds[i])
	}
	wantRel(t, "phase", FirstOrderPhase(tau, step, omega), math.Atan2(out, in), 1e-3)
	wantRel(t, "run often", FirstOrderPhase(tau, 1e-6, omega), math.Atan(omega*tau), 1e-5)
	wantRel(t, "continuous", FirstOrderPhase(tau, 0, omega), math.Atan(omega*tau), 1e-15)
}

func TestOneEuro(t *testing.T) {
	var in struct {
		Freq, MinCutoff, Beta, DCutoff float64
		First20                        []struct{ Noisy, Filtered float64 }
	}
	load(t, "smoothing", "filter.one_euro", &in, nil)
	var x, want []float64
	for _, row := range in.First20 {
		x, want = append(x, row.Noisy), append(want, row.Filtered)
	}
	f := OneEuro{in.MinCutoff, in.Beta, in.DCutoff}
	alpha := f.Weights(even(len(x), in.Freq), x)
	wantSlice(t, "filtered", Smooth(x, alpha), want, 1e-5)
	wantRel(t, "time constant", f.Tau(), 1/(2*math.Pi), 1e-12)

	// The way back is filtered as the way there.
	for i := range x {
		x[i], want[i] = -x[i], -want[i]
	}
	wantSlice(t, "mirrored", Smooth(x, f.Weights(even(len(x), in.Freq), x)), want, 1e-5)

	// A value at the same time as the one before changes nothing.
	twice := slices.Insert(even(len(x), in.Freq), 7, 6/in.Freq)
	got := f.Weights(twice, slices.Insert(slices.Clone(x), 7, -99))
	if got[7] != 0 {
		t.Errorf("weight %g of a value at the same time", got[7])
	}
	wantSlice(t, "after it", slices.Delete(got, 7, 8), alpha, 1e-12)
}
