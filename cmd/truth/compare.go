package main

import (
	"math"

	"halfstick/fit/measure"
	"halfstick/input"
	"halfstick/input/rig"
)

// sample is one measured quantity against the truth, in the unit of its row.
type sample struct {
	row     string
	err     float64
	hit     bool    // the interval holds the truth
	width   float64 // of the interval; NaN without one
	missing bool    // the axis has it, the measurement has not
}

// comparison collects the samples of one device.
type comparison struct{ samples []sample }

// add compares a quantity with its truth; both are divided by scale.
func (c *comparison) add(row string, q *measure.Quantity, truth, scale float64) {
	s := sample{row: row, width: math.NaN()}
	switch {
	case q == nil:
		s.missing = true
	default:
		s.err = (q.Value - truth) / scale
		if q.Low != nil {
			// What is exact must not fail for the last bit of a float.
			slack := 1e-9 * math.Abs(truth)
			s.hit = *q.Low-slack <= truth && truth <= *q.High+slack
			s.width = (*q.High - *q.Low) / scale
		}
	}
	c.samples = append(c.samples, s)
}

// compare holds one axis against its truth.
func (c *comparison) compare(d device, r *recorded, i int, a *measure.Axis, e expected) {
	percent := e.half / 100 // of the half-throw, in counts
	if distinctCounts(r.rec.Columns[i]) >= 20 {
		c.add("step", a.Step, e.StepCounts, e.StepCounts/100)
		c.add("effective bits", a.EffectiveBits, math.Log2(65536/e.StepCounts), 1)
	}
	c.add("low stop", a.Travel.Low, e.low, percent)
	c.add("high stop", a.Travel.High, e.high, percent)
	c.add("used share", a.Travel.UsedShare, 100*(e.high-e.low)/65535, 1)
	if e.GapCounts != nil {
		c.returns(d, a, e, percent)
	}
	c.rest(d, a, e, percent)
	c.sweep(a, e, percent)
	c.timing(d, r, i, a)
	for _, k := range a.Coupling {
		share := k.Share
		c.add("coupling", &share, 100*seenLeak(d.spec.Axes, i, k.With, e.Leaks[k.With]), 1)
	}
}

// seenLeak is a leak from axis i to another as the readings show it: of a whole
// travel of a grip its sensor misses the play, on either axis.
func seenLeak(axes []rig.AxisSpec, i int, to string, share float64) float64 {
	seen := func(a rig.AxisSpec) float64 {
		_, throw := throwOf(a)
		return 1 - a.Play/throw
	}
	for _, a := range axes {
		if a.Label == to {
			share *= seen(axes[i]) / seen(a)
		}
	}
	return share
}

func (c *comparison) returns(d device, a *measure.Axis, e expected, percent float64) {
	c.add("centre", a.Travel.Centre, e.CentreCounts+(e.drifted[0]+e.drifted[1])/2, percent)
	for i, side := range []*measure.ReturnSide{a.Return.FromLow, a.Return.FromHigh} {
		if side == nil {
			side = &measure.ReturnSide{}
		}
		c.add("return", side.Mean, e.returns[i].mean, percent)
		c.add("return spread", side.Spread, e.returns[i].sd, percent)
	}
	gap := e.returns[1].mean - e.returns[0].mean - (e.drifted[1] - e.drifted[0])
	c.add("return gap", a.Return.Gap, gap, percent)
	if q := a.Return.Gap; q != nil {
		se := math.Sqrt(e.returnVariance(d, 0, a.Return.FromLow.Mean.N) + e.returnVariance(d, 1, a.Return.FromHigh.Mean.N))
		near := math.Abs(q.Value-gap) <= math.Max(0.5*e.StepCounts, 2*se)
		c.samples = append(c.samples, sample{row: rowGapGoal, hit: near, width: 0})
	}
}

// returnVariance is the variance, counts², of the mean of n releases of which
// all is known but chance: of where they end, of a second's noise, and of
// rounding. What noise blurs of the rounding is gone; what only the scatter of
// the releases blurs differs from release to release; the rest is common to all
// and no number of releases makes it smaller. The standard deviation of an even
// spread over a step is 1/√12, its first harmonic falls with exp(−2π²σ²).
func (e expected) returnVariance(d device, side, n int) float64 {
	reports := e.independentReports(d)
	step2, sigma2, sd2 := e.StepCounts*e.StepCounts, e.sigma*e.sigma, e.returns[side].sd*e.returns[side].sd
	rounding := step2 / 12 * math.Exp(-4*math.Pi*math.Pi*sigma2/step2)
	common := rounding * math.Exp(-4*math.Pi*math.Pi*sd2/step2)
	return (sd2+sigma2/math.Max(1, reports)+rounding-common)/float64(n) + common
}

func (c *comparison) rest(d device, a *measure.Axis, e expected, percent float64) {
	s := e.sigma / e.StepCounts // steps
	if s >= 0.02 && !e.atEdge {
		switch {
		case s < 0.3:
			c.add("rest noise, σ < 0.3 step", a.Rest.Sigma, e.sigma, e.sigma/100)
		case e.Correlation == 0:
			c.add("rest noise, white", a.Rest.Sigma, e.sigma, e.sigma/100)
		default:
			c.add("rest noise, correlated", a.Rest.Sigma, e.sigma, e.sigma/100)
		}
		if s >= 0.3 && e.Correlation == 0 && d.plan.RestSeconds < 11 && a.Rest.Sigma != nil {
			reports := math.Min(d.spec.ReportHz, d.rateHz) * (d.plan.RestSeconds - 0.5)
			err := a.Rest.Sigma.Value/e.sigma - 1
			c.samples = append(c.samples,
				sample{row: rowNoiseGoal, err: 100 * err, width: math.NaN()},
				sample{row: rowLimitGoal, err: err / roundedLimit(s, reports), width: math.NaN()})
		}
		c.add("noise-free levels", a.NoiseFreeLevels, (e.HighCounts-e.LowCounts)/(6.6*e.sigma), (e.HighCounts-e.LowCounts)/(6.6*e.sigma)/100)
		if e.SpikesPerMinute == 0 {
			ordinary := math.Hypot(e.sigma, e.StepCounts/math.Sqrt(12))
			if s >= 0.5 {
				c.add("rest noise, ordinary", a.Rest.SigmaOrdinary, ordinary, ordinary/100)
			}
		}
	}
	// Reports that the sampling cannot tell apart have no report-to-report
	// correlation to be measured.
	if s >= 0.5 && !e.atEdge && d.spec.ReportHz < d.rateHz/1.3 {
		v := e.sigma * e.sigma
		c.add("correlation", a.Rest.Correlation, e.Correlation*v/(v+e.StepCounts*e.StepCounts/12), 1)
	}
	c.add("drift", a.Rest.DriftPerMinute, e.DriftCountsPerMinute, percent)
	if q := a.Rest.DriftOverallPerMinute; q != nil { // it may be given up, with a note
		c.add("drift over all", q, e.DriftCountsPerMinute, percent)
	}
	switch q := a.Rest.SpikesPerMinute; {
	case e.SpikesPerMinute == 0 && q != nil:
		// An interval from 0 upwards cannot miss a truth of 0, so it does not count.
		c.add("spikes, none there", &measure.Quantity{Value: q.Value}, 0, 1)
	case e.SpikesPerMinute > 0 && spikesShow(e.spec, s):
		c.add("spikes", q, e.SpikesPerMinute, 1)
	}
}

func (c *comparison) sweep(a *measure.Axis, e expected, percent float64) {
	_, throw := throwOf(e.spec)
	playCounts := e.spec.Play * (e.HighCounts - e.LowCounts) / throw
	if e.spec.Stuck.To == 0 && e.spec.Stuck.From == 0 && e.spec.Jump.Steps == 0 {
		c.add("hysteresis", a.Sweep.Hysteresis, playCounts, percent)
		c.noiseAlong(a, e)
	}
	jumps := 0.0
	if e.JumpCounts != 0 {
		jumps = 2
	}
	if math.Abs(e.JumpCounts) > 20*math.Max(e.SigmaCounts*math.Max(1, e.spec.Worn.Times), e.StepCounts) || jumps == 0 {
		c.add("jumps", a.Sweep.JumpsPerSweep, jumps, 1)
	}
	if e.Worn != nil && e.causes["worn-band"] >= 1 && e.SigmaCounts >= 0.3*e.StepCounts && a.Sweep.WornRatio != nil {
		c.worn(a, e)
	}
	for _, p := range a.Sweep.Plateaus {
		if e.Stuck != nil && len(a.Sweep.Plateaus) == 1 {
			width := e.Stuck.To - e.Stuck.From
			c.add("plateau width", &measure.Quantity{Value: 100 * (p.To - p.From)}, 100*width, 1)
		}
	}
}

// noiseAlong compares the noise of bands that are wholly worn or wholly not,
// for white noise: wander slower than the window is not meant to be in it.
func (c *comparison) noiseAlong(a *measure.Axis, e expected) {
	if e.Correlation > 0 || e.SigmaCounts < 0.3*e.StepCounts {
		return
	}
	from, to := e.wornU()
	for _, b := range a.Sweep.Bands {
		sigma := e.SigmaCounts
		switch {
		case b.Sigma == nil || b.From > -0.1 && b.From < 0.05 && e.Kind == input.TwoSided:
			continue // at the centre u turns; where it was not swept, nothing is known
		case e.Worn != nil && b.From > from+0.03 && b.To < to-0.03:
			sigma *= e.Worn.Times
		case e.Worn != nil && b.To > from-0.03 && b.From < to+0.03:
			continue
		}
		c.add("noise along the throw", b.Sigma, sigma, sigma/100)
	}
}

// wornU gives the worn band's ends in u.
func (e expected) wornU() (from, to float64) {
	return e.u(e.WornCounts[0]), e.u(e.WornCounts[1])
}

func (e expected) u(counts float64) float64 {
	lowHalf, highHalf := halves(e.Truth)
	switch {
	case e.Kind == input.OneSided:
		return (counts - e.LowCounts) / highHalf
	case counts < e.CentreCounts:
		return (counts - e.CentreCounts) / lowHalf
	}
	return (counts - e.CentreCounts) / highHalf
}

func (c *comparison) worn(a *measure.Axis, e expected) {
	throw := 0.01 // percent of the throw, in u
	if e.Kind == input.TwoSided {
		throw = 0.02
	}
	from, to := e.wornU()
	w := a.Sweep
	c.add("worn band, from", w.WornFrom, from, throw)
	c.add("worn band, to", w.WornTo, to, throw)
	c.add("worn band, width", &measure.Quantity{Value: w.WornTo.Value - w.WornFrom.Value}, to-from, throw)
	c.add("worn band, noise ratio", w.WornRatio, e.Worn.Times, e.Worn.Times/100)
	// The deviation of n Gaussian reports is not known better than by 1/√(2n).
	c.samples = append(c.samples, sample{row: rowRatioLimit, err: 1 / math.Sqrt(2*e.inWorn), width: math.NaN()})
}

func (c *comparison) timing(d device, r *recorded, i int, a *measure.Axis) {
	q := a.Timing.ReportHz
	if q == nil || q.Low != nil {
		c.add("report rate", q, d.spec.ReportHz, d.spec.ReportHz/100)
	} else {
		// A lower bound must be one.
		c.samples = append(c.samples, sample{row: rowRateBound, hit: q.Value <= 1.02*d.spec.ReportHz, width: 0})
	}
	c.add("lost samples", a.Timing.LostSamples, float64(r.lost), 1)
	if longest := 1000 * r.axes[i].stalled(r.rig.Stalls(0)); longest > 60 {
		c.add("longest stall", a.Timing.LongestStallMS, longest, 1)
	}
}

// roundedLimit is the Cramér–Rao limit of the relative error of σ from n
// independent values of a Gaussian with σ of s steps, rounded to whole steps,
// its mean unknown and anywhere between two steps. For large s it is 1/√(2n).
func roundedLimit(s, n float64) float64 {
	const phases = 16
	sum := 0.0
	for k := range phases {
		mm, ms, ss := roundedInformation((float64(k)+0.5)/phases, s)
		sum += mm / (mm*ss - ms*ms)
	}
	return math.Sqrt(sum/phases/n) / s
}

// roundedInformation is what one rounded value of a Gaussian of mean m and
// deviation s, both in steps, tells of them: Fisher's information of the mean
// with itself, of both, and of the deviation with itself.
func roundedInformation(m, s float64) (mm, ms, ss float64) {
	for code := math.Floor(m - 8*s - 1); code <= m+8*s+1; code++ {
		l, u := (code-0.5-m)/s, (code+0.5-m)/s
		p := (math.Erf(u/math.Sqrt2) - math.Erf(l/math.Sqrt2)) / 2
		if p < 1e-14 {
			continue
		}
		dm, ds := -(density(u)-density(l))/s, -(u*density(u)-l*density(l))/s
		mm, ms, ss = mm+dm*dm/p, ms+dm*ds/p, ss+ds*ds/p
	}
	return mm, ms, ss
}

func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// distinctCounts is how many different counts a column holds.
func distinctCounts(c input.Column) int {
	seen := map[int16]bool{}
	for from, to := range c.Present(0, c.Len()) {
		for _, v := range c.Changes(from, to) {
			seen[v] = true
		}
	}
	return len(seen)
}
