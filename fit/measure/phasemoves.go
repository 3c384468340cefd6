package measure

import (
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

// moves is an axis's unlabelled motion, in tiles.
type moves struct {
	low, high, noise, step float64
}

// findMoves looks for sweeps and releases, where the axis has none labelled.
func (a *analysis) findMoves() {
	runs := a.series.unlabelled()
	noSweep := len(a.series.of(input.Sweep)) == 0
	noLow, noHigh := len(a.series.of(input.ReleaseLow)) == 0, len(a.series.of(input.ReleaseHigh)) == 0
	if len(runs) == 0 || !noSweep && (a.oneSided() || !noLow && !noHigh) {
		return
	}
	m := moves{step: a.step}
	m.low, m.high = a.series.bounds()
	if m.high-m.low < leastMoved*fullSpan {
		return
	}
	all, cut := tilesOf(runs, moveTile)
	m.noise = calmSpread(all)
	if noSweep {
		var found []segment
		for i, r := range runs {
			for _, p := range m.sweeps(cut[i]) {
				found = append(found, r.cut(p))
			}
		}
		if len(found) > 0 {
			a.add(input.Sweep, found)
			a.note("sweeps are not labelled; %d stretches of them, %.0f s in all, were found from the data: slow travel over most of the range and back", len(found), seconds(found))
		}
	}
	if a.oneSided() {
		return
	}
	home := a.home(all)
	for side, missing := range []bool{noLow, noHigh} {
		if !missing {
			continue
		}
		var found []segment
		for i, r := range runs {
			for _, p := range m.releases(cut[i], home, side == 1) {
				found = append(found, r.cut(p))
			}
		}
		if len(found) > 0 {
			a.add([]input.PhaseKind{input.ReleaseLow, input.ReleaseHigh}[side], found)
			a.note("releases from the %s side are not labelled; %d were found from the data: held far, then home fast, then calm", sideName(side), len(found))
		}
	}
}

// home is about where the axis rests: the median of its rests, or else of all.
func (a *analysis) home(all []tile) float64 {
	var at []float64
	for _, g := range a.series.of(input.Rest) {
		at = append(at, stats.Median(g.x))
	}
	if len(at) == 0 {
		for _, t := range all {
			at = append(at, t.mid)
		}
	}
	return stats.Median(at)
}

// span is a stretch of tiles, both ends included.
type span struct{ from, to int }

// sweeps joins ways from end to end that follow each other: there and back.
func (m moves) sweeps(ts []tile) []period {
	var out []period
	var run []span
	flush := func() {
		if len(run) >= 2 {
			from, to := m.stay(ts, run[0].from, -1), m.stay(ts, run[len(run)-1].to, 1)
			out = append(out, period{ts[from].t, ts[to].t + moveTile})
		}
		run = nil
	}
	for _, w := range m.ways(ts) {
		if n := len(run); n > 0 && ts[w.from].t-ts[run[n-1].to].t > turnSeconds {
			flush()
		}
		run = append(run, w)
	}
	flush()
	return out
}

// zone is -1 near the low end, 1 near the high end, 0 between.
func (m moves) zone(x float64) int {
	switch edge := sweepZone * (m.high - m.low); {
	case x <= m.low+edge:
		return -1
	case x >= m.high-edge:
		return 1
	}
	return 0
}

// ways are the slow and steady ways from one end to the other.
func (m moves) ways(ts []tile) []span {
	var out []span
	last, left := 0, 0
	for i, t := range ts {
		z := m.zone(t.mid)
		if z == 0 {
			continue
		}
		if last == -z && ts[i].t-ts[left].t >= leastWay && m.steady(ts[left:i+1], float64(z)) {
			out = append(out, span{left, i})
		}
		last, left = z, i
	}
	return out
}

func (m moves) steady(ts []tile, direction float64) bool {
	back := 0.0
	for i := 1; i < len(ts); i++ {
		if d := -direction * (ts[i].mid - ts[i-1].mid); d > 3*m.noise {
			back += d
		}
	}
	return back <= wayBack*(m.high-m.low)
}

// stay follows tile i within its zone for up to a second.
func (m moves) stay(ts []tile, i, direction int) int {
	z := m.zone(ts[i].mid)
	for n := 0; n < int(1/moveTile); n++ {
		next := i + direction
		if next < 0 || next >= len(ts) || m.zone(ts[next].mid) != z {
			break
		}
		i = next
	}
	return i
}

// releases are the falls home from one side.
func (m moves) releases(ts []tile, home float64, fromHigh bool) []period {
	sign, throw := 1.0, m.high-home
	if !fromHigh {
		sign, throw = -1, home-m.low
	}
	if throw < leastMoved*fullSpan/2 {
		return nil
	}
	share := func(i int) float64 { return sign * (ts[i].mid - home) / throw }
	var out []period
	held := 0
	for i := range ts {
		if share(i) >= farShare {
			held++
			continue
		}
		wasHeld := held >= heldTiles
		held = 0
		if !wasHeld {
			continue
		}
		if to, ok := m.comesHome(ts, i, share, throw); ok {
			out = append(out, period{ts[i].t - 10*moveTile, ts[to].t})
		}
	}
	return out
}

// comesHome follows a fall from tile i: near home within fallSeconds, then
// calm there within calmSeconds. It gives the last tile of the calm.
func (m moves) comesHome(ts []tile, i int, share func(int) float64, throw float64) (to int, ok bool) {
	near := i
	for near < len(ts) && math.Abs(share(near)) > nearShare {
		near++
	}
	if near == len(ts) || ts[near].t-ts[i].t > fallSeconds {
		return 0, false
	}
	band := math.Max(math.Max(4*m.noise, 2*m.step), 0.01*throw)
	for from := near; from+calmTiles < len(ts) && ts[from].t-ts[i].t <= calmSeconds; from++ {
		to = from
		for to < len(ts) && to-from <= mostCalm && math.Abs(share(to)) <= nearShare && math.Abs(ts[to].mid-ts[from].mid) <= band {
			to++
		}
		if to--; to-from >= calmTiles {
			return to, true
		}
	}
	return 0, false
}
