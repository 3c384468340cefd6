package measure

import (
	"math"
	"slices"
	"sort"

	"halfstick/fit/stats"
	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source.
const (
	restTile  = 0.25 // seconds over which calm is judged
	moveTile  = 0.05 // seconds over which motion is followed
	foundRest = 4.0  // seconds: shorter calm may be a hand that waits

	leastMoved = 0.05 // of the scale: an axis that moved less was not swept

	sweepZone   = 0.1  // of the range at each end: a way goes from one to the other
	leastWay    = 1.0  // seconds: faster is a throw, not a sweep
	wayBack     = 0.05 // of the range: so much may a slow hand go back
	turnSeconds = 3.0  // and so long stay at a stop

	farShare    = 0.6  // of the way from rest to stop: pushed
	nearShare   = 0.25 // of the same: come home
	heldTiles   = 5    // pushed for so long
	fallSeconds = 0.6  // and home so soon
	calmSeconds = 2.0  // and calm so soon
	calmTiles   = 20   // for at least so long
	mostCalm    = 60   // and more than this adds nothing
)

// calmSpread is the spread of the calmer tiles: the noise, where an axis rests
// for a fifth of the time or more.
func calmSpread(ts []tile) float64 {
	s := make([]float64, len(ts))
	for i, t := range ts {
		s[i] = t.spread
	}
	return stats.Quantile7(s, 0.2)
}

// add puts found segments in among the others, in order of time.
func (a *analysis) add(kind input.PhaseKind, found []segment) {
	for i := range found {
		found[i].phase, found[i].stretch = input.Phase{Kind: kind, Label: a.series.axis.Label}, 0
	}
	all := append(a.series.segments, found...)
	sort.SliceStable(all, func(i, j int) bool { return all[i].t[0] < all[j].t[0] })
	a.series.segments = all
}

func seconds(segs []segment) float64 {
	sum := 0.0
	for _, g := range segs {
		sum += g.seconds()
	}
	return sum
}

// findRests looks for rest on a device: all of its axes calm at once, as a
// hand that holds one axis still seldom holds them all so.
func findRests(device []*analysis) {
	var without []*analysis
	for _, a := range device {
		if len(a.series.of(input.Rest)) == 0 {
			without = append(without, a)
		}
	}
	if len(without) == 0 {
		return
	}
	moving := map[int]bool{}
	for _, a := range device {
		a.markMoving(moving)
	}
	for _, a := range without {
		var found []segment
		low, high := a.series.bounds()
		for _, r := range a.series.unlabelled() {
			for _, p := range a.calm(slices.Collect(r.tiles(restTile)), moving, low, high) {
				found = append(found, r.cut(p))
			}
		}
		if len(found) == 0 {
			continue
		}
		a.add(input.Rest, found)
		a.note("rest is not labelled; %d stretches of it, %.0f s in all, were found from the data: every axis of the device was calm", len(found), seconds(found))
	}
}

// markMoving marks the tiles, by number, in which the axis moves.
func (a *analysis) markMoving(moving map[int]bool) {
	all, cut := tilesOf(a.series.unlabelled(), restTile)
	s := calmSpread(all)
	for _, ts := range cut {
		for i, t := range ts {
			jump := 0.0
			if i > 0 {
				jump = math.Abs(t.mid - ts[i-1].mid)
			}
			if jump > 4*s+2*a.step || t.spread > 3*s+a.step {
				moving[int(math.Round(t.t/restTile))] = true
			}
		}
	}
}

// calm are the periods of a run in which nothing moves, foundRest long or longer,
// and in which this axis, which goes from low to high, stays near where it began.
func (a *analysis) calm(ts []tile, moving map[int]bool, low, high float64) []period {
	s := calmSpread(ts)
	band := 10*s + 3*a.step + 0.01*(high-low)
	var out []period
	from := -1
	flush := func(to int) {
		// The last tile may hold the hand's first touch.
		if from >= 0 && ts[to-1].t-ts[from].t >= foundRest && a.restsThere(ts[from].mid, low, high) {
			out = append(out, period{ts[from].t, ts[to-1].t})
		}
		from = -1
	}
	for i, t := range ts {
		if moving[int(math.Round(t.t/restTile))] || from >= 0 && math.Abs(t.mid-ts[from].mid) > band {
			flush(i)
			continue
		}
		if from < 0 {
			from = i
		}
	}
	flush(len(ts))
	return out
}

// restsThere is false where a two-sided axis stands nearer to a stop than to
// its middle: it is held there.
func (a *analysis) restsThere(at, low, high float64) bool {
	if a.oneSided() || high-low < leastMoved*fullSpan {
		return true
	}
	return math.Abs(at-(low+high)/2) < (high-low)/4
}

// bounds are the least and greatest tile medians of the axis, which single
// spikes do not move.
func (s *series) bounds() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	look := func(t tile) {
		low, high = math.Min(low, t.mid), math.Max(high, t.mid)
	}
	for _, g := range s.segments {
		for _, t := range tiles(g, moveTile) {
			look(t)
		}
	}
	for _, r := range s.looseRuns() {
		for t := range r.tiles(moveTile) {
			look(t)
		}
	}
	return low, high
}
