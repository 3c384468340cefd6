package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
)

const (
	spikeWindow = 7   // reports each side
	spikeSigmas = 6.0 // a Gaussian report lies farther out once in 5e8
	spikeSteps  = 2.5 // and it is more than a rounding
	spikeRun    = 4   // reports that one spike may last
	leastSpikes = 2   // to call it a fault: one may be a touch
)

// SpikeSize is how far off its neighbours a reading must be to be a spike, in the
// unit of sigma, the noise, and step: noise does not reach beyond 6 σ, nor
// rounding beyond 2.5 steps.
func SpikeSize(sigma, step float64) float64 {
	return math.Max(spikeSigmas*sigma, spikeSteps*step)
}

// spikeWatch is how long an axis stood still and how many spikes came.
type spikeWatch struct {
	spikes, reports int
	seconds         float64
}

// despike finds the spikes of every part of the rest. The gate is the Hampel
// identifier with a floor: a window's own MAD is too noisy to judge by alone,
// and 0 on a quiet axis.
func (a *analysis) despike(parts []restPart) {
	var spread []float64
	for _, p := range parts {
		spread = append(spread, aboutMedian(p.x)...)
	}
	a.noiseGuess = roughSigma(spread)
	floor := a.spikeFloor(a.noiseGuess)
	for i := range parts {
		p := &parts[i]
		var out []int
		p.clean, out = stats.HampelFloor(p.x, spikeWindow, spikeSigmas, floor)
		p.keep = make([]bool, len(p.x))
		for j := range p.keep {
			p.keep[j] = true
		}
		for _, j := range out {
			p.keep[j] = false
		}
		a.watch.spikes += spikesOf(out)
		a.watch.reports += len(p.x)
	}
	a.watch.seconds += a.restSeconds
}

// spikeFloor is the deviation, in counts, that the gate is set by at least.
func (a *analysis) spikeFloor(sigma float64) float64 {
	return SpikeSize(sigma, a.step) / spikeSigmas
}

// aboutMedian is x less its running median.
func aboutMedian(x []float64) []float64 {
	m := stats.MedianFilter(x, 2*spikeWindow+1)
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - m[i]
	}
	return out
}

// spikesOf counts the spikes of which reports are out, neighbours being one.
func spikesOf(out []int) int { return len(spikeRuns(out)) }

// spikeRuns lists the reports of each spike.
func spikeRuns(out []int) [][]int {
	var runs [][]int
	from := 0
	for i, j := range out {
		if i > 0 && (j > out[i-1]+1 || j-out[from] >= spikeRun) {
			runs = append(runs, out[from:i])
			from = i
		}
	}
	if len(out) > 0 {
		runs = append(runs, out[from:])
	}
	return runs
}

// spikeHeights is how far each spike goes off what stands without it.
func spikeHeights(x, clean []float64, out []int) []float64 {
	var heights []float64
	for _, run := range spikeRuns(out) {
		highest := 0.0
		for _, j := range run {
			highest = math.Max(highest, math.Abs(x[j]-clean[j]))
		}
		heights = append(heights, highest)
	}
	return heights
}

// watchTail looks for spikes in the end of a release, one value a report, where
// the axis has come to rest: as good a rest as another. Its own noise sets the
// gate where it is larger than that at rest, as it may stand in a worn band.
func (a *analysis) watchTail(tail segment) {
	if a.noiseGuess == 0 && a.watch.seconds == 0 {
		return // no rest, so its noise is not known
	}
	tail, held := tail.notHeld(a.longestRun)
	if len(tail.x) < 4*spikeWindow {
		return
	}
	own := roughSigma(aboutMedian(tail.x))
	clean, out := stats.HampelFloor(tail.x, spikeWindow, spikeSigmas, a.spikeFloor(math.Max(a.noiseGuess, own)))
	a.watch.spikes += spikesOf(out)
	a.watch.reports += len(tail.x)
	seconds := tail.seconds() - held
	a.watch.seconds += seconds
	heights := spikeHeights(tail.x, clean, out)
	a.out.Plots.SettledSeconds += seconds
	a.out.Plots.SettledSpikes = append(a.out.Plots.SettledSpikes, heights...)
}

// spikes sums up what was seen at rest and in the ends of releases.
func (a *analysis) spikes() {
	w := a.watch
	if w.seconds == 0 {
		return
	}
	minutes := w.seconds / 60
	lo, hi := stats.PoissonMidP(w.spikes, minutes, 0.95)
	a.out.Rest.SpikesPerMinute = within(float64(w.spikes)/minutes, lo, hi, unitPerMinute, w.reports,
		fmt.Sprintf("%d spikes in %.1f s at rest and in the settled ends of releases: reports more than %g σ and %g steps off the running median of %d, neighbours counted as one; mid-P interval of a Poisson count",
			w.spikes, w.seconds, spikeSigmas, spikeSteps, 2*spikeWindow+1))
}

// withoutSpikes is x, one value a report, with its spikes replaced by the
// running median.
func (a *analysis) withoutSpikes(x []float64) []float64 {
	clean, _ := stats.HampelFloor(x, spikeWindow, spikeSigmas, a.spikeFloor(a.noiseGuess))
	return clean
}
