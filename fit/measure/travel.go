package measure

import (
	"math"

	"halfstick/fit/stats"
)

// visit is one stay at a stop.
type visit struct {
	t  float64 // seconds: its middle
	at float64 // counts: level of the plateau
	n  int
}

const (
	zoneShare = 0.25 // outer share of the range in which a stop is looked for
	sameStop  = 0.03 // of the range: visits closer than this reached the stop
	nearStop  = 0.01 // of the range: how much of the way there and back is fitted
	nearNoise = 12.0 // σ, and as many steps: the least that is fitted
	fitPoints = 120  // a stay is thinned to as many
	fitGrid   = 16   // places tried for each end of the plateau
)

// travel finds the two stops from sweeps and releases.
func (a *analysis) travel() {
	segs := a.moving()
	if len(segs) == 0 {
		a.note("travel, noise along the throw and hysteresis: no sweep; sweep slowly from stop to stop and back at least twice")
		return
	}
	quiet := make([][]float64, len(segs))
	var low, high float64 = math.Inf(1), math.Inf(-1)
	for i, g := range segs {
		g = a.reports(g)
		segs[i] = g
		quiet[i] = a.withoutSpikes(g.x)
		for _, v := range quiet[i] {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	span := high - low
	if span < 4*a.step {
		a.note("travel: the axis did not move in its sweeps")
	}
	depth := math.Max(nearStop*span, nearNoise*math.Max(a.noiseGuess, a.step/2))
	var lows, highs []visit
	for i, x := range quiet {
		highs = append(highs, a.visits(segs[i].t, x, low, high, depth)...)
		lows = append(lows, mirrored(a.visits(segs[i].t, negated(x), -high, -low, depth))...)
	}
	a.out.Travel.High = a.stopQuantity(highs, span, 1)
	a.out.Travel.Low = a.stopQuantity(lows, span, -1)
	if l, h := a.out.Travel.Low, a.out.Travel.High; l != nil && h != nil {
		a.low, a.high, a.hasTravel = l.Value, h.Value, h.Value > l.Value
		wide := within(h.Value-l.Value, edge(h, -1)-edge(l, 1), edge(h, 1)-edge(l, -1), unitCounts, h.N+l.N,
			"distance between the stops, of 65,535 counts")
		a.out.Travel.UsedShare = notNegative(wide.scaled(100/fullSpan, unitPercent))
	}
}

// edge is the interval's end on one side, or the value.
func edge(q *Quantity, side int) float64 {
	switch {
	case q.Low == nil:
		return q.Value
	case side < 0:
		return *q.Low
	}
	return *q.High
}

func negated(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = -v
	}
	return out
}

func mirrored(v []visit) []visit {
	for i := range v {
		v[i].at = -v[i].at
	}
	return v
}

// visits lists the stays in the upper zone of x. A stay begins when x rises
// into the zone and ends when it falls below the middle.
func (a *analysis) visits(t, x []float64, low, high, depth float64) []visit {
	zone, middle := high-zoneShare*(high-low), (high+low)/2
	var out []visit
	from := -1
	for i, v := range x {
		if v >= zone && from < 0 {
			from = i
		}
		if v < middle && from >= 0 {
			out = append(out, a.plateau(t[from:i], x[from:i], depth))
			from = -1
		}
	}
	if from >= 0 {
		out = append(out, a.plateau(t[from:], x[from:], depth))
	}
	return out
}

// plateau fits a rise to a stop, a level and a fall from it,
//
//	x(t) = c − a·(t₁−t)⁺ − b·(t−t₂)⁺,   t₁ ≤ t₂,
//
// to the part of a stay within depth of its top, and gives c. The mean of the
// highest readings would be too high by the noise, and too low by the way
// there where the control only touches the stop.
func (a *analysis) plateau(t, x []float64, depth float64) visit {
	top := stats.Quantile7(x, 0.95)
	from, to := 0, len(x)
	for i, v := range x { // the stay's own end of the way, not an earlier dip
		if v >= top-depth {
			from = i
			break
		}
	}
	for to > from && x[to-1] < top-depth {
		to--
	}
	t, x = thin(t[from:to]), thin(x[from:to])
	n := len(x)
	if n < 8 {
		return visit{t: (t[0] + t[n-1]) / 2, at: stats.Median(x), n: n}
	}
	level := stats.Median(x)
	var levels, rests []float64
	best := math.Inf(1)
	for i := range fitGrid + 1 {
		t1 := t[i*(n-1)/fitGrid]
		for j := i; j <= fitGrid; j++ {
			if c, rss, ok := fitPlateau(t, x, t1, t[j*(n-1)/fitGrid]); ok {
				levels, rests = append(levels, c), append(rests, rss)
				best = math.Min(best, rss)
			}
		}
	}
	if len(levels) > 0 {
		level = a.likelyLevel(levels, rests, best, float64(n))
	}
	return visit{t: (t[0] + t[n-1]) / 2, at: level, n: n}
}

// likelyLevel is the mean of fitted levels, each by its likelihood: the best fit
// alone is the one that noise carries farthest out. Noise is at least rounding.
func (a *analysis) likelyLevel(levels, rests []float64, best, n float64) float64 {
	variance := math.Max(best/math.Max(1, n-5), a.step*a.step/12)
	var sum, weight float64
	for i, c := range levels {
		w := math.Exp(-(rests[i] - best) / (2 * variance))
		sum, weight = sum+w*c, weight+w
	}
	return sum / weight
}

// thin keeps about fitPoints of x, evenly.
func thin(x []float64) []float64 {
	every := 1 + len(x)/fitPoints
	out := make([]float64, 0, fitPoints+1)
	for i := 0; i < len(x); i += every {
		out = append(out, x[i])
	}
	return out
}

// fitPlateau fits c, a and b for given ends of the level by least squares. The
// two ramps never overlap, so the normal equations have a zero and c follows
// from eliminating a and b.
func fitPlateau(t, x []float64, t1, t2 float64) (c, rss float64, ok bool) {
	var n, sx, sxx, r, rr, rx, f, ff, fx float64
	for i, at := range t {
		v := x[i] - x[0] // keeps the sums small
		up, down := math.Max(0, t1-at), math.Max(0, at-t2)
		n, sx, sxx = n+1, sx+v, sxx+v*v
		r, rr, rx = r+up, rr+up*up, rx+up*v
		f, ff, fx = f+down, ff+down*down, fx+down*v
	}
	den, num := n, sx
	if rr > 0 {
		den, num = den-r*r/rr, num-r*rx/rr
	}
	if ff > 0 {
		den, num = den-f*f/ff, num-f*fx/ff
	}
	if den < 1e-9*n {
		return 0, 0, false
	}
	c = num / den
	a, b := 0.0, 0.0
	if rr > 0 {
		a = (c*r - rx) / rr
	}
	if ff > 0 {
		b = (c*f - fx) / ff
	}
	if a < 0 || b < 0 {
		return 0, 0, false // no stop rises away from the level
	}
	rss = sxx - c*sx + a*rx + b*fx
	return c + x[0], rss, true
}

// stopQuantity takes the visits that reached the stop: those near the one that
// went farthest in the given direction.
func (a *analysis) stopQuantity(all []visit, span float64, direction float64) *Quantity {
	farthest := math.Inf(-1)
	for _, v := range all {
		farthest = math.Max(farthest, direction*v.at)
	}
	var t, at []float64
	for _, v := range all {
		if farthest-direction*v.at <= sameStop*span {
			t, at = append(t, v.t), append(at, v.at)
		}
	}
	if len(at) == 0 {
		return nil
	}
	q, _ := a.meanOf(t, at, unitCounts,
		"mean over visits to the stop, each the level of a rise, level and fall fitted to it, spikes out; visits that stopped short left out; interval from their scatter, drift at rest taken off, and the rounding to steps")
	return q
}

// centre finds where a two-sided axis's zero is.
//
// Friction F against a spring k leaves an axis within F/k of the spring's
// centre, short of it on the side that it came from, and scatters it in
// proportion to the same F/k. So the gap between the two mean returns is
// divided in proportion to the two scatters: a soft or sticky side, which
// scatters more, takes the larger part.
func (a *analysis) centre() {
	if a.oneSided() {
		return
	}
	r := a.out.Return
	switch {
	case r.FromLow != nil && r.FromHigh != nil:
		l, h := r.FromLow, r.FromHigh
		share := 0.5
		if sum := l.Spread.Value + h.Spread.Value; sum > 0 && math.Abs(h.Mean.Value-l.Mean.Value) > 2*a.step {
			share = math.Min(0.9, math.Max(0.1, l.Spread.Value/sum))
		}
		c := l.Mean.Value + share*(h.Mean.Value-l.Mean.Value)
		lo := math.Min(edge(l.Mean, -1), edge(h.Mean, -1))
		hi := math.Max(edge(l.Mean, 1), edge(h.Mean, 1))
		a.out.Travel.Centre = within(c, lo, hi, unitCounts, l.Mean.N+h.Mean.N,
			"between the mean returns from the two sides, the gap divided in proportion to their scatter; interval: from one return's to the other's")
	case a.restMean != nil:
		a.out.Travel.Centre = a.restMean
	}
	if a.out.Travel.Centre == nil {
		a.note("centre: no release from both sides and no rest")
		return
	}
	a.centreAt = a.out.Travel.Centre.Value
	a.hasCentre = true
}

// position turns counts into u by the measured stops and centre. Where there
// is no centre, the middle between the stops stands in.
func (a *analysis) position(counts float64) float64 {
	if a.oneSided() {
		return (counts - a.low) / (a.high - a.low)
	}
	c := a.zero()
	if counts >= c {
		return (counts - c) / (a.high - c)
	}
	return (counts - c) / (c - a.low)
}

func (a *analysis) zero() float64 {
	if a.hasCentre && a.centreAt > a.low && a.centreAt < a.high {
		return a.centreAt
	}
	return (a.low + a.high) / 2
}

// halfThrow is the counts from zero to one stop; for a one-sided axis its
// whole throw. Where the travel is unknown, that of the full scale.
func (a *analysis) halfThrow(highSide bool) float64 {
	switch {
	case !a.hasTravel && a.oneSided():
		return fullSpan
	case !a.hasTravel:
		return fullSpan / 2
	case a.oneSided():
		return a.high - a.low
	case highSide:
		return a.high - a.zero()
	}
	return a.zero() - a.low
}
