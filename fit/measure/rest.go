package measure

import (
	"fmt"
	"math"
	"slices"

	"halfstick/fit/stats"
	"halfstick/input"
)

const (
	settleSeconds = 0.5  // cut from the start of a rest: the hand has just let go
	leastRest     = 2.0  // seconds of rest below which nothing is said
	fineNoise     = 4.0  // steps: above, quantisation does not disturb Qn
	coarseNoise   = 1.0  // steps: below, the variance alone misleads
	driftBlocks   = 24   // blocks whose means show the drift
	leastLine     = 0.05 // steps: a smaller line is rounding
	lineFactor    = 25.0 // a periodic line stands so far above its neighbours
)

// restPart is one stretch of rest, thinned to reports.
type restPart struct {
	segment
	clean []float64 // spikes replaced by the running median
	resid []float64 // clean minus its drift line
	raw   []float64 // with spikes, minus the line
	keep  []bool    // not a spike

	low, high float64 // counts of the ends of the scale, as they stand in x
}

// rest measures what the axis does untouched.
func (a *analysis) rest() {
	segs := a.series.of(input.Rest)
	a.restPlot(segs)
	parts := a.restParts(segs)
	if len(parts) == 0 || a.restSeconds < leastRest {
		a.note("rest noise, drift and spikes: %.0f s of rest; leave the axis alone for at least 10 s, after moving it once", a.restSeconds)
		return
	}
	if a.unmoved(parts) {
		a.note("rest noise: unknown, not zero: the counts never changed in this recording; the input library may hold an axis still until it has moved by 2 %%; move it, then let it rest")
		return
	}
	a.despike(parts)
	a.drift(parts)
	var clean, raw []float64
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range parts {
		for i, v := range p.x {
			least, most = math.Min(least, v), math.Max(most, v)
			raw = append(raw, p.raw[i])
			if p.keep[i] {
				clean = append(clean, p.resid[i])
			}
		}
	}
	a.out.Rest.PeakToPeak = bare(most-least, unitCounts, len(raw),
		"highest minus lowest count at rest, spikes and drift included; no interval: it grows the longer one looks")
	a.sigma(parts, clean, raw)
	a.colour(parts)
	a.meanAtRest(parts)
	a.restVariance(parts)
}

// restParts are the stretches of rest, one value a report, without what cannot
// hold the sensor's noise: the hand's letting go, the time at an end of the
// scale, the reports that a stalled device kept back.
func (a *analysis) restParts(segs []segment) []restPart {
	var reports []segment
	beyond, held := 0.0, 0.0
	for _, g := range segs {
		if g.seconds() > 6*settleSeconds {
			g = g.cut(g.t[0]+settleSeconds, math.Inf(1))
		}
		inside, left := offEnds(g)
		beyond += left
		for _, p := range inside {
			reports = append(reports, a.reports(p))
		}
	}
	longest := longestRun(reports)
	a.longestRun = longest
	var parts []restPart
	for _, r := range reports {
		r, h := r.notHeld(longest)
		held += h
		if r.seconds() < leastSettled || len(r.x) < 4*spikeWindow {
			continue
		}
		parts = append(parts, restPart{segment: r, low: a.onLattice(-32768), high: a.onLattice(32767)})
		a.restSeconds += r.seconds() - h
		a.restReports += len(r.x)
	}
	if beyond > 0 {
		a.note("rest: for %.1f s the reading stood at the end of the scale, where neither noise nor drift can show; they were left out", beyond)
	}
	if held > 0 {
		a.note("rest: for %.1f s the reading stood still longer than its noise allows, as in a stall; they were left out", held)
	}
	return parts
}

// unmoved tells whether the axis stood at one value in the whole recording.
func (a *analysis) unmoved(parts []restPart) bool {
	first := parts[0].x[0]
	for _, g := range a.series.segments {
		for _, v := range g.x {
			if v != first {
				return false
			}
		}
	}
	for _, r := range a.series.looseRuns() {
		for _, v := range a.series.column.Changes(r.from, r.to) {
			if float64(v) != first {
				return false
			}
		}
	}
	return true
}

// restPlot keeps the longest stretch of rest as it was recorded.
func (a *analysis) restPlot(segs []segment) {
	best := segment{}
	for _, g := range segs {
		if g.seconds() > best.seconds() {
			best = g
		}
	}
	if len(best.t) == 0 {
		return
	}
	at := make([]float64, len(best.t))
	for i, t := range best.t {
		at[i] = t - best.t[0]
	}
	a.out.Plots.RestSeconds, a.out.Plots.RestCounts = at, slices.Clone(best.x)
}

// roughSigma is a scale for gates: a trimmed deviation, which quantisation
// does not break down as it does a median of absolute deviations.
func roughSigma(x []float64) float64 {
	s, _ := trimmed(x)
	return s
}

// trimmed is the standard deviation of x with what lies beyond 4 robust
// deviations left out, and how many values stayed. The scale to trim by is the
// larger of MAD and the central 90 % range over 3.29: the first is 0 where
// more than half of the values are equal.
func trimmed(x []float64) (sd float64, n int) {
	if len(x) < 2 {
		return 0, len(x)
	}
	s := slices.Clone(x)
	mid := stats.MedianInPlace(s)
	wide := stats.Quantile7InPlace(s, 0.95) - stats.Quantile7InPlace(s, 0.05)
	scale := math.Max(stats.MADInPlace(s), wide/3.29)
	kept := s[:0]
	for _, v := range x {
		if scale == 0 || math.Abs(v-mid) <= 4*scale {
			kept = append(kept, v)
		}
	}
	if len(kept) < 2 {
		return 0, len(kept)
	}
	_, sd = stats.MeanSD(kept)
	return sd, len(kept)
}

// drift fits one slope to all parts, each with its own mean, to block means:
// blocks average the noise and its short correlation, so that the scatter of
// their means about the line gives an honest interval. It fills resid and raw.
func (a *analysis) drift(parts []restPart) {
	var t, y []float64
	groups := 0
	length := math.Max(a.restSeconds/driftBlocks, 0.1)
	for _, p := range parts {
		bt, by := p.blocks(length)
		if len(bt) < 2 {
			continue
		}
		mt, _ := stats.MeanSD(bt)
		my, _ := stats.MeanSD(by)
		for i := range bt {
			t, y = append(t, bt[i]-mt), append(y, by[i]-my)
		}
		groups++
	}
	slope := 0.0
	var stt, sty float64
	for i := range t {
		stt += t[i] * t[i]
		sty += t[i] * y[i]
	}
	if free := float64(len(t) - groups - 1); stt > 0 && free >= 2 {
		slope = sty / stt
		var rss float64
		for i := range t {
			rss += (y[i] - slope*t[i]) * (y[i] - slope*t[i])
		}
		// Rounding keeps the means of a quiet axis from moving at all; the
		// slope cannot be known better than a step's rounding over the time.
		round := a.step * a.step / 12 / float64(len(t))
		if a.noiseGuess > 0.5*a.step {
			round = 0
		}
		se := math.Sqrt(rss/free/stt + round/stt)
		lo, hi := stats.MeanIntervalFrom(slope, se*math.Sqrt(free+1), free+1, 0.95)
		a.out.Rest.DriftPerMinute = within(60*slope, 60*lo, 60*hi, unitCountsPerMinute, len(t),
			fmt.Sprintf("straight line through block means of %.2f s, spikes out; interval from the scatter of the blocks about it", length))
	}
	for i := range parts {
		parts[i].removeLine(slope)
	}
}

// blocks averages a part over equal times.
func (p restPart) blocks(length float64) (t, y []float64) {
	var st, sy, n float64
	start := p.t[0]
	flush := func() {
		if n >= 4 {
			t, y = append(t, st/n), append(y, sy/n)
		}
		st, sy, n = 0, 0, 0
	}
	for i, at := range p.t {
		if at-start >= length {
			flush()
			start = at
		}
		st, sy, n = st+at, sy+p.clean[i], n+1
	}
	if n > 0 && p.t[len(p.t)-1]-start > length/2 {
		flush()
	}
	return t, y
}

func (p *restPart) removeLine(slope float64) {
	n := len(p.t)
	p.resid, p.raw = make([]float64, n), make([]float64, n)
	mt, _ := stats.MeanSD(p.t)
	mc, _ := stats.MeanSD(p.clean)
	for i := range p.t {
		line := mc + slope*(p.t[i]-mt)
		p.resid[i] = p.clean[i] - line
		p.raw[i] = p.x[i] - line
	}
}

// colour measures how the rest noise hangs together in time.
func (a *analysis) colour(parts []restPart) {
	best := parts[0]
	for _, p := range parts {
		if len(p.resid) > len(best.resid) {
			best = p
		}
	}
	n := len(best.resid)
	r := stats.Lag1(best.resid)
	if !math.IsNaN(r) && n >= 20 {
		// Bartlett 1946: the variance of r1 of a first-order process.
		half := 1.96 * math.Sqrt((1-r*r)/float64(n)+1/float64(n)/float64(n))
		a.out.Rest.Correlation = within(r, math.Max(-1, r-half), math.Min(1, r+half), unitRatio, n,
			"lag-1 correlation from report to report in the longest rest, drift and spikes out; interval after Bartlett")
		if !a.clock.thins(a.series.rowTime) {
			a.out.Rest.Correlation = bare(r, unitRatio, n,
				"lag-1 correlation from sample to sample in the longest rest, drift and spikes out; no interval: the device reports about as fast as it was sampled, so some reports are read twice or not at all")
		}
	}
	rate := 1 / a.reportSeconds()
	for _, p := range stats.AllanDeviation(best.clean, rate, stats.OctaveFactors(n)) {
		q := within(p.Deviation, p.Low, p.High, unitCounts, n,
			"overlapping Allan deviation of the reports, spikes out; chi-squared interval for white noise")
		if q != nil {
			a.out.Rest.Allan = append(a.out.Rest.Allan, AllanPoint{TauSeconds: p.Tau, Deviation: *q})
		}
	}
	a.periodic(best.resid, rate)
}

// periodic looks for lines in the spectrum that stand lineFactor times above
// the median of their neighbourhood.
func (a *analysis) periodic(x []float64, rate float64) {
	segment := 256
	for segment > len(x)/4 {
		segment /= 2
	}
	if segment < 64 {
		return
	}
	f, psd := stats.Welch(x, rate, segment)
	df := f[1] - f[0]
	for i := 3; i < len(psd)-2; i++ {
		if psd[i] < psd[i-1] || psd[i] < psd[i+1] {
			continue
		}
		floor := stats.Median(psd[max(1, i-16):min(len(psd), i+17)])
		if psd[i] < lineFactor*floor {
			continue
		}
		// A Hann window spreads a line over three bins either side at most.
		var power, moment float64
		for j := max(1, i-2); j <= min(len(psd)-1, i+2); j++ {
			p := math.Max(0, psd[j]-floor)
			power += p * df
			moment += p * df * f[j]
		}
		if math.Sqrt(2*power) < leastLine*a.step {
			continue // rounding, not interference; also no power at all
		}
		at := moment / power
		a.out.Rest.Periodic = append(a.out.Rest.Periodic, Periodic{
			FrequencyHz: *within(at, at-df/2, at+df/2, unitHz, len(x),
				"peak of the Welch spectrum, centre of its bins; interval: half a bin; may be an alias of a faster line"),
			Amplitude: *bare(math.Sqrt(2*power), unitCounts, len(x),
				"√2 times the root of the power above the neighbourhood's median; no interval"),
		})
	}
}

// meanAtRest is the mean position over the last rest, a centre for want of
// releases.
func (a *analysis) meanAtRest(parts []restPart) {
	var means []float64
	for _, p := range parts {
		m, _ := stats.MeanSD(p.clean)
		means = append(means, m)
	}
	if len(means) > 1 {
		m, lo, hi := stats.MeanInterval(means, 0.95)
		a.restMean = within(m, lo, hi, unitCounts, len(means), "mean over the rests, for want of releases from both sides")
		return
	}
	a.restMean = bare(means[0], unitCounts, 1, "mean of the one rest, for want of releases from both sides; no interval: one rest does not show how it returns")
}

// restVariance is what the running fit of the sweeps leaves of the noise at
// rest, where no motion adds to it, and what it follows.
func (a *analysis) restVariance(parts []restPart) {
	w := a.window()
	var left, whole []float64
	for _, p := range parts {
		if len(p.clean) > 4*w {
			left, whole = append(left, stats.LocalResiduals(p.clean, w)...), append(whole, p.resid...)
		}
	}
	if sd, n := trimmed(left); n >= leastInBand {
		of, _ := trimmed(whole)
		a.restResidual, a.restFollowed = sd*sd, of*of-sd*sd
		a.hasRestResidual = true
	}
}
