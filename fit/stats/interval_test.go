package stats

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestSigmaInterval uses χ² quantiles of printed tables (9 degrees of freedom:
// 2.700 and 19.023; quoted from memory).
func TestSigmaInterval(t *testing.T) {
	low, high := SigmaInterval(2, 10, 0.95)
	wantRel(t, "low", low, 2*math.Sqrt(9/19.0228), 1e-5)
	wantRel(t, "high", high, 2*math.Sqrt(9/2.70039), 1e-5)
	if low, high := SigmaInterval(2, 1, 0.95); low != 0 || !math.IsInf(high, 1) {
		t.Errorf("one value bounds its deviation by %g and %g", low, high)
	}
}

// TestMeanInterval uses Student's t of printed tables (9 degrees of freedom:
// 2.262157; quoted from memory).
func TestMeanInterval(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	mean, low, high := MeanInterval(x, 0.95)
	half := 2.262157 * math.Sqrt(55.0/6) / math.Sqrt(10) // sd of 1..10 is √(55/6)
	wantRel(t, "mean", mean, 5.5, 1e-15)
	wantRel(t, "low", low, 5.5-half, 1e-6)
	wantRel(t, "high", high, 5.5+half, 1e-6)
	if _, low, high := MeanInterval(x[:1], 0.95); !math.IsInf(low, -1) || !math.IsInf(high, 1) {
		t.Errorf("one value bounds its mean by %g and %g", low, high)
	}
}

// TestPoissonInterval checks Garwood's defining property, that each end has
// 2.5 % beyond it, with gonum's Poisson distribution; and the printed 95 %
// limits for 0 and 10 events (3.689; 4.795 and 18.39; quoted from memory).
func TestPoissonInterval(t *testing.T) {
	for _, c := range []int{0, 1, 2, 5, 10, 100} {
		low, high := PoissonInterval(c, 1, 0.95)
		wantAbs(t, fmt.Sprint("high of ", c), distuv.Poisson{Lambda: high}.CDF(float64(c)), 0.025, 1e-9)
		if c == 0 {
			wantAbs(t, "low of none", low, 0, 0)
			continue
		}
		wantAbs(t, fmt.Sprint("low of ", c), 1-distuv.Poisson{Lambda: low}.CDF(float64(c-1)), 0.025, 1e-9)
	}
	_, none := PoissonInterval(0, 10, 0.95)
	wantRel(t, "none in 10 s", none, 0.3689, 1e-4)
	low, high := PoissonInterval(10, 1, 0.95)
	wantRel(t, "ten, low", low, 4.795, 1e-4)
	wantRel(t, "ten, high", high, 18.39, 1e-4)
}

// TestPoissonMidP checks the defining property of both ends, that of none in
// closed form (e^−λ/2 = 2.5 %), and that over rates the interval holds the truth
// as often as it says.
func TestPoissonMidP(t *testing.T) {
	for _, c := range []int{1, 2, 5, 10, 100} {
		low, high := PoissonMidP(c, 2, 0.95)
		for rate, want := range map[float64]float64{low: 0.975, high: 0.025} {
			p := distuv.Poisson{Lambda: 2 * rate}
			wantAbs(t, fmt.Sprint("half of ", c), p.CDF(float64(c))-p.Prob(float64(c))/2, want, 1e-9)
		}
	}
	low, high := PoissonMidP(0, 1, 0.95)
	wantAbs(t, "low of none", low, 0, 0)
	wantRel(t, "high of none", high, math.Log(20), 1e-9)
	held, n := 0.0, 0.0
	for rate := 1.0; rate < 20; rate += 0.05 {
		n++
	}
	for c := range 60 {
		low, high := PoissonMidP(c, 1, 0.95)
		for rate := 1.0; rate < 20; rate += 0.05 {
			if low <= rate && rate <= high {
				held += distuv.Poisson{Lambda: rate}.Prob(float64(c))
			}
		}
	}
	wantAbs(t, "coverage over rates from 1 to 20", held/n, 0.95, 0.006)
}

// TestEffectiveN compares with the closed forms for a first-order sequence,
// n(1−ρ)/(1+ρ) and n(1−ρ²)/(1+ρ²), and checks that intervals built on the
// effective number hold the truth.
func TestEffectiveN(t *testing.T) {
	for _, rho := range []float64{0, 0.5, 0.9} {
		x := correlated(random(6), 200000, rho)
		m, v := EffectiveN(x)
		wantRel(t, fmt.Sprint("mean rho=", rho), m/200000, (1-rho)/(1+rho), 0.06)
		wantRel(t, fmt.Sprint("variance rho=", rho), v/200000, (1-rho*rho)/(1+rho*rho), 0.06)

		const n, of = 1500, 1500
		means, sigmas := 0, 0
		r := random(7)
		for range of {
			x := correlated(r, n, rho)
			forMean, forVariance := EffectiveN(x)
			mean, sd := MeanSD(x)
			if low, high := MeanIntervalFrom(mean, sd, forMean, 0.95); low <= 0 && 0 <= high {
				means++
			}
			if low, high := SigmaInterval(sd, forVariance, 0.95); low <= 1 && 1 <= high {
				sigmas++
			}
		}
		wantCoverage(t, fmt.Sprint("mean rho=", rho), means, of, 0.93, 0.97)
		wantCoverage(t, fmt.Sprint("sigma rho=", rho), sigmas, of, 0.93, 0.97)
	}
	if m, _ := EffectiveN(correlated(random(8), 1000, -0.8)); m != 1000 {
		t.Errorf("negative correlation claims %g independent values of 1000", m)
	}
}
