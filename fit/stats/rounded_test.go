package stats

import (
	"fmt"
	"math"
	"testing"
)

func TestRoundedMoments(t *testing.T) {
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
	for _, w := range want {
		for mu, v := range map[float64]float64{0: w.Zero, 0.25: w.Quarter, 0.5: w.Half, 7.25: w.Quarter, -3: w.Zero} {
			_, got := RoundedGaussianMoments(mu, w.Sigma)
			wantAbs(t, fmt.Sprintf("variance sigma=%g mu=%g", w.Sigma, mu), got, v, 1e-9)
		}
		var bias float64
		for i := range 10001 {
			mu := float64(i) / 20000
			m, _ := RoundedGaussianMoments(mu, w.Sigma)
			bias = math.Max(bias, math.Abs(m-mu))
		}
		wantAbs(t, fmt.Sprint("bias sigma=", w.Sigma), bias, w.Bias, 1e-7) // limited by the grid of mu
	}
}

// TestRoundedRecovery simulates rest noise rounded to steps and checks the
// estimate, its standard error and its interval.
func TestRoundedRecovery(t *testing.T) {
	for _, c := range []struct{ mu, sigma float64 }{
		{0, 0.2}, {0.1, 0.3}, {-4.5, 0.4}, {9, 3},
	} {
		r := random(11)
		const n, of = 3000, 120
		var sigmas, mus, errs []float64
		held := 0
		for range of {
			f, err := RoundedGaussianSigma(rounded(gaussian(r, n), c.mu, c.sigma))
			if err != nil {
				t.Fatal(err)
			}
			if low, high := f.Interval(0.95, n); low <= c.sigma && c.sigma <= high {
				held++
			}
			if f.Identified {
				sigmas, mus, errs = append(sigmas, f.Sigma), append(mus, f.Mu), append(errs, f.SigmaSE)
			}
		}
		what := fmt.Sprintf("mu=%g sigma=%g", c.mu, c.sigma)
		if len(sigmas) < of/2 {
			t.Fatalf("%s: only %d identified", what, len(sigmas))
		}
		mean, sd := MeanSD(sigmas)
		wantRel(t, what+" sigma", mean, c.sigma, 0.02)
		wantRel(t, what+" standard error", Median(errs), sd, 0.2)
		muMean, _ := MeanSD(mus)
		wantAbs(t, what+" mu", muMean, c.mu, 0.01+0.01*c.sigma)
		wantCoverage(t, what, held, of, 0.89, 0.995) // 3 standard errors
	}
}

func rounded(x []float64, mu, sigma float64) []float64 {
	for i, v := range x {
		x[i] = math.Round(mu + sigma*v)
	}
	return x
}

// TestRoundedFewCodes: one or two codes bound σ from above only.
func TestRoundedFewCodes(t *testing.T) {
	const n = 1000
	one := make([]float64, n)
	f, err := RoundedGaussianSigma(one)
	if err != nil {
		t.Fatal(err)
	}
	low, high := f.Interval(0.95, n)
	// In the middle of its code: n ln(2Φ(1/2σ)−1) = −χ²/2 with χ²₁ = 3.841459.
	wantAbs(t, "one code", n*math.Log(1-2*upperTail(0.5/high)), -3.841459/2, 1e-4)
	if f.Identified || f.Sigma != 0 || low != 0 || !math.IsNaN(f.SigmaSE) {
		t.Errorf("one code: %+v, low %g", f, low)
	}
	for i := range n / 2 {
		one[i] = 1
	}
	f, err = RoundedGaussianSigma(one)
	if err != nil {
		t.Fatal(err)
	}
	low, high = f.Interval(0.95, n)
	// Half and half: μ on the edge, and both outer codes a whole step away.
	wantAbs(t, "two codes", n*math.Log(1-2*upperTail(1/high)), -3.841459/2, 1e-4)
	if f.Identified || low != 0 {
		t.Errorf("two codes: %+v, low %g", f, low)
	}
	// Fewer effective values say less.
	if _, wider := f.Interval(0.95, n/10); !(wider > high) {
		t.Errorf("a tenth of the values bound sigma by %g, all by %g", wider, high)
	}
}

// TestLogUpperTail compares the asymptotic with the tail itself, which does
// not underflow before z = 38, and checks that the pieces meet.
func TestLogUpperTail(t *testing.T) {
	for _, z := range []float64{-5, 0, 10, 31, 35, 37} {
		wantAbs(t, fmt.Sprint("z=", z), logUpperTail(z), math.Log(upperTail(z)), 1.2e-3) // 1/30²
	}
}
