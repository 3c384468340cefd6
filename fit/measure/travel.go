package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"halfstick/fit/stats"
	"halfstick/input"
)

// visit is one stay at a stop.
type visit struct {
	t    float64 // seconds: its middle
	at   float64 // counts: level of the plateau
	held bool    // the level stands on some reports, not on a turn only
}

const (
	zoneShare = 0.25 // outer share of the range in which a stop is looked for
	sameStop  = 0.03 // of the range: visits closer than this reached the stop
	nearStop  = 0.01 // of the range: how much of the way there and back is fitted
	nearNoise = 12.0 // σ, and as many steps: the least that is fitted
	fitPoints = 120  // a stay is thinned to as many
	fitGrid   = 16   // places tried for each end of the plateau
	fitFiner  = 4    // the places about the best are tried as much closer, fitPasses times
	fitPasses = 2
	leastHeld = 4 // reports on the level: fewer are a turn that may have stopped short
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
	a.out.Travel.High, a.stopTime[1] = a.stopQuantity(highs, span, 1)
	a.out.Travel.Low, a.stopTime[0] = a.stopQuantity(lows, span, -1)
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
	out := visit{t: (t[0] + t[n-1]) / 2, at: stats.Median(x)}
	if n < 8 {
		return out
	}
	g := &plateauGrid{t: t, x: x, best: math.Inf(1)}
	for i := range fitGrid + 1 {
		for j := i; j <= fitGrid; j++ {
			g.try(t[i*(n-1)/fitGrid], t[j*(n-1)/fitGrid], 1)
		}
	}
	// A quiet axis shows the corners much more sharply than the grid is fine,
	// and a corner in the wrong place tilts the level.
	apart := (t[n-1] - t[0]) / fitGrid
	for range fitPasses {
		t1, t2 := g.t1, g.t2
		apart /= fitFiner
		weight := math.Pow(fitFiner, -2)
		for i := -fitFiner; i <= fitFiner; i++ {
			// A release has no way there, the last way of a sweep none back.
			g.try(t[0], t2+float64(i)*apart, weight)
			g.try(t1+float64(i)*apart, t[n-1], weight)
			for j := -fitFiner; j <= fitFiner; j++ {
				g.try(t1+float64(i)*apart, t2+float64(j)*apart, weight)
			}
		}
	}
	if len(g.fits) == 0 {
		return out
	}
	out.at, out.held = a.likelyLevel(g)
	return out
}

// plateauGrid collects fits of a plateau for many pairs of ends.
type plateauGrid struct {
	t, x         []float64
	fits         []plateauFit
	best, t1, t2 float64 // least rest, and its ends
}

type plateauFit struct{ level, rest, seconds, weight float64 }

func (g *plateauGrid) try(t1, t2, weight float64) {
	if t1 > t2 || t1 < g.t[0] || t2 > g.t[len(g.t)-1] {
		return
	}
	c, rss, ok := fitPlateau(g.t, g.x, t1, t2)
	if !ok {
		return
	}
	g.fits = append(g.fits, plateauFit{level: c, rest: rss, seconds: t2 - t1, weight: weight})
	if rss < g.best {
		g.best, g.t1, g.t2 = rss, t1, t2
	}
}

// likelyLevel is the mean of fitted levels, each by its likelihood and the room
// of its ends: the best fit alone is the one that noise carries farthest out.
// Noise is at least rounding. It also tells whether a likely fit stays on the
// level for leastHeld reports.
func (a *analysis) likelyLevel(g *plateauGrid) (level float64, held bool) {
	n := len(g.x)
	variance := math.Max(g.best/math.Max(1, float64(n-5)), a.step*a.step/12)
	stay := leastHeld * (g.t[n-1] - g.t[0]) / float64(n-1)
	var sum, weight float64
	for _, f := range g.fits {
		off := (f.rest - g.best) / (2 * variance)
		w := f.weight * math.Exp(-off)
		sum, weight = sum+w*f.level, weight+w
		held = held || off < 2 && f.seconds >= stay
	}
	return sum / weight, held
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
// went farthest in the given direction. A turn that did not stay on the level
// may have stopped short; it counts only where there are no two that stayed.
// The level is that at the visits' mean time, in seconds.
func (a *analysis) stopQuantity(all []visit, span float64, direction float64) (q *Quantity, at float64) {
	side := 0
	if direction > 0 {
		side = 1
	}
	farthest := math.Inf(-1)
	for _, v := range all {
		farthest = math.Max(farthest, direction*v.at)
	}
	var t, level, heldT, held []float64
	for _, v := range all {
		if farthest-direction*v.at > sameStop*span {
			continue
		}
		t, level = append(t, v.t), append(level, v.at)
		if v.held {
			heldT, held = append(heldT, v.t), append(held, v.at)
		}
	}
	if len(level) == 0 {
		return nil, 0
	}
	at = stat.Mean(t, nil)
	shift := 0.0 // to the mean time of all
	if len(held) >= 2 {
		if d := a.out.Rest.DriftPerMinute; significant(d) {
			shift = d.Value / 60 * (at - stat.Mean(heldT, nil))
		}
		t, level = heldT, held
	}
	for i := range t {
		if a.onScale(level[i]) {
			a.stays[side] = append(a.stays[side], seenLevel{t[i], level[i]})
		}
	}
	q, _ = a.meanOf(t, level, unitCounts,
		"mean over visits to the stop, each the level of a rise, level and fall fitted to it, spikes out; visits that stopped short left out; interval from their scatter, drift at rest taken off, and the rounding to steps")
	return q.moved(shift), at
}

// centre finds where a two-sided axis's zero is.
//
// Friction F against a spring k leaves an axis within F/k of the spring's
// centre, short of it on the side that it came from; a damper c brings it home
// in a time that goes with c/k (see fallTime). So the gap between the two mean
// returns is divided in proportion to the two times, each in the measure of its
// own side: a soft side, which is slow, takes the larger part, and a nearly
// dead side, which reads little, the smaller. Mass, damper, friction and the
// mechanical way to the stop are taken to be the same on both sides.
func (a *analysis) centre() {
	if a.oneSided() {
		return
	}
	r := a.out.Return
	switch {
	case r.FromLow != nil && r.FromHigh != nil:
		l, h := r.FromLow, r.FromHigh
		c := a.between(l, h)
		lo := math.Min(edge(l.Mean, -1), edge(h.Mean, -1))
		hi := math.Max(edge(l.Mean, 1), edge(h.Mean, 1))
		a.out.Travel.Centre = within(c, lo, hi, unitCounts, l.Mean.N+h.Mean.N,
			"between the mean returns from the two sides, the gap divided in proportion to the times of the two falls; interval: from one return's to the other's")
	case a.restMean != nil:
		a.out.Travel.Centre = a.restMean
		rests := a.series.of(input.Rest)
		a.centreTime = (rests[0].t[0] + slices.Max(rests[len(rests)-1].t)) / 2
	}
	if a.out.Travel.Centre == nil {
		a.note("centre: no release from both sides and no rest")
		return
	}
	a.centreAt = a.out.Travel.Centre.Value
	a.hasCentre = true
}

// between divides the gap between the mean returns from the low and the high
// side, in counts.
func (a *analysis) between(low, high *ReturnSide) float64 {
	l, h := low.Mean.Value, high.Mean.Value
	c := (l + h) / 2
	if low.fall <= 0 || high.fall <= 0 || !a.hasTravel {
		return c
	}
	for range 20 { // the sides' measures depend on the centre; a few turns settle it
		lowPart := low.fall * math.Max(0, c-a.low)
		highPart := high.fall * math.Max(0, a.high-c)
		if lowPart+highPart == 0 {
			break
		}
		share := math.Min(1-leastPart, math.Max(leastPart, lowPart/(lowPart+highPart)))
		c = l + share*(h-l)
	}
	return c
}

// leastPart of the gap falls to either side, as the times are not exact; a
// choice.
const leastPart = 0.03

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
