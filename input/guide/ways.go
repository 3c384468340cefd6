package guide

import (
	"math"
	"slices"
)

// Choices that tell what a hand does; common practice, no source.
const (
	endShare   = 0.02 // of the travel: so near to an end is the end
	turnShare  = 0.06 // of the travel: going back so far is a turn
	smallShare = 0.2  // of the travel: a shorter way is a wobble
	leastWay   = 1.5  // seconds: faster is a throw, not a sweep
)

// way is a movement from one turn to the next.
type way struct {
	share   float64 // of the travel
	seconds float64 // between the two ends' zones
	whole   bool    // from one end to the other
	broken  bool    // the machine stood still between the ends' zones
}

func (w way) counts() bool { return w.whole && !w.broken && w.seconds >= leastWay }

// waysOf cuts levels, one a tile, into ways of a travel from low to high. Of the
// broken ones nobody knows what they were.
func waysOf(x []float64, broken []int, low, high float64) []way {
	span := high - low
	if span <= 0 {
		return nil
	}
	zone := endShare * span
	if len(x) > 1 {
		zone += 3 * math.Min(unrest(x), 0.005*span)
	}
	end := func(v float64) int {
		switch {
		case v <= low+zone:
			return -1
		case v >= high-zone:
			return 1
		}
		return 0
	}
	turns := turnsOf(x, turnShare*span, func(v float64) bool { return end(v) != 0 })
	var out []way
	for i := 1; i < len(turns); i++ {
		a, b := turns[i-1], turns[i]
		w := way{share: math.Abs(x[b]-x[a]) / span, whole: end(x[a])*end(x[b]) < 0}
		if w.share < smallShare {
			continue
		}
		from, to := a, b
		for w.whole && from < b && end(x[from]) == end(x[a]) {
			from++
		}
		for w.whole && to > from && end(x[to]) == end(x[b]) {
			to--
		}
		w.seconds = float64(to-from+2) * tile
		w.broken = slices.ContainsFunc(broken, func(k int) bool { return from <= k && k <= to })
		out = append(out, w)
	}
	return out
}

// turnsOf lists where x turns: the farthest places from which it goes back by
// more than back. The first and the last place count where they are an end.
func turnsOf(x []float64, back float64, isEnd func(float64) bool) []int {
	var turns []int
	if len(x) == 0 {
		return nil
	}
	lowest, highest, rising := 0, 0, 0
	for i, v := range x {
		if v < x[lowest] {
			lowest = i
		}
		if v > x[highest] {
			highest = i
		}
		switch {
		case rising >= 0 && x[highest]-v > back:
			if rising > 0 || isEnd(x[highest]) {
				turns = append(turns, highest)
			}
			rising, lowest = -1, i
			highest = i
		case rising <= 0 && v-x[lowest] > back:
			if rising < 0 || isEnd(x[lowest]) {
				turns = append(turns, lowest)
			}
			rising, highest = 1, i
			lowest = i
		}
	}
	switch {
	case rising > 0 && isEnd(x[highest]):
		turns = append(turns, highest)
	case rising < 0 && isEnd(x[lowest]):
		turns = append(turns, lowest)
	}
	return turns
}
