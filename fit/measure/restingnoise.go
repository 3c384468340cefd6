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

// restingNoise is how noisy the axis is where releases end, on the noisier of the two
// sides: the noise at rest times the ratio of the two scatters about the running
// median. It may come to rest in a worn band and have stood elsewhere, or the other
// way round.
func (a *analysis) restingNoise() {
	rest := a.out.Rest.Sigma
	if rest == nil || rest.Value < leastRestNoise*a.step || a.noiseGuess == 0 {
		return
	}
	for _, w := range a.ends {
		if w.reports < 2 {
			continue
		}
		sigma := rest.Value * math.Sqrt(w.squares/w.reports) / a.noiseGuess
		if q := a.out.Return.Sigma; q != nil && q.Value >= sigma {
			continue
		}
		lo, hi := stats.SigmaInterval(sigma, w.reports, 0.95)
		a.out.Return.Sigma = within(sigma, lo, hi, unitCounts, int(w.reports),
			"noise at rest times the ratio of the scatters about the running median, in the last seconds of the releases of the noisier side and at rest; chi-squared interval of the former")
	}
}
