package stats

import (
	"testing"

	"gonum.org/v1/gonum/stat"
)

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
		alpha := SmoothingWeight(w.FS, w.FC)
		wantAbs(t, "alpha", alpha, w.Alpha, 1e-12)
		wantAbs(t, "gain", FirstOrderNoise(alpha), w.Gain, 1e-12)
		wantRel(t, "delay", FirstOrderLag(alpha), w.Delay, 1e-12)
	}
	// The filter itself: its noise, and how far it trails a ramp.
	const alpha = 0.2
	y := FirstOrder(gaussian(random(15), 200000), alpha)
	wantRel(t, "noise", stat.Variance(y, nil), FirstOrderNoise(alpha), 0.03)
	ramp := make([]float64, 300)
	for i := range ramp {
		ramp[i] = float64(i)
	}
	wantRel(t, "lag", 299-FirstOrder(ramp, alpha)[299], FirstOrderLag(alpha), 1e-12)
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
	wantSlice(t, "filtered", OneEuro(x, in.Freq, in.MinCutoff, in.Beta, in.DCutoff), want, 1e-5)
}
