package stats

import "math"

// CodeEdge is an edge of a code, where rounding goes from it to the next, before a
// Gaussian. Two codes that lie side by side have one in common.
type CodeEdge struct {
	z, sigma float64 // deviations from the mean; the deviation in steps
	beyond   float64 // chance of what lies farther out than the edge, Φ(−|z|)
	density  float64 // φ(z)
}

// EdgeAt is the edge that lies d from the mean of a Gaussian of deviation sigma,
// both in steps.
func EdgeAt(d, sigma float64) CodeEdge {
	z := d / sigma
	return CodeEdge{z: z, sigma: sigma, beyond: math.Erfc(math.Abs(z)/math.Sqrt2) / 2, density: math.Exp(-logRoot2Pi - z*z/2)}
}

// CodeChance is the logarithm of the probability that a Gaussian, rounded to whole
// steps, gives the code between two edges, and its first two derivatives by the
// mean, in steps:
//
//	P = Φ(z_high) − Φ(z_low),   z = (edge − mean)/σ.
//
// It is finite however far the code lies out. Sums of it are the likelihood of
// grouped data, which is right for a σ far below the step too.
//
// Source: Kulldorff, Estimation from Grouped and Partially Grouped Samples
// (1961) (from memory).
func CodeChance(low, high CodeEdge) (logP, byMean, byMeanTwice float64) {
	var p float64
	switch { // by what lies beyond, as differences keep their digits there
	case high.z <= 0:
		p = high.beyond - low.beyond
	case low.z >= 0:
		p = low.beyond - high.beyond
	default:
		p = 1 - math.Max(low.beyond, high.beyond) - math.Min(low.beyond, high.beyond)
	}
	if p < leastChance {
		// So far out that only the nearer edge counts.
		if high.z <= 0 {
			return farBelow(high)
		}
		return farAbove(low)
	}
	first := -(high.density - low.density) / low.sigma / p
	second := -(high.z*high.density-low.z*low.density)/(low.sigma*low.sigma)/p - first*first
	return math.Log(p), first, second
}

// LowestCodeChance is [CodeChance] of the lowest code of a converter, which holds
// all that lies below its upper edge: P = Φ(z_high).
func LowestCodeChance(high CodeEdge) (logP, byMean, byMeanTwice float64) {
	p := high.beyond
	if high.z > 0 {
		p = 1 - p
	}
	if p < leastChance {
		return farBelow(high)
	}
	first := -high.density / high.sigma / p
	return math.Log(p), first, high.z*first/high.sigma - first*first
}

// HighestCodeChance is [CodeChance] of the highest code of a converter, which holds
// all that lies above its lower edge: P = 1 − Φ(z_low).
func HighestCodeChance(low CodeEdge) (logP, byMean, byMeanTwice float64) {
	logP, byMean, byMeanTwice = LowestCodeChance(low.mirrored())
	return logP, -byMean, byMeanTwice
}

// logRoot2Pi is ln √(2π), of the Gaussian density.
const logRoot2Pi = 0.91893853320467274178

// leastChance is one below which differences of chances have no digits left.
const leastChance = 1e-280

func (e CodeEdge) mirrored() CodeEdge {
	e.z = -e.z
	return e
}

// farBelow is ln Φ(z) for z far below 0, −z²/2 − ln(−z√2π), and its derivatives.
func farBelow(e CodeEdge) (logP, byMean, byMeanTwice float64) {
	return -0.5*e.z*e.z - math.Log(math.Max(1, -e.z)) - 0.92, e.z / e.sigma, -1 / (e.sigma * e.sigma)
}

func farAbove(e CodeEdge) (logP, byMean, byMeanTwice float64) {
	logP, byMean, byMeanTwice = farBelow(e.mirrored())
	return logP, -byMean, byMeanTwice
}
