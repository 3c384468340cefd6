package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// OwenT returns Owen's function
//
//	T(h, a) = 1/(2π) ∫₀ᵃ exp(−h²(1+t²)/2) / (1+t²) dt,
//
// to a relative accuracy of about 1e-13. It is even in h and odd in a;
// T(h, ±∞) = ±Φ(−|h|)/2. NaN arguments give NaN.
//
// The factor exp(−h²/2) is taken out and the rest integrated by a 64-point
// Gauss–Legendre rule over the part of [0, a] that matters; for a > 1 and
// |h| < 1 the reflection to T(ah, 1/a) keeps the integrand smooth.
//
// Source: Owen, Annals of Mathematical Statistics 27 (1956) 1075; reflection
// as in Patefield & Tandy, J. Statistical Software 5(5) (2000).
func OwenT(h, a float64) float64 {
	h = math.Abs(h)
	switch {
	case math.IsNaN(h) || math.IsNaN(a):
		return math.NaN()
	case a < 0:
		return -OwenT(h, -a)
	case math.IsInf(a, 1):
		return upperTail(h) / 2
	case h == 0:
		return math.Atan(a) / (2 * math.Pi)
	case a > 1 && h < 1:
		p, q := upperTail(h), upperTail(a*h)
		return (p+q)/2 - p*q - OwenT(a*h, 1/a)
	}
	const reach = 9 // exp(−9²/2) is below the rounding error of 1
	end := math.Min(a, reach/h)
	inner := quad.Fixed(func(t float64) float64 {
		return math.Exp(-h*h*t*t/2) / (1 + t*t)
	}, 0, end, 64, quad.Legendre{}, 0)
	return math.Exp(-h*h/2) * inner / (2 * math.Pi)
}

// upperTail is Φ(−h), the share of a standard Gaussian above h. gonum's
// Survival takes 1 − erf and so loses digits: 4e-11 of the value at h = 5.
func upperTail(h float64) float64 { return math.Erfc(h/math.Sqrt2) / 2 }

// UpRate returns P(x_k ≤ h, x_{k+1} > h) for a standard Gaussian sequence
// with lag-1 correlation rho, −1 < rho ≤ 1: the chance per sample of stepping
// up over h (in σ), 2 T(h, √((1−ρ)/(1+ρ))).
//
// Source: Owen 1956, on the bivariate Gaussian integral.
func UpRate(h, rho float64) float64 {
	return 2 * OwenT(h, math.Sqrt((1-rho)/(1+rho)))
}

// ExitRate returns P(|x_k| ≤ h, |x_{k+1}| > h) for a standard Gaussian
// sequence with lag-1 correlation rho, −1 < rho < 1: the chance per sample of
// leaving the band ±h (in σ). It is twice [UpRate] less twice the chance of
// jumping across the whole band,
//
//	2 [2T(h, r) − 2(T(h, ∞) − T(h, 1/r))],   r = √((1−ρ)/(1+ρ)).
//
// Zero at h = 0, where there is no band to leave. A negative h or a rho
// outside the range gives NaN.
//
// Source: Owen 1956.
func ExitRate(h, rho float64) float64 {
	if !(h >= 0) || !(rho > -1 && rho < 1) {
		return math.NaN()
	}
	r := math.Sqrt((1 - rho) / (1 + rho))
	across := upperTail(h) - 2*OwenT(h, 1/r)
	return math.Max(0, 2*(UpRate(h, rho)-math.Max(0, across)))
}

// ExcursionForRate returns the least half-width h, in σ, of a band that a
// Gaussian axis with lag-1 correlation rho between reports leaves no more than
// exitsPerMinute times a minute at reportHz reports per second, and so does
// any wider band: the larger root of 60·reportHz·ExitRate(h, rho) = rate. 0
// when the noise never leaves any band that often. NaN unless both rates are
// positive and −1 < rho < 1.
func ExcursionForRate(exitsPerMinute, reportHz, rho float64) float64 {
	if !(exitsPerMinute > 0) || !(reportHz > 0) || !(rho > -1 && rho < 1) {
		return math.NaN()
	}
	want := exitsPerMinute / (60 * reportHz)
	lo := exitPeak(rho)
	if ExitRate(lo, rho) <= want {
		return 0
	}
	hi := 38.0 // beyond this exp(−h²/2) underflows
	for hi-lo > 1e-13*hi {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if ExitRate(mid, rho) > want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// exitPeak returns the half-width left most often, by golden section.
func exitPeak(rho float64) float64 {
	return GoldenMax(func(h float64) float64 { return ExitRate(h, rho) }, 0, 3, 60)
}
