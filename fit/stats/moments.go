package stats

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// MeanSD returns the mean of x and its standard deviation with divisor n−1,
// both in the unit of x. Fewer than two values give a NaN deviation, none a
// NaN mean.
//
// It is gonum's corrected two-pass sum (Chan, Golub & LeVeque 1983, formula
// 1.7), which reaches every digit that the values of the NIST StRD sets, as
// binary numbers, still hold.
func MeanSD(x []float64) (mean, sd float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	return stat.MeanStdDev(x, nil)
}

// Autocorrelation returns the biased autocorrelation of x at lags 0 to maxLag
// (at most len(x)−1), the mean removed:
//
//	r_k = Σ_{i<n−k} (x_i−m)(x_{i+k}−m) / Σ (x_i−m)²
//
// so r_0 = 1. A constant or empty x has none to estimate: all NaN.
//
// Source: Box & Jenkins, Time Series Analysis (1976), section 2.1.5.
func Autocorrelation(x []float64, maxLag int) []float64 {
	maxLag = max(0, min(maxLag, len(x)-1))
	r := make([]float64, maxLag+1)
	d := deviations(x)
	total := lagSum(d, 0)
	for k := range r {
		if total == 0 {
			r[k] = math.NaN()
			continue
		}
		r[k] = lagSum(d, k) / total
	}
	return r
}

// Lag1 returns the lag-1 autocorrelation as NIST certifies it,
// Σ(x_i−m)(x_{i+1}−m) / Σ(x_i−m)². NaN for a constant x or fewer than two
// values.
//
// Source: NIST Statistical Reference Datasets, univariate summary statistics.
func Lag1(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	return Autocorrelation(x, 1)[1]
}

func deviations(x []float64) []float64 {
	d := make([]float64, len(x))
	m := stat.Mean(x, nil)
	for i, v := range x {
		d[i] = v - m
	}
	return d
}

func lagSum(d []float64, k int) float64 {
	var s float64
	for i := k; i < len(d); i++ {
		s += d[i] * d[i-k]
	}
	return s
}
