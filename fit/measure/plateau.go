package measure

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat"

	"halfstick/fit/stats"
)

const (
	seenShare    = 0.6 // of the ways must stand at the same place
	seenLeast    = 3
	besideSpan   = 0.02  // of the travel on either side: the pace there is the usual one
	standWidth   = 0.004 // of the throw: a stand must last as long as the control takes for it
	standTimes   = 3.0   // times as long as the pace beside it would
	standLoud    = 2.5   // the same where the noise carries some of it out of the window
	standReports = 1.5   // reports a way: one report in a window is only where the clock happened to fall
	standSpread  = 3.0   // σ: most of the readings of a stand, seven of eight, spread over so much
	standAll     = 6.0   // σ: and all of them over so much
	standSure    = 10.0  // log likelihood ratio of so many reports against the pace beside: noise alone heaps some up
	standRoom    = 0.001 // of the travel: and at least over so much, as a plateau need not be quite flat
	jumpSpeeds   = 3.0   // times what the motion covers meanwhile
	jumpSigmas   = 10.0
	jumpSteps    = 4.0
	sideOfAJump  = 6 // reports whose median stands for a level; spikes are shorter
)

// pass is one report of one way: its reading and the share of the throw that the
// control covers from report to report.
type pass struct {
	x, share float64
	way      int
}

// plateaus finds readings at which most ways stay longer than the pace on either
// side explains: the control moves, the counts do not. It adds up, for each
// reading, the share of the throw that the control covers meanwhile, as a
// converter's codes are judged by how often each occurs (IEEE Std 1241, from
// memory). A hand that pauses once does so in one way only, and a side that is
// dead has the same slow pace beside as at the place.
func (a *analysis) plateaus(ways []traverse) {
	all := a.passes(ways)
	if len(all) == 0 {
		return
	}
	window := math.Max(standRoom*(a.high-a.low), math.Max(1.2*a.step, standSpread*a.noiseGuess))
	loud, times := standSpread*a.noiseGuess >= window, standTimes // else noise heaps up nothing
	if loud {
		times = standLoud
	}
	least := standWidth
	for _, p := range all {
		least = math.Max(least, standReports*p.share)
	}
	beside := besideSpan * (a.high - a.low)
	need := max(seenLeast, int(math.Ceil(seenShare*float64(len(ways)))))
	type candidate struct{ at, share float64 }
	var found []candidate
	for i := range all {
		from := all[i].x
		each := standing(all, from, from+window, len(ways))
		here := stat.Mean(each, nil)
		if here < least {
			continue
		}
		below := stat.Mean(standing(all, from-window-beside, from-window, len(ways)), nil)
		above := stat.Mean(standing(all, from+2*window, from+2*window+beside, len(ways)), nil)
		usual := math.Max(below, above) * window / beside
		seen := 0
		for _, share := range each {
			if share >= (usual+here)/2 {
				seen++
			}
		}
		if seen < need || here-usual < standWidth || here < times*usual {
			continue
		}
		if loud && heap(all, from, from+window, usual/here) < standSure {
			continue
		}
		c := candidate{from + window/2, here - usual}
		if n := len(found); n > 0 && c.at-found[n-1].at < 2*window+beside {
			if c.share > found[n-1].share {
				found[n-1] = c
			}
			continue
		}
		found = append(found, c)
	}
	// The noise carries some of a stand out of the window; all of it is in a wider one.
	wide := math.Max(window, standAll*a.noiseGuess)
	for _, c := range found {
		for k := -2.0; wide > window && k <= 2; k++ { // the stand's middle is not known better
			from := c.at - wide/2 + k*window/4
			share := stat.Mean(standing(all, from, from+wide, len(ways)), nil)
			below := stat.Mean(standing(all, from-wide-beside, from-wide, len(ways)), nil)
			above := stat.Mean(standing(all, from+2*wide, from+2*wide+beside, len(ways)), nil)
			c.share = math.Max(c.share, share-math.Max(below, above)*wide/beside)
		}
		u, width := a.position(c.at), c.share*(1-a.leastU())
		a.out.Sweep.Plateaus = append(a.out.Sweep.Plateaus, Span{From: u - width/2, To: u + width/2})
	}
}

// passes lists the reports of all ways, by reading, the drift at rest taken off.
func (a *analysis) passes(ways []traverse) []pass {
	if len(ways) == 0 {
		return nil
	}
	drift := 0.0 // counts a second
	if d := a.out.Rest.DriftPerMinute; significant(d) {
		drift = d.Value / 60
	}
	start := ways[0].t[0]
	var all []pass
	for k, w := range ways {
		n := len(w.x)
		if n < 2 || w.x[n-1] == w.x[0] {
			continue
		}
		// The ends of a way are a little short of the stops.
		share := (math.Abs(w.x[n-1]-w.x[0]) / (a.high - a.low)) / float64(n-1)
		for i, x := range w.x {
			all = append(all, pass{x: x - drift*(w.t[i]-start), share: share, way: k})
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].x < all[j].x })
	return all
}

// heap is the evidence that the reports from ≤ x ≤ to are more than the pace
// beside would bring, which is an expected share of them: the logarithm of the
// likelihood ratio of two Poisson laws.
func heap(all []pass, from, to, expected float64) float64 {
	i := sort.Search(len(all), func(i int) bool { return all[i].x >= from })
	j := sort.Search(len(all), func(i int) bool { return all[i].x > to })
	return float64(j-i) * (expected - 1 - math.Log(expected))
}

// standing is the share of the throw that the control covers in each way while
// it reads from ≤ x ≤ to.
func standing(all []pass, from, to float64, ways int) []float64 {
	share := make([]float64, ways)
	i := sort.Search(len(all), func(i int) bool { return all[i].x >= from })
	for ; i < len(all) && all[i].x <= to; i++ {
		share[all[i].way] += all[i].share
	}
	return share
}

// jumps counts level changes that the motion does not explain.
func (a *analysis) jumps(ways []traverse) {
	if len(ways) == 0 {
		return
	}
	count := 0
	for _, w := range ways {
		count += a.jumpsIn(w)
	}
	sweeps := float64(len(ways)) / 2
	lo, hi := stats.PoissonInterval(count, sweeps, 0.95)
	a.out.Sweep.JumpsPerSweep = within(float64(count)/sweeps, lo, hi, unitPerSweep, len(ways),
		"changes between the medians of 6 reports each by more than 3 times the motion, 10 σ and 4 steps, per sweep there and back; n is the number of ways; Poisson interval")
}

func (a *analysis) jumpsIn(w traverse) int {
	n := len(w.x)
	if n < 6*sideOfAJump {
		return 0
	}
	motion := (w.x[n-1] - w.x[0]) / float64(n-1) * sideOfAJump
	least := math.Max(jumpSpeeds*math.Abs(motion), math.Max(jumpSigmas*a.noiseGuess, jumpSteps*a.step))
	count, last := 0, -sideOfAJump
	for i := sideOfAJump; i+sideOfAJump <= n; i++ {
		before := stats.Median(w.x[i-sideOfAJump : i])
		after := stats.Median(w.x[i : i+sideOfAJump])
		if math.Abs(after-before-motion) > least && i-last >= sideOfAJump {
			count++
			last = i
		}
	}
	return count
}
