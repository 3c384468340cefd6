package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// sokalWindow ends a correlation sum, in units of the whole sum.
const sokalWindow = 2.5

// EffectiveN returns how many independent values would give the mean of x,
// and its variance, as surely as the correlated values of x do:
//
//	forMean     = n / (1 + 2 Σ_k (1−k/n) r_k)
//	forVariance = n / (1 + 2 Σ_k (1−k/n) r_k²)
//
// with r the autocorrelation. Sums end at the first lag that is at least 2.5
// times the sum so far (Sokal's window: five integrated correlation times), as
// later terms are noise, and are corrected for the mean's removal. Neither
// result is taken above n or below 1. A constant x gives n for both.
//
// The second holds for Gaussian data. Repeated reports are not: keep one row
// a report first.
//
// Source: Bayley & Hammersley, J. Royal Statistical Society Suppl. 8 (1946)
// 184; window from Sokal, Monte Carlo Methods in Statistical Mechanics (1997),
// section 3; correction from Wolff, Computer Physics Communications 156 (2004)
// 143, equation 49; the last two quoted from memory.
func EffectiveN(x []float64) (forMean, forVariance float64) {
	n := float64(len(x))
	lags := lagSums{d: deviations(x)}
	if lags.at(0) == 0 || len(x) < 2 {
		return n, n
	}
	clamp := func(s float64) float64 { return math.Max(1, n/math.Max(1, s)) }
	return clamp(lags.correlationSum(1)), clamp(lags.correlationSum(2))
}

// correlationSum returns 1 + 2 Σ (1−k/n) r_k^power up to Sokal's window W,
// times 1 + (2W+1)/n against the bias that removing the mean brings.
func (l *lagSums) correlationSum(power float64) float64 {
	n := float64(len(l.d))
	s, w := 1.0, 0
	for k := 1; k < len(l.d) && float64(k) < sokalWindow*s; k++ {
		s += 2 * (1 - float64(k)/n) * math.Pow(l.at(k)/l.at(0), power)
		w = k
	}
	return s * (1 + float64(2*w+1)/n)
}

// SigmaInterval returns the interval at the given level (0.95, say) for a
// standard deviation estimated as sigma from effN independent Gaussian values:
//
//	σ √(ν/χ²_{ν,1−α/2}) … σ √(ν/χ²_{ν,α/2}),   ν = effN − 1.
//
// With effN ≤ 1 nothing is known: 0 and +Inf.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.3.1 (from
// memory).
func SigmaInterval(sigma, effN, level float64) (low, high float64) {
	nu := effN - 1
	if nu <= 0 {
		return 0, math.Inf(1)
	}
	alpha := 1 - level
	chi := distuv.ChiSquared{K: nu}
	return sigma * math.Sqrt(nu/chi.Quantile(1-alpha/2)), sigma * math.Sqrt(nu/chi.Quantile(alpha/2))
}

// MeanInterval returns the mean of independent values x and its Student-t
// interval at the given level, mean ± t_{n−1} s/√n. With fewer than two values
// the ends are −Inf and +Inf.
//
// Source: Student, Biometrika 6 (1908) 1.
func MeanInterval(x []float64, level float64) (mean, low, high float64) {
	mean, sd := MeanSD(x)
	low, high = MeanIntervalFrom(mean, sd, float64(len(x)), level)
	return mean, low, high
}

// MeanIntervalFrom is [MeanInterval] from a mean, a standard deviation and an
// effective number of independent values (see [EffectiveN]).
func MeanIntervalFrom(mean, sd, effN, level float64) (low, high float64) {
	if !(effN > 1) {
		return math.Inf(-1), math.Inf(1)
	}
	half := tQuantile((1+level)/2, effN-1) * sd / math.Sqrt(effN)
	return mean - half, mean + half
}

func tQuantile(p, nu float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(p)
}

// PoissonInterval returns the exact interval at the given level for the rate
// of events of which count were seen in exposure (seconds, say):
//
//	χ²_{2c, α/2} / 2 … χ²_{2c+2, 1−α/2} / 2, each over exposure.
//
// The lower end is 0 when count is 0. It holds at least the level.
//
// Source: Garwood, Biometrika 28 (1936) 437.
func PoissonInterval(count int, exposure, level float64) (low, high float64) {
	alpha := 1 - level
	if count > 0 {
		low = distuv.ChiSquared{K: 2 * float64(count)}.Quantile(alpha/2) / 2 / exposure
	}
	high = distuv.ChiSquared{K: 2*float64(count) + 2}.Quantile(1-alpha/2) / 2 / exposure
	return low, high
}

// PoissonMidP returns the mid-P interval at the given level for the rate of
// events of which count were seen in exposure: the rates at which the chance of
// more events than were seen (of fewer, for the upper end), and half the chance
// of just as many, is α/2. It lies within [PoissonInterval] and holds the level
// on average over rates, not at each.
//
// The lower end is 0 when count is 0.
//
// Source: Lancaster, J. American Statistical Association 56 (1961) 223; Cohen &
// Yang, Statistics in Medicine 13 (1994) 2227 (both from memory).
func PoissonMidP(count int, exposure, level float64) (low, high float64) {
	alpha := 1 - level
	// P(at most count events) less half of that of just as many.
	below := func(rate float64) float64 {
		p := distuv.Poisson{Lambda: rate}
		return p.CDF(float64(count)) - p.Prob(float64(count))/2
	}
	least, most := PoissonInterval(count, 1, level)
	// The chance falls with the rate.
	rateAt := func(p float64) float64 {
		a, b := least, most
		for range 60 {
			if mid := (a + b) / 2; below(mid) > p {
				a = mid
			} else {
				b = mid
			}
		}
		return (a + b) / 2 / exposure
	}
	if count > 0 {
		low = rateAt(1 - alpha/2)
	}
	return low, rateAt(alpha / 2)
}
