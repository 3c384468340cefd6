package stats

import (
	"fmt"
	"math"
	"testing"
)

// chanceOf is the chance of the code that lies d from the mean, in steps; lowestOf and
// highestOf take it for the lowest or the highest.
func chanceOf(d, sigma float64) (float64, float64, float64) {
	return CodeChance(EdgeAt(d-0.5, sigma), EdgeAt(d+0.5, sigma))
}

func lowestOf(d, sigma float64) (float64, float64, float64) {
	return LowestCodeChance(EdgeAt(d+0.5, sigma))
}

func highestOf(d, sigma float64) (float64, float64, float64) {
	return HighestCodeChance(EdgeAt(d-0.5, sigma))
}

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
			l, _, _ := chanceOf(k-mu, sigma)
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
	for name, f := range map[string]func(d, s float64) (float64, float64, float64){"code": chanceOf, "lowest": lowestOf, "highest": highestOf} {
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

// A code as far above the mean as another is below has the same chance, near and where
// only the nearer edge counts.
func TestCodeChanceIsTheSameOnBothSides(t *testing.T) {
	for _, d := range []float64{0.2, 0.5, 3, 25, 400} {
		for _, s := range []float64{0.05, 0.3, 1.5} {
			above, by, byBy := chanceOf(d, s)
			if below, byBelow, byByBelow := chanceOf(-d, s); above != below || by != -byBelow || byBy != byByBelow {
				t.Errorf("d %v σ %v: %v, %v, %v above and %v, %v, %v below", d, s, above, by, byBy, below, byBelow, byByBelow)
			}
		}
	}
}

// The chance of the lowest code is that of all codes that would lie below, and of the
// highest that of all above.
func TestEndCodeChance(t *testing.T) {
	const mean, sigma, lowest, highest = 3.3, 1.7, 2.0, 4.0
	below, above := 0.0, 0.0
	for k := lowest; k > -40; k-- {
		l, _, _ := chanceOf(k-mean, sigma)
		below += math.Exp(l)
	}
	for k := highest; k < 40; k++ {
		l, _, _ := chanceOf(k-mean, sigma)
		above += math.Exp(l)
	}
	low, _, _ := lowestOf(lowest-mean, sigma)
	high, _, _ := highestOf(highest-mean, sigma)
	wantRel(t, "chance of the lowest", math.Exp(low), below, 1e-9)
	wantRel(t, "chance of the highest", math.Exp(high), above, 1e-9)
}
