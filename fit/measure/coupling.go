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
	if !a.hasTravel || !a.labelledSweep() {
		return
	}
	for _, b := range device {
		if b == a || b.series.rows == 0 {
			continue
		}
		if q := a.shareIn(b); q != nil {
			a.out.Coupling = append(a.out.Coupling, Coupling{With: b.series.label(), Share: *q})
		}
	}
}

func (a *analysis) labelledSweep() bool {
	for _, g := range a.series.of(input.Sweep) {
		if g.phase.Label != "" {
			return true
		}
	}
	return false
}

// shareIn is the percentage of b's travel that a whole sweep of a moves it by.
func (a *analysis) shareIn(b *analysis) *Quantity {
	travel := fullSpan
	if b.hasTravel {
		travel = b.high - b.low
	}
	var slopes []float64
	for _, g := range a.series.of(input.Sweep) {
		if g.phase.Label == "" {
			continue
		}
		for _, w := range a.traverses(g) {
			if s, ok := regressOn(w.segment, b.series.between(w.t[0], w.t[len(w.t)-1])); ok {
				slopes = append(slopes, s)
			}
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

// between is the part of the axis from one time to another, without absences.
func (s *series) between(from, to float64) segment {
	after := math.Nextafter(to, math.Inf(1))
	for _, g := range s.segments {
		if g.t[0] <= from && g.t[len(g.t)-1] >= to {
			return g.cut(from, after)
		}
	}
	for _, r := range s.looseRuns() {
		if s.track.seconds(r.from) <= from && s.track.seconds(r.to-1) >= to {
			return r.cut(period{from, after})
		}
	}
	return segment{}
}

// regressOn gives the slope of y on x, both smoothed against spikes; rows of
// one recording share their times.
func regressOn(x, y segment) (float64, bool) {
	n := min(len(x.x), len(y.x))
	if n < 20 || len(x.x) != len(y.x) {
		return 0, false
	}
	l, err := stats.LinearRegression(stats.MedianFilter(x.x, 5), stats.MedianFilter(y.x, 5))
	return l.Slope, err == nil
}
