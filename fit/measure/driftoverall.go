package measure

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"halfstick/fit/stats"
)

// A drift is one if its slopes in different places of the throw agree: those that
// are farther apart than chance brings in one of a thousand recordings have other
// causes.
const driftsAgree = 0.999

// seenLevel is where the reading stood and when.
type seenLevel struct{ t, at float64 } // seconds, counts

// slope is a slope in counts a second with its variance by so many degrees of
// freedom, of which there are 0 where there is no slope.
type slope struct{ at, variance, free float64 }

// slopeOf fits one slope to the stays at several places, of which each has its own
// level.
func (a *analysis) slopeOf(places ...[]seenLevel) slope {
	var tt, tx, xx float64
	free := -1.0
	for _, p := range places {
		if len(p) < 2 {
			continue
		}
		t, x := make([]float64, len(p)), make([]float64, len(p))
		for i, s := range p {
			t[i], x[i] = s.t, s.at
		}
		mt, _ := stats.MeanSD(t)
		mx, _ := stats.MeanSD(x)
		for i := range t {
			tt, tx, xx = tt+(t[i]-mt)*(t[i]-mt), tx+(t[i]-mt)*(x[i]-mx), xx+(x[i]-mx)*(x[i]-mx)
		}
		free += float64(len(p) - 1)
	}
	if free < 1 || tt == 0 {
		return slope{}
	}
	at := tx / tt
	// Rounding scatters by at least its share.
	return slope{at, (math.Max(0, xx-at*tx)/free + a.step*a.step/12) / tt, free}
}

// restSlopeVariance is the variance of the slope at rest, (counts a second)², of
// which the interval of the drift tells; there must be one.
func (a *analysis) restSlopeVariance() float64 {
	d := a.out.Rest.DriftPerMinute
	se := (*d.High - *d.Low) / (2 * 1.96 * 60)
	return se * se
}

// driftOverall puts together how fast the reading moves at rest, at each stop and
// from release to release. A hard stop stays where it is, so that what the reading
// does there from visit to visit is drift; and the visits lie a minute or more apart,
// where a rest may last ten seconds.
func (a *analysis) driftOverall() {
	if len(a.series.track.goneOnWith()) > 0 {
		return // what time lies between its parts is not known
	}
	var all []slope
	if d := a.out.Rest.DriftPerMinute; d != nil && d.Low != nil {
		all = append(all, slope{at: (*d.High + *d.Low) / 2 / 60, variance: a.restSlopeVariance(), free: math.Inf(1)})
	}
	all = append(all, a.slopeOf(a.stays[:]...), a.slopeOf(a.landings[:]...))
	var sum, weight, square float64
	n := 0
	for _, s := range all {
		if s.variance <= 0 || s.free < 1 {
			continue
		}
		// As wide as a Gaussian of the same interval.
		wide := 1.0
		if !math.IsInf(s.free, 1) {
			wide = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: s.free}.Quantile(0.975) / 1.96
		}
		w := 1 / (s.variance * wide * wide)
		sum, weight, square = sum+w*s.at, weight+w, square+w*s.at*s.at
		n++
	}
	if n == 0 {
		return
	}
	at := sum / weight
	if off := square - weight*at*at; n > 1 && off > (distuv.ChiSquared{K: float64(n - 1)}).Quantile(driftsAgree) {
		a.note("drift, overall: rest, stops and releases move differently, so that only the drift at rest is given")
		return
	}
	half := 1.96 / math.Sqrt(weight)
	a.out.Rest.DriftOverallPerMinute = within(60*at, 60*(at-half), 60*(at+half), unitCountsPerMinute, n,
		fmt.Sprintf("mean of %d slopes, at rest, at each stop from visit to visit and of each side from release to release, by their certainty", n))
}

// onScale tells whether a place is so far from the ends of the scale that noise and
// drift show there.
func (a *analysis) onScale(at float64) bool {
	return math.Abs(at) < 32767-math.Max(6*a.noiseGuess, 2*a.step)
}
