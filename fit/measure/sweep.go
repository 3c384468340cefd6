package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

const (
	fitSeconds  = 0.12 // window of the running fit: longer than noise, shorter than a hand's wobble
	fitLeast    = 7    // reports in it
	bandCount   = 20
	leastInBand = 25   // residuals to speak of a band's noise
	stillSpeed  = 0.15 // of the median speed: slower is a dwell, not a sweep
	stopZone    = 0.04 // of the travel: residuals nearer to a stop bend with it
	turnShare   = 0.25 // of the travel: a motion that comes back so far has turned; loud noise carries the running fit nearly as far
	wayEnd      = 0.02 // of the travel: nearer to a stop is the stop
	leapShare   = 0.06 // of the travel
	leapSide    = 3    // reports on either side whose median is looked at: a spike is shorter
	levelTrim   = 4.0  // robust deviations: beyond, a residual is not of the place
	placeBins   = 20   // bins of position for hysteresis
	standSteps  = 4.0  // steps that the motion covers while the counts stand
	standSigmas = 6.0  // and deviations of the noise: less is not seen among it
	placeNoise  = 0.01 // of the travel: so much noise in the places is smoothed
	placeWidest = 5    // windows of the running fit: wider runs over the motion's own bends
)

// residual is one report of a sweep against the running fit.
type residual struct {
	u           float64 // position of the fit
	r           float64 // counts; deviation of one report
	v           float64 // counts from report to report: the fit's speed
	way         int     // which way of the sweeps it is from
	segment, at int     // which report of which sweep it is
}

// traverse is a way from one stop zone to the other.
type traverse struct {
	segment
	up bool
}

// sweep measures what slow sweeps show.
func (a *analysis) sweep() {
	segs := a.series.of(input.Sweep)
	if !a.hasTravel || len(segs) == 0 {
		return
	}
	var kept []segment
	var ways []traverse
	for _, g := range segs {
		if r := a.sweepReports(g); len(r.x) >= 4*fitLeast {
			kept, ways = append(kept, r), append(ways, a.traverses(r)...)
		}
	}
	res := a.allResiduals(kept, a.window())
	if w := a.placeWindow(res); w > a.window() {
		res = a.allResiduals(kept, w)
	}
	a.countWays(ways)
	a.plateaus(ways)
	res = a.unbent(res)
	a.levelled(res)
	a.jitter = a.jitterOf(res)
	a.bands(res)
	a.worn(res)
	a.hysteresisOf(ways)
	a.jumps(ways)
}

func (a *analysis) countWays(ways []traverse) {
	a.traversed = len(ways)
	if len(ways) < 4 {
		a.note("sweeps: %d ways from stop to stop; sweep there and back at least twice for hysteresis and the worn band", len(ways))
	}
}

// window is the length of the running fit in reports, odd.
func (a *analysis) window() int {
	return max(fitLeast, int(fitSeconds/a.reportSeconds())|1)
}

// allResiduals are those of all sweeps, their places by a fit over so many
// reports.
func (a *analysis) allResiduals(sweeps []segment, placeWindow int) []residual {
	var res []residual
	for k, g := range sweeps {
		way := 0
		if len(res) > 0 {
			way = res[len(res)-1].way + 1
		}
		res = append(res, a.residuals(g, k, way, placeWindow)...)
	}
	return res
}

// placeWindow is how many reports a fit must run over so that the noise of the
// loudest band carries the places by no more than placeNoise: else a worn band
// smears over its ends.
func (a *analysis) placeWindow(res []residual) int {
	loudest := 0.0
	for _, b := range a.inBands(res) {
		if len(b) >= leastInBand {
			loudest = math.Max(loudest, roughSigma(deviationsOf(b)))
		}
	}
	w := float64(a.window())
	// The middle of a parabola over n reports has 9/(4n) of their variance.
	need := 2.25 * math.Pow(loudest/(placeNoise*(a.high-a.low)), 2)
	return int(math.Min(math.Max(w, need), placeWidest*w)) | 1
}

// residuals are the reports of a sweep minus the running fit, while it moves.
// Slow motion is in the fit and so not in the residuals; the ends of the
// throw, where the motion bends at the stop, are left out, and so is what is
// near a stand of the counts, be it a stall or a plateau. The sweep has a number,
// and ways are numbered from way on.
func (a *analysis) residuals(g segment, number, way, placeWindow int) []residual {
	w := a.window()
	if len(g.x) <= 2*w {
		return nil
	}
	fit, r, out, clean := a.fitted(g.x, w)
	place := fit
	if placeWindow > w && len(g.x) > 2*placeWindow {
		place = stats.LocalFit(clean, placeWindow)
		for i := range placeWindow / 2 { // at an end it would run past a turn
			place[i], place[len(place)-1-i] = fit[i], fit[len(place)-1-i]
		}
	}
	var speed []float64
	for i := w; i < len(fit)-w; i++ {
		speed = append(speed, math.Abs(fit[i+1]-fit[i-1]))
	}
	slow := stillSpeed * stats.Quantile7(speed, 0.7)
	edge := stopZone * (a.high - a.low)
	a.markStands(g.x, stats.Quantile7(speed, 0.7)/2, math.Max(standSteps*a.step, standSigmas*roughSigma(r)), w, out)
	for _, i := range a.leaps(g.x) {
		for k := max(0, i-w); k <= min(len(g.x)-1, i+w); k++ {
			out[k] = true
		}
	}
	drift, _ := a.knownDrift()
	known := a.centreSeconds()
	var res []residual
	turn := turns{back: turnShare * (a.high - a.low), farthest: place[w], since: w}
	for i := w; i < len(fit)-w; i++ {
		v := (fit[i+1] - fit[i-1]) / 2
		if since, turned := turn.at(i, place[i]); turned {
			way++
			for k := len(res) - 1; k >= 0 && res[k].at > since; k-- {
				res[k].way = way
			}
		}
		if out[i] || speed[i-w] < slow || place[i] < a.low+edge || place[i] > a.high-edge {
			continue
		}
		res = append(res, residual{u: a.withoutDrift(place[i], g.t[i], drift, known), r: r[i], v: v, way: way, segment: number, at: i})
	}
	return res
}

// turns notices where a motion turns. Noise and jumps of the reading turn the
// running fit too, but not so far.
type turns struct {
	back     float64 // counts: so far back is a turn
	farthest float64
	since    int // report that was there
	falling  bool
}

// at takes report i and tells, once it is so far back, that the motion turned,
// and since which report.
func (t *turns) at(i int, x float64) (since int, turned bool) {
	if t.falling == (x < t.farthest) {
		t.farthest, t.since = x, i
	}
	if math.Abs(x-t.farthest) < t.back {
		return 0, false
	}
	since = t.since
	t.farthest, t.since, t.falling = x, i, !t.falling
	return since, true
}

// centreSeconds is the mean time at which the centre was measured: at the ends
// of the releases, or in the rests for want of them; 0 where there is neither.
func (a *analysis) centreSeconds() float64 {
	at := append(a.series.of(input.ReleaseLow), a.series.of(input.ReleaseHigh)...)
	if len(at) == 0 {
		at = a.series.of(input.Rest)
	}
	sum := 0.0
	for _, g := range at {
		sum += g.t[len(g.t)-1]
	}
	return sum / math.Max(1, float64(len(at)))
}

// withoutDrift is the u of a reading at time t. The stops and the centre were read
// at other times, each with the drift until then, so that u counts from both as
// they read at t. The centre was known at time centre; all in seconds, the drift
// in counts a second.
func (a *analysis) withoutDrift(x, t, drift, centre float64) float64 {
	u := a.position(x)
	for range 2 { // the place itself is not known better than the drift
		u = a.position(x + drift*(a.placeSeconds(u, centre)-t))
	}
	return u
}

// placeSeconds is the time at which the reading that belongs to a place was known:
// that of the stop at a stop, that of the centre at the centre, straight between.
func (a *analysis) placeSeconds(u, centre float64) float64 {
	near, far := centre, a.stopTime[1]
	switch {
	case a.oneSided():
		near = a.stopTime[0]
	case u < 0:
		far = a.stopTime[0]
	}
	share := math.Min(1, math.Abs(u))
	return near + share*(far-near)
}

// knownDrift is the drift at rest in counts a second, 0 where it is not twice as
// large as its uncertainty, and the uncertainty: the sweeps are over long before
// the centre is measured, and until then the reading drifts on.
func (a *analysis) knownDrift() (drift, unsure float64) {
	d := a.out.Rest.DriftPerMinute
	if d == nil || d.Low == nil || a.centreSeconds() == 0 {
		return 0, 0
	}
	unsure = (*d.High - *d.Low) / 2 / 60
	if drift = d.Value / 60; math.Abs(drift) < 2*unsure {
		return 0, math.Max(unsure, math.Abs(drift))
	}
	return drift, unsure
}

// fitted is the running fit, what it leaves, which reports are spikes, and the
// reports with the fit in their place. A spike is judged by what a first fit
// leaves, as motion would hide it, and the second fit does without it.
func (a *analysis) fitted(x []float64, w int) (fit, r []float64, spike []bool, clean []float64) {
	floor := math.Max(a.noiseGuess, spikeSteps*a.step/spikeSigmas)
	_, found := stats.HampelFloor(stats.LocalResiduals(x, w), 2*spikeWindow, spikeSigmas, floor)
	spike = make([]bool, len(x))
	x = append([]float64(nil), x...)
	for _, i := range found {
		spike[i] = true
	}
	bridge(x, spike)
	return stats.LocalFit(x, w), stats.LocalResiduals(x, w), spike, x
}

// bridge lays a straight line over each run of marked values; at an end it goes
// on level.
func bridge(x []float64, marked []bool) {
	for i := 0; i < len(x); {
		j := i
		for j < len(x) && marked[j] {
			j++
		}
		for k := i; k < j; k++ {
			switch {
			case i == 0 && j == len(x):
			case i == 0:
				x[k] = x[j]
			case j == len(x):
				x[k] = x[i-1]
			default:
				x[k] = x[i-1] + (x[j]-x[i-1])*float64(k-i+1)/float64(j-i+1)
			}
		}
		i = j + 1
	}
}

// leaps lists the reports at which the reading is suddenly elsewhere, by more than
// any jump of a sensor's track: the device sent nothing for a while, or the
// recorder stood still and its clock with it.
func (a *analysis) leaps(x []float64) []int {
	far := leapShare * (a.high - a.low)
	var out []int
	for i := leapSide; i+leapSide <= len(x); i++ {
		if math.Abs(x[i]-x[i-1]) > far/2 && math.Abs(stats.Median(x[i:i+leapSide])-stats.Median(x[i-leapSide:i])) > far {
			out = append(out, i)
		}
	}
	return out
}

// markStands marks the reports within a window of three or more equal counts
// in a row that the way's usual speed, in counts a report, would have left by so
// many counts.
func (a *analysis) markStands(x []float64, speed, counts float64, w int, out []bool) {
	for i := 0; i < len(x); {
		j := i
		for j+1 < len(x) && x[j+1] == x[i] {
			j++
		}
		if j-i >= 2 && float64(j-i)*speed >= counts {
			for k := max(0, i-w); k <= min(len(x)-1, j+w); k++ {
				out[k] = true
			}
		}
		i = j + 1
	}
}

// levelled takes off what the residuals of one place have in common: a corner
// in the reading bends the running fit alike in every way, noise does not. What a
// spike has left in one way is not in common, and must not get into all of them.
func (a *analysis) levelled(res []residual) {
	from := a.leastU()
	width := (1 - from) / wornBins
	bins := make([][]int, wornBins)
	for i, r := range res {
		b := min(wornBins-1, max(0, int((r.u-from)/width)))
		bins[b] = append(bins[b], i)
	}
	for _, in := range bins {
		if len(in) < 4 {
			continue
		}
		x := make([]float64, len(in))
		for k, i := range in {
			x[k] = res[i].r
		}
		middle, far := stats.Median(x), levelTrim*stats.MAD(x)
		sum, n := 0.0, 0.0
		for _, v := range x {
			if math.Abs(v-middle) <= far {
				sum, n = sum+v, n+1
			}
		}
		if n < 4 {
			continue
		}
		for _, i := range in {
			res[i].r = (res[i].r - sum/n) * math.Sqrt(n/(n-1))
		}
	}
}

// jitter is the part of the residuals that comes from not knowing when a report
// was made: c·v², v the speed in counts a report, c a squared share of the
// report interval. low and high bound c.
type jitter struct{ c, low, high float64 }

// jitterOf compares the noise in sweeps with that at rest, both about the same
// running fit: what sweeps have more of goes with the square of the speed. The
// median over bands keeps a worn band out.
func (a *analysis) jitterOf(res []residual) jitter {
	if !a.hasRestResidual {
		return jitter{}
	}
	var per []float64
	for _, in := range a.inBands(res) {
		if len(in) < leastInBand {
			continue
		}
		sd, _ := trimmed(deviationsOf(in))
		if v := meanSquareSpeed(in); v > 0 {
			per = append(per, (sd*sd-math.Max(a.restResidual, a.step*a.step/12))/v)
		}
	}
	if len(per) < 4 {
		return jitter{}
	}
	mid := stats.Median(per)
	half := 1.58 * (stats.Quantile7(per, 0.75) - stats.Quantile7(per, 0.25)) / math.Sqrt(float64(len(per)))
	return jitter{c: math.Max(0, mid), low: math.Max(0, mid-half), high: math.Max(0, mid+half)}
}

func deviationsOf(res []residual) []float64 {
	out := make([]float64, len(res))
	for i, r := range res {
		out[i] = r.r
	}
	return out
}

func meanSquareSpeed(res []residual) float64 {
	sum := 0.0
	for _, r := range res {
		sum += r.v * r.v
	}
	return sum / math.Max(1, float64(len(res)))
}

// leastU is the lower end of u.
func (a *analysis) leastU() float64 {
	if a.oneSided() {
		return 0
	}
	return -1
}

// inBands sorts residuals into bandCount equal bands of u.
func (a *analysis) inBands(res []residual) [][]residual {
	from := a.leastU()
	width := (1 - from) / bandCount
	in := make([][]residual, bandCount)
	for _, r := range res {
		if i := int(math.Floor((r.u - from) / width)); i >= 0 && i < bandCount {
			in[i] = append(in[i], r)
		}
	}
	return in
}

// bands gives the noise in bandCount equal bands of u.
func (a *analysis) bands(res []residual) {
	from := a.leastU()
	width := (1 - from) / bandCount
	for i, x := range a.inBands(res) {
		b := Band{Span: Span{From: round2(from + float64(i)*width), To: round2(from + float64(i+1)*width)}}
		if len(x) >= leastInBand {
			b.Sigma = a.bandSigma(x)
		}
		a.out.Sweep.Bands = append(a.out.Sweep.Bands, b)
	}
}

func round2(x float64) float64 { return math.Round(x*100) / 100 }

func (a *analysis) bandSigma(res []residual) *Quantity {
	sd, n := trimmed(deviationsOf(res))
	// Residuals of one fit share its error: some 1/w of them are not free.
	free := float64(n) * (1 - 3/float64(a.window()))
	lo, hi := stats.SigmaInterval(sd, free, 0.95)
	v := meanSquareSpeed(res)
	without := func(s, c float64) float64 {
		s = math.Sqrt(math.Max(0, s*s-c*v))
		if a.hasGrid {
			s = sheppard(s, a.step)
		}
		return s
	}
	return notNegative(within(without(sd, a.jitter.c), without(lo, a.jitter.high), without(hi, a.jitter.low), unitCounts, n, fmt.Sprintf(
		"deviation of the reports from a running parabola over %d reports, each over √(1−leverage), spikes and stands out, rounding and what uneven times add at the way's speed taken off; noise slower than the window is not in it", a.window())))
}

// traverses cuts a sweep into its ways from stop zone to stop zone.
func (a *analysis) traverses(g segment) []traverse {
	x := stats.MedianFilter(g.x, 5)
	span := a.high - a.low
	zoneDepth := math.Max(wayEnd*span, math.Max(6*a.noiseGuess, 3*a.step))
	lowZone, highZone := a.low+zoneDepth, a.high-zoneDepth
	var out []traverse
	zone, left := 0, 0 // zone last seen, and its last row
	for i, v := range x {
		now := 0
		switch {
		case v <= lowZone:
			now = -1
		case v >= highZone:
			now = 1
		}
		if now == 0 {
			continue
		}
		if zone == -now && i > left+4 {
			out = append(out, traverse{segment: segment{phase: g.phase, t: g.t[left : i+1], x: g.x[left : i+1]}, up: now > 0})
		}
		zone, left = now, i
	}
	return out
}

// hysteresisOf compares ascending with descending readings at one position, as
// 43 CFR 3175.135 does, dead band not subtracted. A recording does not hold the
// hand's position: the share of the way, by time, stands in for it, which is
// as good as the hand's pace is even, and a play that is taken up at the stops
// before the reading moves cannot show. So the interval comes from the scatter
// of the ways, and it is wide when the pace varies.
func (a *analysis) hysteresisOf(ways []traverse) {
	up := make([][]float64, placeBins)
	down := make([][]float64, placeBins)
	used := 0
	for _, w := range ways {
		if len(a.leaps(w.x)) > 0 {
			continue // the time of the leap is missing, so that shares of the time are no places
		}
		used++
		for b := range placeBins {
			share := (float64(b) + 0.5) / placeBins
			if w.up {
				up[b] = append(up[b], w.at(share))
			} else {
				down[b] = append(down[b], w.at(1-share))
			}
		}
	}
	if len(up[0]) < 2 || len(down[0]) < 2 {
		if used < len(ways) {
			a.note("hysteresis: in %d of %d ways the reading leaps, as when the recording stood still meanwhile; sweep there and back once more", len(ways)-used, len(ways))
		}
		return
	}
	best, lo, hi := 0.0, 0.0, 0.0
	for b := range placeBins {
		mu, su := stats.MeanSD(up[b])
		md, sd := stats.MeanSD(down[b])
		nu, nd := float64(len(up[b])), float64(len(down[b]))
		if d := math.Abs(mu - md); d > best {
			best = d
			lo, hi = stats.MeanIntervalFrom(d, math.Sqrt((su*su/nu+sd*sd/nd)*math.Min(nu, nd)), math.Min(nu, nd), 0.95)
		}
	}
	a.out.Sweep.Hysteresis = notNegative(within(best, lo, hi, unitCounts, used,
		"largest difference of mean ascending and mean descending reading over 20 positions (43 CFR 3175.135 sense, dead band not subtracted); position taken as the share of the time from stop to stop, so an uneven pace adds to it and play taken up at a stop is not seen"))
}

// at is the reading at a share of the way's time, smoothed.
func (w traverse) at(share float64) float64 {
	t := w.t[0] + share*(w.t[len(w.t)-1]-w.t[0])
	c := w.cut(t-0.05, t+0.05)
	if len(c.x) == 0 {
		return w.x[int(share*float64(len(w.x)-1))]
	}
	return stats.Median(c.x)
}
