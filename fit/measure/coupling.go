package measure

import (
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

// coupling measures, from sweeps that are labelled with this axis, how much of
// it appears in the other axes of the same device: the regression of the other
// on this one, way by way, times the ratio of their travels. The scatter of
// the ways gives the interval.
func (a *analysis) coupling(device []*analysis) {
	if !a.hasTravel {
		return
	}
	ways := a.labelledWays()
	for _, b := range device {
		if b == a || b.series.rows == 0 {
			continue
		}
		if q := a.shareIn(b, ways); q != nil {
			a.out.Coupling = append(a.out.Coupling, Coupling{With: b.series.label(), Share: *q})
		}
	}
}

// labelledWays are the ways of the sweeps that are labelled with this axis, smoothed
// against spikes.
func (a *analysis) labelledWays() []segment {
	var out []segment
	for _, g := range a.series.of(input.Sweep) {
		if g.phase.Label == "" {
			continue
		}
		for _, w := range a.traverses(g) {
			out = append(out, segment{t: w.t, x: smoothed(w.x)})
		}
	}
	return out
}

func smoothed(x []float64) []float64 { return stats.MedianFilter(x, 5) }

// shareIn is the percentage of b's travel that a whole sweep of a moves it by, from
// the ways of a's sweeps.
func (a *analysis) shareIn(b *analysis, ways []segment) *Quantity {
	travel := fullSpan
	if b.hasTravel {
		travel = b.high - b.low
	}
	var slopes []float64
	for _, w := range ways {
		if s, ok := regressOn(w.x, b.series.between(w.t[0], w.t[len(w.t)-1])); ok {
			slopes = append(slopes, s)
		}
	}
	if len(slopes) < 2 {
		return nil
	}
	mean, lo, hi := stats.MeanInterval(slopes, 0.95)
	k := 100 * (a.high - a.low) / travel
	thisLess, thisMore := a.travelSlack()
	otherLess, otherMore := b.travelSlack()
	slack := mean * math.Hypot(math.Max(thisLess, thisMore), math.Max(otherLess, otherMore))
	return within(k*mean, k*(mean-math.Hypot(mean-lo, slack)), k*(mean+math.Hypot(hi-mean, slack)), unitPercent, len(slopes),
		"percent of the other axis's travel per whole travel of this one, by regression in each way of its sweeps; interval from the scatter of the ways and from those of the travels; includes what the hand moves along")
}

// between are the counts of the axis from one time to another, without absences; nil
// where there are none in one run of rows.
func (s *series) between(from, to float64) []float64 {
	after := math.Nextafter(to, math.Inf(1))
	for _, g := range s.segments {
		if g.t[0] <= from && g.t[len(g.t)-1] >= to {
			return g.cut(from, after).x
		}
	}
	for _, r := range s.looseRuns() {
		if s.track.seconds(r.from) <= from && s.track.seconds(r.to-1) >= to {
			first := r.rowAt(r.from, from)
			return counts(s.column, first, r.rowAt(first, after))
		}
	}
	return nil
}

// regressOn gives the slope of y on x, which is smoothed, as y has still to be; rows
// of one recording share their times.
func regressOn(x, y []float64) (float64, bool) {
	if len(x) < 20 || len(x) != len(y) {
		return 0, false
	}
	l, err := stats.LinearRegression(x, smoothed(y))
	return l.Slope, err == nil
}
