package stats

import (
	"fmt"
	"math"
	"testing"
)

// Mean and variance of a rounded Gaussian from the chances of its codes, against
// the published table.
func TestCodeChance(t *testing.T) {
	var want []struct {
		Sigma   float64 `json:"sigma_over_q"`
		Bias    float64 `json:"max_mean_bias_q"`
		Zero    float64 `json:"var_mu0"`
		Quarter float64 `json:"var_mu_quarter"`
		Half    float64 `json:"var_mu_half"`
	}
	load(t, "quantised_gaussian", "adc.quantised_gaussian", nil, &want)
	if len(want) != 10 {
		t.Fatalf("%d rows", len(want))
	}
	moments := func(mu, sigma float64) (mean, variance float64) {
		reach := math.Ceil(10*sigma) + 2
		for k := math.Round(mu) - reach; k <= math.Round(mu)+reach; k++ {
			l, _, _ := CodeChance(k-mu, sigma)
			mean += (k - mu) * math.Exp(l)
			variance += (k - mu) * (k - mu) * math.Exp(l)
		}
		return mean, variance - mean*mean
	}
	for _, w := range want {
		for mu, v := range map[float64]float64{0: w.Zero, 0.25: w.Quarter, 0.5: w.Half, 7.25: w.Quarter, -3: w.Zero} {
			_, got := moments(mu, w.Sigma)
			wantAbs(t, fmt.Sprintf("variance sigma=%g mu=%g", w.Sigma, mu), got, v, 1e-9)
		}
		var bias float64
		for i := range 1001 {
			off, _ := moments(float64(i)/2000, w.Sigma)
			bias = math.Max(bias, math.Abs(off))
		}
		wantAbs(t, fmt.Sprint("bias sigma=", w.Sigma), bias, w.Bias, 1e-5) // limited by the grid of mu
	}
}

// The derivatives against differences, near and far from the mean.
func TestCodeChanceSlopes(t *testing.T) {
	const h = 1e-4
	for name, f := range map[string]func(d, s float64) (float64, float64, float64){"code": CodeChance, "end": EndCodeChance} {
		for _, d := range []float64{-30, -3, -0.6, 0, 0.4, 2, 25} {
			for _, s := range []float64{0.05, 0.3, 1.5} {
				// By the mean is by −d.
				up, upBy, _ := f(d-h, s)
				down, downBy, _ := f(d+h, s)
				_, by, byBy := f(d, s)
				if got := (up - down) / (2 * h); math.Abs(got-by) > 2e-3*math.Max(1, math.Abs(by)) {
					t.Errorf("%s, d %v σ %v: slope %v, by differences %v", name, d, s, by, got)
				}
				if got := (upBy - downBy) / (2 * h); math.Abs(got-byBy) > 2e-2*math.Max(1, math.Abs(byBy)) {
					t.Errorf("%s, d %v σ %v: curvature %v, by differences %v", name, d, s, byBy, got)
				}
			}
		}
	}
}

// The chance of the lowest code is that of all codes that would lie below.
func TestEndCodeChance(t *testing.T) {
	const mean, sigma, lowest = 3.3, 1.7, 2.0
	sum := 0.0
	for k := lowest; k > -40; k-- {
		l, _, _ := CodeChance(k-mean, sigma)
		sum += math.Exp(l)
	}
	low, _, _ := EndCodeChance(lowest-mean, sigma)
	wantRel(t, "chance", math.Exp(low), sum, 1e-9)
}
