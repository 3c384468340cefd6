package stats

import (
	"fmt"
	"math"
	"testing"
)

func TestSavitzkyGolay(t *testing.T) {
	var want struct {
		Coeffs, Deriv1 map[string][]float64
		Gain           map[string]float64 `json:"noise_gain"`
	}
	load(t, "smoothing", "filter.savgol", nil, &want)
	weights := func(key string, derivative int) []float64 {
		var window, degree int
		if _, err := fmt.Sscanf(key, "%d,%d", &window, &degree); err != nil {
			t.Fatal(err)
		}
		w, err := SavitzkyGolay(window, degree, derivative)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	if len(want.Coeffs) != 8 || len(want.Deriv1) != 4 || len(want.Gain) != 8 {
		t.Fatalf("table has %d, %d and %d entries", len(want.Coeffs), len(want.Deriv1), len(want.Gain))
	}
	for key, w := range want.Coeffs {
		wantSlice(t, key, weights(key, 0), w, 1e-12)
	}
	for key, w := range want.Deriv1 {
		wantSlice(t, "slope "+key, weights(key, 1), w, 1e-12)
	}
	for key, gain := range want.Gain {
		var sum float64
		for _, v := range weights(key, 0) {
			sum += v * v
		}
		wantAbs(t, "gain "+key, sum, gain, 1e-12)
	}
	// The second derivative of a parabola: k² has 2.
	w, _ := SavitzkyGolay(7, 2, 2)
	var second float64
	for i, v := range w {
		second += v * float64((i-3)*(i-3))
	}
	wantRel(t, "second derivative", second, 2, 1e-12)
}

func TestLocalFit(t *testing.T) {
	// A parabola goes through unchanged, ends too.
	x := make([]float64, 40)
	for i := range x {
		x[i] = 3 - 2*float64(i) + 0.5*float64(i*i)
	}
	wantSlice(t, "parabola", LocalFit(x, 11), x, 1e-9)
	wantSlice(t, "window longer than data", LocalFit(x[:6], 99), x[:6], 1e-9)

	// Residuals of white noise on a slow motion keep its deviation, and at the
	// ends as well as inside.
	r := random(10)
	const n, of = 60, 4000
	squares := make([]float64, n)
	for range of {
		y := gaussian(r, n)
		for i := range y {
			y[i] += 0.01 * float64(i*i)
		}
		for i, v := range LocalResiduals(y, 9) {
			squares[i] += v * v / of
		}
	}
	for i, s := range squares {
		wantAbs(t, fmt.Sprint("residual variance at ", i), s, 1, 0.12) // 5 standard errors
	}
	if v := LocalResiduals([]float64{1, 5, 2}, 3)[0]; !math.IsNaN(v) {
		t.Errorf("residual of a fit through every point is %g", v)
	}
}
