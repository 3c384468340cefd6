package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// CodeChance is the logarithm of the probability that a Gaussian of deviation
// sigma, rounded to whole steps, gives the code that lies d from its mean, both
// in steps, and its first two derivatives by the mean:
//
//	P = Φ((d+½)/σ) − Φ((d−½)/σ).
//
// It is finite however far the code lies out. Sums of it are the likelihood of
// grouped data, which is right for a σ far below the step too.
//
// Source: Kulldorff, Estimation from Grouped and Partially Grouped Samples
// (1961) (from memory).
func CodeChance(d, sigma float64) (logP, byMean, byMeanTwice float64) {
	// Mirrored to the lower tail, where differences keep their digits.
	sign := 1.0
	if d > 0 {
		d, sign = -d, -1
	}
	z1, z0 := (d+0.5)/sigma, (d-0.5)/sigma
	p := distuv.UnitNormal.CDF(z1) - distuv.UnitNormal.CDF(z0)
	if p < 1e-280 {
		// So far out that only the nearer edge counts.
		logP, byMean, byMeanTwice = farOut(z1, sigma)
		return logP, sign * byMean, byMeanTwice
	}
	f1, f0 := distuv.UnitNormal.Prob(z1), distuv.UnitNormal.Prob(z0)
	first := -(f1 - f0) / sigma / p
	second := -(z1*f1-z0*f0)/(sigma*sigma)/p - first*first
	return math.Log(p), sign * first, second
}

// EndCodeChance is [CodeChance] of the lowest code of a converter, which holds
// all that lies below its upper edge: P = Φ((d+½)/σ).
func EndCodeChance(d, sigma float64) (logP, byMean, byMeanTwice float64) {
	z := (d + 0.5) / sigma
	p := distuv.UnitNormal.CDF(z)
	if p < 1e-280 {
		return farOut(z, sigma)
	}
	first := -distuv.UnitNormal.Prob(z) / sigma / p
	return math.Log(p), first, z*first/sigma - first*first
}

// farOut is ln Φ(z) for z far below 0, −z²/2 − ln(−z√2π), and its derivatives.
func farOut(z, sigma float64) (logP, byMean, byMeanTwice float64) {
	return -0.5*z*z - math.Log(math.Max(1, -z)) - 0.92, z / sigma, -1 / (sigma * sigma)
}
