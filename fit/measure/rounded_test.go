package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"halfstick/fit/stats"
)

// The chance of a code against the published table of the rounded Gaussian
// (Sheppard; Wannamaker et al. 2000, IEEE TSP 48:499), at μ = 0: variances
// 5.733031e-7, 0.0124193, 0.3254128 and 1.0833333 for σ/q of 0.1, 0.2, 0.5, 1.
func TestChanceOfACode(t *testing.T) {
	for sigma, want := range map[float64]float64{0.1: 5.733031438027284e-07, 0.2: 0.012419330651743608, 0.5: 0.32541276258633145, 1: 1.0833333223611175} {
		v := 0.0
		for k := -12.0; k <= 12; k++ {
			l, _, _ := chance(k, sigma)
			v += k * k * math.Exp(l)
		}
		if math.Abs(v/want-1) > 1e-6 {
			t.Errorf("σ %v: variance %v, published %v", sigma, v, want)
		}
	}
}

// The derivatives against differences, near and far from the mean.
func TestChanceSlopes(t *testing.T) {
	const h = 1e-4
	for _, d := range []float64{-30, -3, -0.6, 0, 0.4, 2, 25} {
		for _, s := range []float64{0.05, 0.3, 1.5} {
			// by is the derivative by the mean, that is by −d.
			lp, _, _ := chance(d-h, s)
			lm, _, _ := chance(d+h, s)
			_, by, byBy := chance(d, s)
			if got := (lp - lm) / (2 * h); math.Abs(got-by) > 2e-3*math.Max(1, math.Abs(by)) {
				t.Errorf("d %v σ %v: slope %v, by differences %v", d, s, by, got)
			}
			_, bp, _ := chance(d-h, s)
			_, bm, _ := chance(d+h, s)
			if got := (bp - bm) / (2 * h); math.Abs(got-byBy) > 2e-2*math.Max(1, math.Abs(byBy)) {
				t.Errorf("d %v σ %v: curvature %v, by differences %v", d, s, byBy, got)
			}
		}
	}
}

// Without drift the fit must agree with the fit that knows no drift.
func TestRoundedLineAgreesWithoutDrift(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, sigma := range []float64{0.3, 0.6, 1.2} {
		p := restPart{}
		var codes []float64
		for i := range 3000 {
			c := math.Round(10.2 + sigma*rng.NormFloat64())
			codes = append(codes, c)
			p.t = append(p.t, float64(i)*0.008)
			p.x = append(p.x, 16*c)
			p.keep = append(p.keep, true)
		}
		r := newRoundedLine([]restPart{p}, lattice{step: 16}, 0).fit(0, 3000, 3000)
		f, err := stats.RoundedGaussianSigma(codes)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := f.Interval(0.95, 3000)
		for _, pair := range [][2]float64{{r.sigma, f.Sigma}, {r.low, lo}, {r.high, hi}} {
			if math.Abs(pair[0]/pair[1]-1) > 0.01 {
				t.Errorf("σ %v: %+v against %v [%v, %v]", sigma, r, f.Sigma, lo, hi)
			}
		}
	}
}

// A sensor that drifts over several codes a second is as quiet as one that
// stands: what it moves by within a block of time must not pass for noise.
func TestRoundedLineOfAFastDrift(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const sigma, slope, n = 0.05, 3.0, 12000 // steps, steps a second, reports
	p := restPart{}
	for i := range n {
		at := float64(i) * 0.01
		p.t = append(p.t, at)
		p.x = append(p.x, 16*math.Round(slope*at+sigma*rng.NormFloat64()))
		p.keep = append(p.keep, true)
	}
	r := newRoundedLine([]restPart{p}, lattice{step: 16}, slope).fit(slope, n, n)
	if math.Abs(r.sigma/sigma-1) > 0.06 || r.low > sigma || r.high < sigma {
		t.Errorf("%+v, want %v", r, sigma)
	}
}
