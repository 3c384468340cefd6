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
	forMean, n := a.independent(parts)
	_, ordinary := stats.MeanSD(raw)
	lo, hi := stats.SigmaInterval(ordinary, n, 0.95)
	a.out.Rest.SigmaOrdinary = within(ordinary, lo, hi, unitCounts, len(raw),
		"standard deviation of the reports, drift out, spikes and rounding left in; "+effective(n))

	_, sd := stats.MeanSD(clean)
	steps := math.Sqrt(math.Max(0, sd*sd/(a.step*a.step)-1.0/12))
	switch {
	case a.hasGrid && (steps < coarseNoise || clipped(parts)):
		a.roundedSigma(parts, forMean, n)
	case a.hasGrid && steps < fineNoise:
		s, kept := trimmed(clean)
		a.out.Rest.Sigma = a.chiSquared(sheppard(s, a.step), n, kept,
			"standard deviation of the reports, spikes and drift out, what lies beyond 4 robust deviations left out, rounding taken off (Sheppard)")
	default:
		s := stats.Qn(dithered(clean, a.step))
		a.out.Rest.Sigma = a.chiSquared(sheppard(sheppard(s, a.step), a.step), n*qnEfficiency, len(clean),
			"Qn of the reports, spikes and drift out, rounding blurred by an even dither of one step and both taken off (Sheppard)")
	}
	q := a.out.Rest.Sigma
	if q != nil && ordinary > 1.25*math.Hypot(q.Value, a.step/math.Sqrt(12)) && ordinary-q.Value > 0.5*a.step {
		a.note("rest noise: the ordinary deviation (%.0f counts) and the robust one (%.0f counts) disagree: spikes or heavy tails", ordinary, q.Value)
	}
}

// clipped tells whether more than a few reports are at an end of the scale.
func clipped(parts []restPart) bool {
	ends, all := 0, 0
	for _, p := range parts {
		for _, v := range p.x {
			if v == p.low || v == p.high {
				ends++
			}
		}
		all += len(p.x)
	}
	return float64(ends) > 1e-3*float64(all)
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

// independent is the number of independent reports for a mean or a slope and
// for a deviation, summed over the parts; each part's line costs one.
func (a *analysis) independent(parts []restPart) (forMean, forSigma float64) {
	for _, p := range parts {
		m, v := stats.EffectiveN(p.resid)
		forMean, forSigma = forMean+m, forSigma+v
	}
	lines := float64(len(parts))
	return math.Max(2, forMean-lines), math.Max(2, forSigma-lines)
}

// dithered adds an even spread of one step, in golden-ratio order so that it
// is the same each time: pairwise differences of rounded values are whole
// steps, and Qn would jump from one to the next by 2.2 steps.
func dithered(x []float64, step float64) []float64 {
	const golden = 0.6180339887498949
	out := make([]float64, len(x))
	for i, v := range x {
		_, f := math.Modf(float64(i) * golden)
		out[i] = v + step*(f-0.5)
	}
	return out
}

// roundedSigma fits the Gaussian behind the rounding, and with it the drift,
// whose block means stand on the codes while the mean passes between them.
func (a *analysis) roundedSigma(parts []restPart, forMean, n float64) {
	slope := 0.0
	if d := a.out.Rest.DriftPerMinute; d != nil {
		slope = d.Value / 60 / a.step
	}
	m := newRoundedLine(parts, a.lattice, slope)
	r := m.fit(slope, forMean, n)
	how := "maximum likelihood of a Gaussian about a line, rounded to the step, spikes out; likelihood interval for " + fmt.Sprintf("%.0f independent reports", n)
	if r.low == 0 {
		how += "; too few codes seen to exclude 0, so only the upper end means something"
	}
	a.out.Rest.Sigma = within(r.sigma*a.step, r.low*a.step, r.high*a.step, unitCounts, int(m.n), how)
	if r.low > 0 && a.out.Rest.DriftPerMinute != nil {
		k := 60 * a.step
		a.out.Rest.DriftPerMinute = within(k*r.slope, k*r.slopeLow, k*r.slopeHigh, unitCountsPerMinute, int(m.n),
			"slope of the line about which the Gaussian behind the rounded reports lies, by maximum likelihood; interval from its information")
	}
	longest := 0.0
	for _, p := range parts {
		longest = math.Max(longest, p.seconds())
	}
	passed := math.Abs(r.slope)*longest >= passedSteps && r.sigma >= passedNoise
	if r.sigma < quietNoise && !passed {
		sigma := r.sigma
		if r.low == 0 { // one or two codes seen: anything up to the upper end may be the noise
			sigma = r.high
		}
		a.quietDrift(parts, sigma)
	}
}

// quietNoise is the noise, in steps, below which rounding hides where the mean
// is between two codes, so that the likelihood has no smooth top.
// A mean that passes more than passedSteps is seen between two codes twice at
// least, and of passedNoise long enough to have one: by simulation 94 to 98 % of
// the intervals from the information hold the slope there, for 0.1 to 0.25 steps
// of noise and 2 to 4 steps passed, and down to 70 % for half a step passed.
const (
	quietNoise  = 0.3
	passedNoise = 0.1
	passedSteps = 1.5
)

// quietDrift widens the drift's interval to every slope that the codes allow,
// where sigma is the most that the noise may be: a line fits a part if all its
// codes, single ones left out, lie within half a step and three σ of it. For noise
// far below a step these are all slopes that could have given the codes, so more
// than 95 % of such intervals hold.
func (a *analysis) quietDrift(parts []restPart, sigma float64) {
	d := a.out.Rest.DriftPerMinute
	if d == nil || d.Low == nil {
		return
	}
	codes := make([][]float64, len(parts))
	for k, p := range parts {
		codes[k] = stats.MedianFilter(p.clean, 5)
	}
	room := 2 * (0.5 + 3*sigma) * a.step
	spare := func(slope float64) float64 { // above 0 where the slope fits
		worst := math.Inf(1)
		for k, p := range parts {
			low, high := math.Inf(1), math.Inf(-1)
			for i, t := range p.t {
				v := codes[k][i] - slope*(t-p.t[0])
				low, high = math.Min(low, v), math.Max(high, v)
			}
			worst = math.Min(worst, room-(high-low))
		}
		return worst
	}
	best := d.Value / 60
	if spare(best) < 0 {
		return
	}
	low, high := slopesUntil(spare, best, -1), slopesUntil(spare, best, 1)
	*d.Low, *d.High = math.Min(*d.Low, 60*low), math.Max(*d.High, 60*high)
	d.Method += "; interval widened to all slopes that the codes allow"
}

// slopesUntil is how far one may go from a place where a concave function is
// above 0 until it is not.
func slopesUntil(f func(float64) float64, from, sign float64) float64 {
	reach := 1e-6
	for f(from+sign*reach) > 0 && reach < 1e9 {
		reach *= 2
	}
	inner, outer := 0.0, reach
	for range 40 {
		if mid := (inner + outer) / 2; f(from+sign*mid) > 0 {
			inner = mid
		} else {
			outer = mid
		}
	}
	return from + sign*outer
}

// significant tells whether the interval excludes 0.
func significant(q *Quantity) bool {
	return q != nil && q.Low != nil && (*q.Low > 0 || *q.High < 0)
}
