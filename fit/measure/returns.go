package measure

import (
	"fmt"
	"math"
	"slices"

	"halfstick/fit/stats"
	"halfstick/input"
)

const (
	lastSeconds   = 1.0  // the end of a release stretch, where it came to rest
	leastRelease  = 1.5  // seconds of a stretch that can hold a release
	leastReleases = 3    // a side, to speak of a mean
	pushedShare   = 0.2  // of the half-throw: less is no push
	leftShare     = 0.9  // of the way from rest to the push: let go when below
	stillShare    = 0.01 // of the half-throw: the last second may drift so far
	madeUp        = 0.6  // steps: rounding alone scatters less
)

// release is one letting go.
type release struct {
	t        float64 // seconds: middle of that second
	at       float64 // counts, mean of the last second
	variance float64 // counts²: of that mean, by the noise
	seconds  float64 // from letting go to rest; NaN where the device was gone meanwhile
	fall     float64 // seconds: how slowly it came home, see fallTime; NaN likewise
}

// returns measures where the axis comes to rest from either side.
func (a *analysis) returns() {
	if a.oneSided() {
		return
	}
	low := a.side(input.ReleaseLow, 0)
	high := a.side(input.ReleaseHigh, 1)
	d := a.returnDrift()
	a.out.Return.FromLow, a.out.Return.FromHigh = a.sideOf(low, d), a.sideOf(high, d)
	if t, _, _ := columnsOf(slices.Concat(low, high)); len(t) > 0 {
		a.centreTime, _ = stats.MeanSD(t)
	}
	if len(low) >= 2 && len(high) >= 2 {
		a.out.Return.Gap = a.gap(low, high, d)
	}
	for i, n := range a.releases {
		if n < leastReleases {
			a.note("return from the %s side: %d releases; push it to the %s stop and let go %d times more",
				sideName(i), n, sideName(i), leastReleases-n)
		}
	}
}

func sideName(i int) string {
	if i == 0 {
		return "low"
	}
	return "high"
}

// side measures the releases of one side.
func (a *analysis) side(kind input.PhaseKind, which int) []release {
	var out []release
	for _, pieces := range stretches(a.series.of(kind)) {
		r, ok := a.release(pieces, which == 1)
		if !ok {
			continue
		}
		out = append(out, r)
		a.landings[which] = append(a.landings[which], seenLevel{r.t, r.at})
		a.out.Plots.Returns = append(a.out.Plots.Returns, ReleasePlot{FromHigh: which == 1, Resting: r.at, SettleSeconds: r.seconds})
	}
	a.releases[which] = len(out)
	return out
}

// stretches puts together what an absence or a pause has split: pieces of one
// labelled stretch. A device that is gone while an axis falls home, or after,
// is back before the axis moves again.
func stretches(segs []segment) [][]segment {
	var out [][]segment
	for i, g := range segs {
		if i > 0 && g.stretch > 0 && g.stretch == segs[i-1].stretch {
			out[len(out)-1] = append(out[len(out)-1], g)
			continue
		}
		out = append(out, []segment{g})
	}
	return out
}

// release reads one release from the pieces of its stretch. A stretch that is
// short, was not pushed, or still moves at its end is left out with a note.
func (a *analysis) release(pieces []segment, fromHigh bool) (release, bool) {
	var g segment
	var raw []float64 // with spikes
	for _, p := range pieces {
		p = a.reports(p)
		g.t = append(g.t, p.t...)
		g.x = append(g.x, a.withoutSpikes(p.x)...)
		raw = append(raw, p.x...)
	}
	if g.seconds() < leastRelease {
		a.note("a release of %.1f s was left out: it needs at least %.1f s, the last one at rest", g.seconds(), leastRelease)
		return release{}, false
	}
	x := g.x
	end := g.t[len(g.t)-1]
	last := g.cut(end-lastSeconds, math.Inf(1))
	if n := float64(len(last.x)); n*a.reportSeconds() < lastSeconds/2 || n < 4 {
		a.note("a release was left out: the device was gone for most of its last second")
		return release{}, false
	}
	half := len(last.x) / 2
	at := centreOf(last.x)
	early, late := centreOf(last.x[:half]), centreOf(last.x[half:])
	way := a.way(at, fromHigh)
	if math.Abs(late-early) > math.Max(stillShare*way, math.Max(2*a.step, 3*a.noiseGuess)) {
		a.note("a release was left out: the axis still moved in its last second")
		return release{}, false
	}
	sign := 1.0
	which := 1
	if !fromHigh {
		sign, which = -1, 0
	}
	push := 0.0
	for _, v := range x {
		push = math.Max(push, sign*(v-at))
	}
	if push < pushedShare*way {
		a.note("a release was left out: the axis had not been pushed to its %s side", sideName(which))
		return release{}, false
	}
	from := 0
	for i, v := range x {
		if sign*(v-at) >= leftShare*push {
			from = i
		}
	}
	tolerance := math.Max(stillShare*way/2, math.Max(2*a.step, 5*a.noiseGuess))
	settled := len(x) - 1
	for settled > from && math.Abs(x[settled]-at) <= tolerance {
		settled--
	}
	r := release{t: end - lastSeconds/2, at: at, variance: meanVariance(last.x), seconds: g.t[settled] - g.t[from]}
	r.fall = fallTime(g.t[from:settled+1], x[from:settled+1], at)
	a.ends[which].add(last.x)
	a.watchTail(segment{t: g.t, x: raw}.cut(g.t[settled]+settleSeconds, math.Inf(1)))
	for i := from + 1; i < len(x) && i <= settled+1; i++ {
		if g.t[i]-g.t[i-1] > gapSeconds {
			r.seconds, r.fall = math.NaN(), math.NaN()
		}
	}
	return r, true
}

// way is how far it is, in counts, from a place to the stop on one side; half
// of the scale where the stops are unknown. On a side that is nearly dead it
// is short, so that even there a push can be told.
func (a *analysis) way(at float64, toHigh bool) float64 {
	switch {
	case !a.hasTravel:
		return fullSpan / 2
	case toHigh:
		return math.Max(0, a.high-at)
	}
	return math.Max(0, at-a.low)
}

// meanVariance is the variance of the mean of x by its own scatter.
func meanVariance(x []float64) float64 {
	_, sd := stats.MeanSD(x)
	n, _ := stats.EffectiveN(x)
	return sd * sd / n
}

// fallTime is the area under a fall to a place, over its height. A mass m that
// starts and ends at rest between a spring k and a damper c obeys
// k·area = c·height, however it swings, so that this time is c/k, in seconds.
func fallTime(t, x []float64, to float64) float64 {
	area := 0.0
	for i := 1; i < len(t); i++ {
		area += (t[i] - t[i-1]) * ((x[i]+x[i-1])/2 - to)
	}
	return area / (x[0] - to)
}

// centreOf is the mean of x with spikes left out.
func centreOf(x []float64) float64 {
	mid := stats.Median(x)
	scale := roughSigma(x)
	var sum, n float64
	for _, v := range x {
		if math.Abs(v-mid) <= 5*scale {
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return mid
	}
	return sum / n
}

// undrifted takes the drift at rest, where it is significant, off values met at
// different times. Their mean stays, at their mean time.
func (a *analysis) undrifted(t, x []float64) []float64 {
	slope := 0.0
	if d := a.out.Rest.DriftPerMinute; significant(d) {
		slope = d.Value / 60
	}
	return levelled(t, x, slope)
}

func levelled(t, x []float64, slope float64) []float64 {
	out := append([]float64(nil), x...)
	middle, _ := stats.MeanSD(t)
	for i := range out {
		out[i] -= slope * (t[i] - middle)
	}
	return out
}

// returnDrift is the drift between releases, in counts a second: that at rest
// and the common slope of the releases themselves, which is taken over a longer
// time, each by its certainty. cost is how many of the releases, of one side,
// went into the slope.
type returnDrift struct{ slope, cost float64 }

func (a *analysis) returnDrift() returnDrift {
	var own, atRest returnSlope
	if d := a.out.Rest.DriftPerMinute; d != nil && d.Low != nil {
		atRest = returnSlope{d.Value / 60, 1 / a.restSlopeVariance()}
	}
	if s := a.slopeOf(a.landings[:]...); s.free >= 3 {
		// Student's t of so few degrees of freedom spreads by free/(free−2).
		own = returnSlope{s.at, (s.free - 2) / s.free / s.variance}
	}
	switch {
	case math.IsInf(atRest.weight, 1) || own.weight == 0:
		if !significant(a.out.Rest.DriftPerMinute) {
			return returnDrift{}
		}
		return returnDrift{slope: atRest.slope}
	case atRest.weight == 0:
		return returnDrift{own.slope, 0.5}
	}
	sum := own.weight + atRest.weight
	return returnDrift{(own.slope*own.weight + atRest.slope*atRest.weight) / sum, 0.5 * own.weight / sum}
}

// returnSlope is a slope in counts a second and the inverse of its variance.
type returnSlope struct{ slope, weight float64 }

// rounding is how far rounding may shift a mean of values that
// scatter by sd about one place: the first harmonic of the rounding's error,
// step/π·exp(−2π²σ²), σ in steps (Widrow 1956), and at most ±0.475 steps, which
// hold 95 % of even chances.
func (a *analysis) rounding(sd float64) float64 {
	if q := a.out.Rest.Sigma; q != nil {
		sd = math.Hypot(sd, q.Value)
	}
	s := sd / a.step
	if s < 0.1 {
		return 0.475 * a.step
	}
	return a.step / math.Pi * math.Exp(-2*math.Pi*math.Pi*s*s)
}

// meanOf is the mean of values met at different times with its interval,
// rounding and drift minded, and their deviation.
func (a *analysis) meanOf(t, x []float64, unit, how string) (mean *Quantity, sd float64) {
	return a.meanOfLevel(a.undrifted(t, x), 0, unit, how)
}

// meanOfLevel is meanOf where the drift has been taken off, at the cost of some
// of the values.
func (a *analysis) meanOfLevel(x []float64, cost float64, unit, how string) (mean *Quantity, sd float64) {
	m, _ := stats.MeanSD(x)
	if len(x) > 1 {
		_, sd = stats.MeanSD(x)
	}
	n := float64(len(x))
	sd *= math.Sqrt((n - 1) / math.Max(0.5, n-1-cost))
	lo, hi := stats.MeanIntervalFrom(m, sd, n-cost, 0.95)
	extra := a.rounding(sd)
	return within(m, lo-extra, hi+extra, unit, len(x), how), sd
}

func columnsOf(r []release) (t, at, secs []float64) {
	for _, v := range r {
		t, at = append(t, v.t), append(at, v.at)
		if !math.IsNaN(v.seconds) {
			secs = append(secs, v.seconds)
		}
	}
	return t, at, secs
}

func (a *analysis) sideOf(r []release, d returnDrift) *ReturnSide {
	if len(r) == 0 {
		return nil
	}
	t, at, secs := columnsOf(r)
	mean, sd := a.meanOfLevel(levelled(t, at, d.slope), d.cost, unitCounts,
		"mean over the releases of the last second of each, spikes out; interval from their scatter, drift at rest and from release to release taken off, and the rounding to steps")
	s := &ReturnSide{Mean: mean, Spread: a.spread(r, sd, d.cost), fall: meanFall(r)}
	if len(secs) == 0 {
		return s
	}
	m, lo, hi := stats.MeanInterval(secs, 0.95)
	// Both ends of the time are seen only at the next report.
	report := a.reportSeconds()
	s.Seconds = notNegative(within(m, lo-report, hi+report, unitSeconds, len(secs),
		fmt.Sprintf("mean time from leaving %.0f %% of the push until it stays within %.1f %% of half-throw, 2 steps or 5 σ of where it rests; interval widened by a report at either end", 100*leftShare, 50*stillShare)))
	return s
}

// spread is how far the places of rest scatter, in counts, when the readings
// scatter by sd. What noise and rounding add is known well against the scatter
// of so few, and taken off the ends of its chi-squared interval.
func (a *analysis) spread(r []release, sd, cost float64) *Quantity {
	noise, sigma := 0.0, 0.0 // counts², steps
	for _, v := range r {
		noise += v.variance / float64(len(r))
	}
	if q := a.out.Rest.Sigma; q != nil {
		sigma = q.Value / a.step
	}
	noise += a.step * a.step / 12 * math.Exp(-4*math.Pi*math.Pi*sigma*sigma) // a sum's first harmonic, as in rounding
	without := func(s float64) float64 { return math.Sqrt(math.Max(0, s*s-noise)) }
	n := float64(len(r)) - cost
	lo, hi := stats.SigmaInterval(sd, n, 0.95)
	lo, hi = without(lo), without(hi)
	if sd < a.step {
		// Rounding may as well hide a scatter as make one up: two codes side by
		// side scatter by up to 0.58 steps.
		_, hidden := stats.SigmaInterval(math.Hypot(sd, a.step/math.Sqrt(12)), n, 0.95)
		hi = math.Max(hi, hidden)
	}
	if sd < madeUp*a.step {
		lo = 0
	}
	return within(without(sd), lo, hi, unitCounts, len(r),
		"standard deviation over the releases, drift at rest, noise and rounding to steps taken off; chi-squared interval, of which the same is taken off")
}

// meanFall is the mean fall time in seconds, 0 where there is none.
func meanFall(r []release) float64 {
	sum, n := 0.0, 0.0
	for _, v := range r {
		if v.fall > 0 { // not NaN
			sum, n = sum+v.fall, n+1
		}
	}
	return sum / math.Max(1, n)
}

// gap is mean return from the high side minus mean return from the low side,
// the drift between the two taken off, with Welch's interval for two means of
// unequal scatter.
func (a *analysis) gap(low, high []release, drift returnDrift) *Quantity {
	tl, l, _ := columnsOf(low)
	th, h, _ := columnsOf(high)
	l, h = levelled(tl, l, drift.slope), levelled(th, h, drift.slope)
	ml, sl := stats.MeanSD(l)
	mh, sh := stats.MeanSD(h)
	lowTime, _ := stats.MeanSD(tl)
	highTime, _ := stats.MeanSD(th)
	d := mh - ml - drift.slope*(highTime-lowTime)
	vl, vh := sl*sl/float64(len(l)), sh*sh/float64(len(h))
	const how = "mean return from the high side minus mean return from the low side, drift at rest taken off; interval after Welch, and the rounding to steps"
	extra := 1.16 * math.Hypot(a.rounding(sl), a.rounding(sh)) // the sum of two even chances
	if vl+vh == 0 {
		return within(d, d-extra, d+extra, unitCounts, len(l)+len(h), how+"; all releases of a side ended alike")
	}
	free := (vl + vh) * (vl + vh) / (vl*vl/float64(len(l)-1) + vh*vh/float64(len(h)-1))
	lo, hi := stats.MeanIntervalFrom(d, math.Sqrt((vl+vh)*(free+1)), free+1, 0.95)
	return within(d, lo-extra, hi+extra, unitCounts, len(l)+len(h), how)
}
