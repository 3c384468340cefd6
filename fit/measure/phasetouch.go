package measure

import (
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source.
const (
	touchSigmas = 15.0  // noise hardly moves a tile's median so far
	touchSteps  = 6.0   // nor does rounding
	touchShare  = 0.005 // of the scale; less passes for wander
	leastKept   = 1.0   // seconds of a rest between touches that are still of use
)

// cutTouched leaves out of the rests what was touched: where the median of a
// quarter of a second lies far from the rest's own line. A hand that moves an
// axis by less than touchShare of the scale passes for noise.
func (a *analysis) cutTouched() {
	var kept []segment
	cut, times := 0.0, 0
	for _, g := range a.series.segments {
		if g.phase.Kind != input.Rest || !a.series.about(g.phase) {
			kept = append(kept, g)
			continue
		}
		parts, n := a.untouched(g)
		kept = append(kept, parts...)
		if n > 0 {
			times += n
			cut += g.seconds() - seconds(parts)
		}
	}
	if times == 0 {
		return
	}
	a.series.segments = kept
	a.note("the axis was touched during rest: %d parts, %.1f s in all, were left out", times, cut)
}

// untouched is a rest without its touched parts, and how many these are.
func (a *analysis) untouched(g segment) (parts []segment, touches int) {
	ts := tiles(g, restTile)
	if len(ts) < 8 {
		return []segment{g}, 0
	}
	off := aboutLine(ts)
	gate := math.Max(touchSigmas*restScale(ts), math.Max(touchSteps*a.step, touchShare*fullSpan))
	from := g.t[0]
	end := math.Inf(1)
	keep := func(to float64) {
		if p := g.cut(from, to); p.seconds() >= leastKept {
			parts = append(parts, p)
		}
	}
	for i := 0; i < len(ts); i++ {
		if math.Abs(off[i]) <= gate {
			continue
		}
		// The tile before may hold the first of the touch; after it, the axis
		// settles as after a release.
		first := ts[i].t
		for i+1 < len(ts) && math.Abs(off[i+1]) > gate {
			i++
		}
		keep(first - restTile)
		from = ts[i].t + restTile + settleSeconds
		touches++
	}
	if touches == 0 {
		return []segment{g}, 0
	}
	keep(end)
	return parts, touches
}

// aboutLine is how far each tile lies from the median, or from a straight
// drift where that describes the rest better.
func aboutLine(ts []tile) []float64 {
	n := len(ts)
	mids, level := make([]float64, n), make([]float64, n)
	for i, t := range ts {
		mids[i] = t.mid
	}
	first, second := stats.Median(mids[:n/2]), stats.Median(mids[n/2:])
	mid := stats.Median(mids)
	line := make([]float64, n)
	slope := 2 * (second - first) / float64(n)
	for i, v := range mids {
		level[i] = v - mid
		line[i] = v - slope*float64(i)
	}
	mid = stats.Median(line)
	for i := range line {
		line[i] -= mid
	}
	if stats.MAD(line) < 0.7*stats.MAD(level) {
		return line
	}
	return level
}

// restScale is the noise of a rest: within its tiles, or from one to the next
// where it is slow.
func restScale(ts []tile) float64 {
	spread := make([]float64, len(ts))
	var step []float64
	for i, t := range ts {
		spread[i] = t.spread
		if i > 0 {
			step = append(step, t.mid-ts[i-1].mid)
		}
	}
	return math.Max(stats.Median(spread), stats.MAD(step))
}
