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

	excesses []float64
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
		Share: n / float64(len(x)), Exceedances: len(y), N: len(x), excesses: y}
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
	const from, to, step = -9, 25, 0.25
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
	w = GoldenMax(cost, w-step, w+step, 60)
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

// Level returns the value exceeded with probability p per sample,
// u + (σ/ξ)((p/Share)^(−ξ) − 1). NaN unless 0 < p ≤ Share.
func (t GPDTail) Level(p float64) float64 {
	if !(p > 0 && p <= t.Share) {
		return math.NaN()
	}
	return t.Threshold + t.Scale*boxCox(t.Share/p, t.Shape)
}

// boxCox is (m^ξ − 1)/ξ, ln m at ξ = 0: the excess in units of σ that one in m
// exceedances passes.
func boxCox(m, shape float64) float64 {
	if math.Abs(shape) < 1e-8 {
		return math.Log(m)
	}
	return math.Expm1(shape*math.Log(m)) / shape
}

// LevelInterval returns the interval of [GPDTail.Level] at the given level of
// confidence: all levels whose likelihood, maximised over ξ, lies within χ²₁/2
// of the largest. It is longer upwards, as it should be. Share counts as known,
// which costs little against ξ. NaN where Level is, and for a tail that was not
// fitted.
//
// Source: Coles, An Introduction to Statistical Modeling of Extreme Values
// (2001), sections 2.6.6 and 4.3.3 (from memory).
func (t GPDTail) LevelInterval(p, level float64) (low, high float64) {
	x := t.Level(p) - t.Threshold
	if !(x > 0) || len(t.excesses) == 0 {
		return math.NaN(), math.NaN()
	}
	m := t.Share / p
	profile := func(x float64) float64 {
		at := func(shape float64) float64 { return -gpdCost(t.excesses, shape, x/boxCox(m, shape)) }
		return at(GoldenMax(at, math.Max(-1, t.Shape-1), t.Shape+1, 28))
	}
	limit := distuv.ChiSquared{K: 1}.Quantile(level)
	best := -gpdCost(t.excesses, t.Shape, t.Scale)
	deviance := func(x float64) float64 { return 2 * (best - profile(x)) }
	return t.Threshold + edge(deviance, limit, x, 1/1.5), t.Threshold + edge(deviance, limit, x, 1.5)
}

// gpdCost is the negative log-likelihood; off the support it is huge, and the
// more so the farther off, so that a search finds its way back.
func gpdCost(y []float64, shape, scale float64) float64 {
	l := float64(len(y)) * math.Log(scale)
	for _, v := range y {
		z := shape * v / scale
		switch {
		case math.Abs(shape) < 1e-8:
			l += v / scale
		case z <= -1:
			return 1e100 * -z
		default:
			l += (1 + 1/shape) * math.Log1p(z)
		}
	}
	return l
}
