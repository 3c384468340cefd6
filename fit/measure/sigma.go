package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
)

// qnEfficiency is that of Qn for Gaussian data (Rousseeuw and Croux 1993).
const qnEfficiency = 0.82

// sigma measures the rest noise, robustly and in the ordinary way.
func (a *analysis) sigma(parts []restPart, clean, raw []float64) {
	n := a.independent(parts)
	_, ordinary := stats.MeanSD(raw)
	lo, hi := stats.SigmaInterval(ordinary, n, 0.95)
	a.out.Rest.SigmaOrdinary = within(ordinary, lo, hi, unitCounts, len(raw),
		"standard deviation of the reports, drift out, spikes and rounding left in; "+effective(n))

	_, sd := stats.MeanSD(clean)
	steps := math.Sqrt(math.Max(0, sd*sd/(a.step*a.step)-1.0/12))
	switch {
	case a.hasGrid && steps < coarseNoise:
		a.out.Rest.Sigma = a.roundedSigma(parts, sd, n)
	case a.hasGrid && steps < fineNoise:
		s, kept := trimmed(clean)
		a.out.Rest.Sigma = a.chiSquared(sheppard(s, a.step), n, kept,
			"standard deviation of the reports, spikes and drift out, what lies beyond 4 robust deviations left out, rounding taken off (Sheppard)")
	default:
		s := stats.Qn(clean)
		if a.hasGrid {
			s = sheppard(s, a.step)
		}
		a.out.Rest.Sigma = a.chiSquared(s, n*qnEfficiency, len(clean),
			"Qn of the reports, spikes and drift out, rounding taken off (Sheppard)")
	}
	q := a.out.Rest.Sigma
	if q != nil && ordinary > 1.25*math.Hypot(q.Value, a.step/math.Sqrt(12)) && ordinary-q.Value > 0.5*a.step {
		a.note("rest noise: the ordinary deviation (%.0f counts) and the robust one (%.0f counts) disagree: spikes or heavy tails", ordinary, q.Value)
	}
}

// sheppard takes the variance of rounding to a step off a deviation.
func sheppard(s, step float64) float64 {
	return math.Sqrt(math.Max(0, s*s-step*step/12))
}

func effective(n float64) string {
	return fmt.Sprintf("interval from %.0f independent reports", n)
}

func (a *analysis) chiSquared(s, n float64, count int, how string) *Quantity {
	lo, hi := stats.SigmaInterval(s, n, 0.95)
	return notNegative(within(s, lo, hi, unitCounts, count, how+"; "+effective(n)))
}

// independent is the number of independent reports for a deviation, summed
// over the parts; each part's line and mean cost one each.
func (a *analysis) independent(parts []restPart) float64 {
	n := 0.0
	for _, p := range parts {
		_, v := stats.EffectiveN(p.resid)
		n += v
	}
	return math.Max(2, n-float64(len(parts)))
}

// roundedSigma fits the Gaussian behind the rounding. Where drift carries the
// mean by more than a quarter step, the time is cut into pieces that it does
// not, each with a mean of its own.
func (a *analysis) roundedSigma(parts []restPart, sd, n float64) *Quantity {
	slope := 0.0
	if d := a.out.Rest.DriftPerMinute; d != nil && significant(d) {
		slope = math.Abs(d.Value) / 60
	}
	piece := math.Inf(1)
	if slope > 0 {
		piece = 0.25 * a.step / slope
	}
	var fits []stats.RoundedFit
	var sum, weight, seSum, unknown float64
	count := 0
	for _, p := range parts {
		for _, codes := range a.pieces(p, piece) {
			fit, err := stats.RoundedGaussianSigma(codes)
			if err != nil {
				continue
			}
			fits = append(fits, fit)
			w := float64(len(codes))
			count += len(codes)
			sum += w * fit.Sigma * fit.Sigma
			weight += w
			if fit.Identified {
				seSum += w * w * fit.SigmaSE * fit.SigmaSE
			} else {
				unknown += w
			}
		}
	}
	if 2*weight < float64(a.restReports) {
		return a.chiSquared(sheppard(sd, a.step), n, count,
			"standard deviation of the reports, spikes and drift out, rounding taken off (Sheppard), since drift moves the mean by more than a step")
	}
	s := math.Sqrt(sum / weight)
	how := "maximum likelihood of a Gaussian rounded to the step, spikes out"
	if len(fits) == 1 || unknown > weight/2 {
		f := longest(fits)
		low, high := f.Interval(0.95, math.Max(2, n*float64(f.N)/float64(count)))
		if low == 0 {
			how += "; too few codes seen to exclude 0, so only the upper end means something"
		}
		return within(s*a.step, low*a.step, math.Max(high, s)*a.step, unitCounts, count, how+"; interval from the likelihood of "+fmt.Sprintf("%.0f independent reports", n))
	}
	// Correlated reports tell less: stretch the error by rows over independent.
	se := math.Sqrt(seSum) / weight * math.Sqrt(math.Max(1, float64(count)/n))
	spread := math.Exp(1.96 * se / s)
	return within(s*a.step, s*a.step/spread, s*a.step*spread, unitCounts, count,
		how+"; interval from the Fisher information of "+fmt.Sprintf("%.0f independent reports", n))
}

// longest is the fit of most values.
func longest(fits []stats.RoundedFit) stats.RoundedFit {
	best := fits[0]
	for _, f := range fits[1:] {
		if f.N > best.N {
			best = f
		}
	}
	return best
}

// significant tells whether the interval excludes 0.
func significant(q *Quantity) bool {
	return q != nil && q.Low != nil && (*q.Low > 0 || *q.High < 0)
}

// pieces gives a part's codes, spikes out, cut into pieces of so many seconds.
func (a *analysis) pieces(p restPart, seconds float64) [][]float64 {
	var out [][]float64
	var now []float64
	start := p.t[0]
	flush := func() {
		if len(now) >= 50 {
			out = append(out, now)
		}
		now = nil
	}
	for i, t := range p.t {
		if t-start >= seconds {
			flush()
			start = t
		}
		if p.keep[i] {
			now = append(now, a.lattice.steps(p.x[i]))
		}
	}
	flush()
	return out
}
