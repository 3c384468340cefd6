package measure

import (
	"math"

	"halfstick/fit/stats"
)

// leastRestNoise is the noise at rest, in steps, against which that elsewhere can be
// measured: of less, rounding shows all or nothing.
const leastRestNoise = 0.3

// scatterWatch sums up scatters about a running median.
type scatterWatch struct {
	squares float64 // counts² times independent reports
	reports float64 // independent ones
}

// add takes the last second of a release, spikes out. The running median leaves out
// what still moves.
func (w *scatterWatch) add(x []float64) {
	about := aboutMedian(x)
	own := roughSigma(about)
	_, n := stats.EffectiveN(about)
	w.squares, w.reports = w.squares+own*own*n, w.reports+n
}

// restingNoise is how noisy the axis is where releases end: the noise at rest times
// the ratio of the two scatters about the running median. It may come to rest in a
// worn band and have stood elsewhere, or the other way round.
func (a *analysis) restingNoise() {
	rest := a.out.Rest.Sigma
	if rest == nil || a.ends.reports < 2 || rest.Value < leastRestNoise*a.step || a.noiseGuess == 0 {
		return
	}
	ratio := math.Sqrt(a.ends.squares/a.ends.reports) / a.noiseGuess
	lo, hi := stats.SigmaInterval(ratio, a.ends.reports, 0.95)
	a.out.Return.Sigma = within(ratio*rest.Value, lo*rest.Value, hi*rest.Value, unitCounts, int(a.ends.reports),
		"noise at rest times the ratio of the scatters about the running median, in the last seconds of releases and at rest; chi-squared interval of the former")
}
