package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// GPDTail is a generalised Pareto tail above a threshold u:
//
//	P(X > u+y) = Share · (1 + Shape·y/Scale)^(−1/Shape),   y ≥ 0.
//
// Shape is 0 for exponential tails (Gaussian ones come near), positive for
// heavy ones, negative for bounded ones.
type GPDTail struct {
	Threshold        float64 // u
	Shape, Scale     float64 // ξ, σ; Scale in the unit of x
	ShapeSE, ScaleSE float64 // large-sample standard errors; NaN for ξ ≤ −½
	Share            float64 // share of values above u
	Exceedances, N   int
}

// leastExceedances is how many values above the threshold a fit needs.
const leastExceedances = 10

// PeaksOverThreshold fits a generalised Pareto tail to the values of x above
// threshold by maximum likelihood. At least 10 values must lie above it. They
// count as independent: pick peaks of correlated data first.
//
// With θ = ξ/σ the likelihood has its maximum over ξ at mean ln(1+θy), so that
// one dimension is left to search. Where no maximum exists with ξ > −1 the
// probability-weighted moments stand.
//
// Source: Grimshaw, Technometrics 35 (1993) 185 (profile); Hosking & Wallis,
// Technometrics 29 (1987) 339 (moments); Smith, Biometrika 72 (1985) 67
// (standard errors). From memory; checked by simulation in the tests.
func PeaksOverThreshold(x []float64, threshold float64) (GPDTail, error) {
	var y []float64
	for _, v := range x {
		if v > threshold {
			y = append(y, v-threshold)
		}
	}
	n := float64(len(y))
	if len(y) < leastExceedances {
		return GPDTail{}, fmt.Errorf("only %d values above the threshold %g: record longer or lower it until there are %d", len(y), threshold, leastExceedances)
	}
	shape, scale, ok := likeliestTail(y)
	if !ok {
		shape, scale = weightedMoments(y)
	}
	t := GPDTail{Threshold: threshold, Shape: shape, Scale: scale, ShapeSE: math.NaN(), ScaleSE: math.NaN(),
		Share: n / float64(len(x)), Exceedances: len(y), N: len(x)}
	if shape > -0.5 {
		t.ShapeSE = (1 + shape) / math.Sqrt(n)
		t.ScaleSE = scale * math.Sqrt(2*(1+shape)/n)
	}
	return t, nil
}

// likeliestTail searches w = ln(1+θ·y_max), which spans all allowed θ, on a
// grid and then by golden section. It is not ok when the grid's best lies at
// its end or at ξ ≤ −1, beyond which the likelihood grows without bound.
func likeliestTail(y []float64) (shape, scale float64, ok bool) {
	const from, to, step = -9, 25, 0.1
	top := slices.Max(y)
	cost := func(w float64) float64 {
		shape, scale := profileTail(y, math.Expm1(w)/top)
		if shape <= -1 {
			return math.Inf(-1)
		}
		return -math.Log(scale) - shape
	}
	best, at := math.Inf(-1), 0
	count := int((to - from) / step)
	for i := range count {
		if c := cost(from + step*float64(i)); c > best {
			best, at = c, i
		}
	}
	if at == 0 || at == count-1 || math.IsInf(cost(from+step*float64(at-1)), -1) {
		return 0, 0, false
	}
	w := from + step*float64(at)
	w = goldenMax(cost, w-step, w+step, 60)
	shape, scale = profileTail(y, math.Expm1(w)/top)
	return shape, scale, true
}

// profileTail returns the likeliest ξ and σ = ξ/θ for a given θ.
func profileTail(y []float64, theta float64) (shape, scale float64) {
	for _, v := range y {
		shape += math.Log1p(theta * v)
		scale += v
	}
	n := float64(len(y))
	if math.Abs(theta)*scale < 1e-9*n {
		return shape / n, scale / n // θ → 0: exponential
	}
	return shape / n, shape / n / theta
}

// weightedMoments returns ξ = 2 − a₀/(a₀−2a₁), σ = 2a₀a₁/(a₀−2a₁) with
// a₁ = E[Y(1−F)].
func weightedMoments(y []float64) (shape, scale float64) {
	s := sorted(y)
	n := float64(len(s))
	var a0, a1 float64
	for i, v := range s {
		a0 += v / n
		a1 += v * (n - 1 - float64(i)) / (n - 1) / n
	}
	return 2 - a0/(a0-2*a1), 2 * a0 * a1 / (a0 - 2*a1)
}

// Exceed returns P(X > level) for a level at or above the threshold.
func (t GPDTail) Exceed(level float64) float64 {
	y := math.Max(0, level-t.Threshold) / t.Scale
	if math.Abs(t.Shape) < 1e-8 {
		return t.Share * math.Exp(-y)
	}
	return t.Share * math.Pow(math.Max(0, 1+t.Shape*y), -1/t.Shape)
}

// Level returns the value exceeded with probability p per sample,
// u + (σ/ξ)((p/Share)^(−ξ) − 1). NaN unless 0 < p ≤ Share.
func (t GPDTail) Level(p float64) float64 {
	if !(p > 0 && p <= t.Share) {
		return math.NaN()
	}
	return t.Threshold + t.excess(p, t.Shape, t.Scale, t.Share)
}

func (t GPDTail) excess(p, shape, scale, share float64) float64 {
	logm := math.Log(share / p)
	if math.Abs(shape) < 1e-8 {
		return scale * logm
	}
	return scale * math.Expm1(shape*logm) / shape
}

// LevelInterval returns the interval of [GPDTail.Level] at the given level of
// confidence: the delta method on the logarithm of the excess over the
// threshold, so it stays above the threshold and is longer upwards. NaN where
// the standard errors are.
//
// Source: Coles, An Introduction to Statistical Modeling of Extreme Values
// (2001), section 4.3.3.
func (t GPDTail) LevelInterval(p, level float64) (low, high float64) {
	x := t.Level(p) - t.Threshold
	n := float64(t.Exceedances)
	diff := func(f func(d float64) float64, by float64) float64 { return (f(by) - f(-by)) / (2 * by) }
	dShape := diff(func(d float64) float64 { return t.excess(p, t.Shape+d, t.Scale, t.Share) }, 1e-5)
	dScale := x / t.Scale
	dShare := diff(func(d float64) float64 { return t.excess(p, t.Shape, t.Scale, t.Share+d) }, 1e-5*t.Share)
	varShare := t.Share * (1 - t.Share) / float64(t.N)
	cov := -t.Scale * (1 + t.Shape) / n
	v := dShape*dShape*t.ShapeSE*t.ShapeSE + dScale*dScale*t.ScaleSE*t.ScaleSE +
		2*dShape*dScale*cov + dShare*dShare*varShare
	by := math.Exp(distuv.UnitNormal.Quantile((1+level)/2) * math.Sqrt(v) / x)
	return t.Threshold + x/by, t.Threshold + x*by
}
