package measure

import (
	"math"

	"halfstick/fit/stats"
)

const (
	wayEnd    = 0.02 // of the travel: nearer to a stop is the stop
	placeBins = 20   // bins of position for hysteresis
)

// traverse is a way from one stop zone to the other.
type traverse struct {
	segment
	up bool
}

func (a *analysis) countWays(ways []traverse) {
	a.traversed = len(ways)
	if len(ways) < 4 {
		a.note("sweeps: %d ways from stop to stop; sweep there and back at least twice for hysteresis and the worn band", len(ways))
	}
}

// traverses cuts a sweep into its ways from stop zone to stop zone.
func (a *analysis) traverses(g segment) []traverse {
	x := stats.MedianFilter(g.x, 5)
	span := a.high - a.low
	zoneDepth := math.Max(wayEnd*span, math.Max(6*a.noiseGuess, 3*a.step))
	lowZone, highZone := a.low+zoneDepth, a.high-zoneDepth
	var out []traverse
	zone, left := 0, 0 // zone last seen, and its last row
	for i, v := range x {
		now := 0
		switch {
		case v <= lowZone:
			now = -1
		case v >= highZone:
			now = 1
		}
		if now == 0 {
			continue
		}
		if zone == -now && i > left+4 {
			out = append(out, traverse{segment: segment{phase: g.phase, t: g.t[left : i+1], x: g.x[left : i+1]}, up: now > 0})
		}
		zone, left = now, i
	}
	return out
}

// hysteresisOf compares ascending with descending readings at one position, as
// 43 CFR 3175.135 does, dead band not subtracted. A recording does not hold the
// hand's position: the share of the way, by time, stands in for it, which is
// as good as the hand's pace is even, and a play that is taken up at the stops
// before the reading moves cannot show. So the interval comes from the scatter
// of the ways, and it is wide when the pace varies.
func (a *analysis) hysteresisOf(ways []traverse) {
	up := make([][]float64, placeBins)
	down := make([][]float64, placeBins)
	used := 0
	for _, w := range ways {
		if len(a.leaps(w.x)) > 0 {
			continue // the time of the leap is missing, so that shares of the time are no places
		}
		used++
		for b := range placeBins {
			share := (float64(b) + 0.5) / placeBins
			if w.up {
				up[b] = append(up[b], w.at(share))
			} else {
				down[b] = append(down[b], w.at(1-share))
			}
		}
	}
	if len(up[0]) < 2 || len(down[0]) < 2 {
		if used < len(ways) {
			a.note("hysteresis: in %d of %d ways the reading leaps, as when the recording stood still meanwhile; sweep there and back once more", len(ways)-used, len(ways))
		}
		return
	}
	best, lo, hi := 0.0, 0.0, 0.0
	for b := range placeBins {
		mu, su := stats.MeanSD(up[b])
		md, sd := stats.MeanSD(down[b])
		nu, nd := float64(len(up[b])), float64(len(down[b]))
		if d := math.Abs(mu - md); d > best {
			best = d
			lo, hi = stats.MeanIntervalFrom(d, math.Sqrt((su*su/nu+sd*sd/nd)*math.Min(nu, nd)), math.Min(nu, nd), 0.95)
		}
	}
	a.out.Sweep.Hysteresis = notNegative(within(best, lo, hi, unitCounts, used,
		"largest difference of mean ascending and mean descending reading over 20 positions (43 CFR 3175.135 sense, dead band not subtracted); position taken as the share of the time from stop to stop, so an uneven pace adds to it and play taken up at a stop is not seen"))
}

// at is the reading at a share of the way's time, smoothed.
func (w traverse) at(share float64) float64 {
	t := w.t[0] + share*(w.t[len(w.t)-1]-w.t[0])
	c := w.cut(t-0.05, t+0.05)
	if len(c.x) == 0 {
		return w.x[int(share*float64(len(w.x)-1))]
	}
	return stats.Median(c.x)
}
