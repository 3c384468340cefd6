package measure

import (
	"math"

	"halfstick/fit/stats"
)

const (
	fitSeconds  = 0.12 // window of the running fit: longer than noise, shorter than a hand's wobble
	fitLeast    = 7    // reports in it
	stillSpeed  = 0.15 // of the median speed: slower is a dwell, not a sweep
	stopZone    = 0.04 // of the travel: residuals nearer to a stop bend with it
	turnShare   = 0.25 // of the travel: a motion that comes back so far has turned; loud noise carries the running fit nearly as far
	leapShare   = 0.06 // of the travel
	leapSide    = 3    // reports on either side whose median is looked at: a spike is shorter
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
