package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// RoundedGaussianMoments returns the mean and variance of x rounded to whole
// steps when x is Gaussian with mean mu and deviation sigma, all in steps.
// From σ about 0.5 on the variance is near σ² + 1/12 (Sheppard); below, both
// depend on where mu lies between two codes.
//
// Source: sums over codes k of P(k) = Φ((k+½−μ)/σ) − Φ((k−½−μ)/σ); see
// Wannamaker, Lipshitz, Vanderkooy & Wright, IEEE Trans. Signal Processing 48
// (2000) 499.
func RoundedGaussianMoments(mu, sigma float64) (mean, variance float64) {
	centre := math.Round(mu)
	reach := math.Ceil(10*sigma) + 2
	for d := -reach; d <= reach; d++ {
		p := codeChance(centre+d, mu, sigma)
		mean += d * p
		variance += d * d * p
	}
	return centre + mean, variance - mean*mean
}

// codeChance is P(k), taken in the tail where no digits cancel.
func codeChance(k, mu, sigma float64) float64 {
	a, b := math.Abs(k-mu)-0.5, math.Abs(k-mu)+0.5
	return upperTail(a/sigma) - upperTail(b/sigma)
}

// logCodeChance is ln P(k), finite however far k lies out.
func logCodeChance(k, mu, sigma float64) float64 {
	a, b := math.Abs(k-mu)-0.5, math.Abs(k-mu)+0.5
	near, far := logUpperTail(a/sigma), logUpperTail(b/sigma)
	return near + math.Log1p(-math.Exp(far-near))
}

// logUpperTail is ln Φ(−z); from z = 30 on, where Φ nears underflow, by the
// asymptotic −z²/2 − ln(z√2π), off by 1/z² at most.
func logUpperTail(z float64) float64 {
	if z < 30 {
		return math.Log(upperTail(z))
	}
	return -z*z/2 - math.Log(z*math.Sqrt(2*math.Pi))
}

// RoundedFit is the Gaussian behind rounded values, in steps.
type RoundedFit struct {
	Mu, Sigma     float64
	MuSE, SigmaSE float64 // from the Fisher information; NaN unless Identified
	N             int
	// Identified says that the values hold σ: at least three codes. With one
	// or two, any small enough σ explains them as well as any other; Sigma is
	// then 0, and only the upper end of Interval means something.
	Identified bool

	codes  []float64
	counts []float64
}

// RoundedGaussianSigma estimates by maximum likelihood the mean and deviation
// of a Gaussian from values rounded to whole steps: codes in units of the
// step, taken to the nearest whole number. Spikes must be out already
// (see [Hampel]). The values count as independent; for correlated ones give
// their effective number to Interval and scale the standard errors by
// √(N/effN).
//
// Source: likelihood of grouped data, Kulldorff, Estimation from Grouped and
// Partially Grouped Samples (1961) (from memory), by Fisher scoring.
func RoundedGaussianSigma(codes []float64) (RoundedFit, error) {
	if len(codes) < 2 {
		return RoundedFit{}, fmt.Errorf("cannot fit the noise of %d values: record at least 2", len(codes))
	}
	f := RoundedFit{N: len(codes), MuSE: math.NaN(), SigmaSE: math.NaN()}
	f.codes, f.counts = histogram(codes)
	whole := make([]float64, len(codes))
	for i, c := range codes {
		whole[i] = math.Round(c)
	}
	mean, sd := MeanSD(whole)
	f.Mu = mean
	if f.codes[len(f.codes)-1]-f.codes[0] < 2 {
		return f, nil
	}
	f.Identified = true
	f.Sigma = math.Sqrt(math.Max(sd*sd-1.0/12, 0.04))
	f.score()
	return f, nil
}

func histogram(codes []float64) (values, counts []float64) {
	n := map[float64]float64{}
	for _, c := range codes {
		n[math.Round(c)]++
	}
	for v := range n {
		values = append(values, v)
	}
	slices.Sort(values)
	for _, v := range values {
		counts = append(counts, n[v])
	}
	return values, counts
}

func (f *RoundedFit) logLikelihood(mu, sigma float64) float64 {
	var l float64
	for i, k := range f.codes {
		l += f.counts[i] * logCodeChance(k, mu, sigma)
	}
	return l
}

// score climbs the likelihood in (μ, ln σ) by Fisher scoring with step
// halving, and leaves the standard errors.
func (f *RoundedFit) score() {
	l := f.logLikelihood(f.Mu, f.Sigma)
	for range 200 {
		g0, g1 := f.gradient()
		i00, i01, i11 := fisher(f.Mu, f.Sigma, float64(f.N))
		det := i00*i11 - i01*i01
		f.MuSE, f.SigmaSE = math.Sqrt(i11/det), f.Sigma*math.Sqrt(i00/det)
		d0, d1 := (i11*g0-i01*g1)/det, (i00*g1-i01*g0)/det
		improved := false
		for scale := 1.0; scale > 1e-9; scale /= 2 {
			mu, sigma := f.Mu+scale*d0, f.Sigma*math.Exp(math.Max(-1, math.Min(1, scale*d1)))
			if next := f.logLikelihood(mu, sigma); next > l {
				f.Mu, f.Sigma, l = mu, sigma, next
				improved = true
				break
			}
		}
		if !improved || math.Abs(d0)+math.Abs(d1) < 1e-12 {
			return
		}
	}
}

// scores returns the derivatives of ln P(k) by μ and by ln σ.
func scores(k, mu, sigma float64) (byMu, byLogSigma float64) {
	a, b := (k-0.5-mu)/sigma, (k+0.5-mu)/sigma
	logP := logCodeChance(k, mu, sigma)
	ra := math.Exp(distuv.UnitNormal.LogProb(a) - logP)
	rb := math.Exp(distuv.UnitNormal.LogProb(b) - logP)
	return (ra - rb) / sigma, a*ra - b*rb
}

func (f *RoundedFit) gradient() (g0, g1 float64) {
	for i, k := range f.codes {
		m, s := scores(k, f.Mu, f.Sigma)
		g0 += f.counts[i] * m
		g1 += f.counts[i] * s
	}
	return g0, g1
}

// fisher returns the information on (μ, ln σ) in n values.
func fisher(mu, sigma, n float64) (i00, i01, i11 float64) {
	centre := math.Round(mu)
	reach := math.Ceil(10*sigma) + 2
	for d := -reach; d <= reach; d++ {
		p := n * codeChance(centre+d, mu, sigma)
		m, s := scores(centre+d, mu, sigma)
		i00 += p * m * m
		i01 += p * m * s
		i11 += p * s * s
	}
	return i00, i01, i11
}

// Interval returns the likelihood-ratio interval of σ, in steps, at the given
// level, when the values are worth effN independent ones (N if they are
// independent; see [EffectiveN]): all σ for which the profile log-likelihood,
// times effN/N, lies within χ²₁/2 of its maximum. Low is 0 unless Identified.
//
// Source: Wilks, Annals of Mathematical Statistics 9 (1938) 60.
func (f RoundedFit) Interval(level, effN float64) (low, high float64) {
	limit := distuv.ChiSquared{K: 1}.Quantile(level) * float64(f.N) / effN
	best := f.bestLikelihood()
	deviance := func(sigma float64) float64 { return 2 * (best - f.profile(sigma)) }
	start := math.Max(f.Sigma, 1e-3)
	high = edge(deviance, limit, start, 2)
	if !f.Identified {
		return 0, high
	}
	return edge(deviance, limit, start, 0.5), high
}

// bestLikelihood is that of the fit, or the limit for σ → 0 of values in one
// or two neighbouring codes: each code then has just its share.
func (f RoundedFit) bestLikelihood() float64 {
	if f.Identified {
		return f.logLikelihood(f.Mu, f.Sigma)
	}
	var l float64
	for _, c := range f.counts {
		l += c * math.Log(c/float64(f.N))
	}
	return l
}

// profile is the likelihood at σ, maximised over μ: it is concave in μ.
func (f RoundedFit) profile(sigma float64) float64 {
	at := func(mu float64) float64 { return f.logLikelihood(mu, sigma) }
	return at(GoldenMax(at, f.Mu-1, f.Mu+1, 30))
}
