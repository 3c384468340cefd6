package curves

import (
	"math"
	"sort"
)

// bestKnots divides pieces among the shapes and returns, for each, the inner
// knots v at which straight lines between points of the curve err least at
// most. Every shape gets one piece at least; len(shapes) ≤ pieces.
func bestKnots(shapes []Shape, pieces int) [][]float64 {
	// Precise enough to share the pieces out; each shape is then done finely.
	common := leastTolerance(shapes, pieces, 1e-6)
	counts := make([]int, len(shapes))
	left := pieces
	for i, s := range shapes {
		counts[i] = len(greedyKnots(s, 0, common, pieces)) + 1
		left -= counts[i]
	}
	knots := make([][]float64, len(shapes))
	for i, s := range shapes {
		// The shape that does not set the common tolerance can do better yet.
		one := []Shape{s}
		knots[i] = greedyKnots(s, 0, leastTolerance(one, counts[i], 1e-10), counts[i])
	}
	return knots
}

// negligible is an error in y below which a line is the curve.
const negligible = 1e-12

// leastTolerance returns the least error that pieces straight lines over all
// the shapes together can keep, to a relative precision and never below it.
func leastTolerance(shapes []Shape, pieces int, precision float64) float64 {
	enough := func(tolerance float64) bool {
		n := 0
		for _, s := range shapes {
			n += len(greedyKnots(s, 0, tolerance, pieces)) + 1
		}
		return n <= pieces
	}
	lo, hi := 0.0, negligible
	for _, s := range shapes {
		hi = max(hi, chordError(s, 0, 1))
	}
	for hi-lo > precision*hi {
		mid := (lo + hi) / 2
		if enough(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// greedyKnots goes along the shape with each line as long as the tolerance
// allows and returns the knots between them; it stops after most knots.
func greedyKnots(s Shape, from, tolerance float64, most int) []float64 {
	tolerance = max(tolerance, negligible)
	var knots []float64
	for len(knots) < most {
		over := func(to float64) float64 { return chordError(s, from, to) - tolerance }
		if over(1) <= 0 {
			break
		}
		from = crossing(over, from, 1, 1e-13)
		knots = append(knots, from)
	}
	return knots
}

// chordError is the largest |shape − chord| on [a,b].
func chordError(s Shape, a, b float64) float64 {
	if b <= a {
		return 0
	}
	ya, slope := s.At(a), (s.At(b)-s.At(a))/(b-a)
	worst := 0.0
	for _, v := range stationary(s, slope, a, b) {
		worst = max(worst, math.Abs(s.At(v)-ya-slope*(v-a)))
	}
	return worst
}

// stationary returns positions of [a,b] among which is the one where the shape
// is farthest from any line of the given slope, except for a and b themselves:
// the turns of the shape, and where its slope is that of the line.
func stationary(s Shape, slope, a, b float64) []float64 {
	var found []float64
	from := a
	piece := func(to float64) {
		if v, ok := whereSlopeIs(s, slope, from, to); ok {
			found = append(found, v)
		}
		from = to
	}
	turns := turnsOf(s)
	for i := sort.SearchFloat64s(turns, a); i < len(turns) && turns[i] < b; i++ {
		if turns[i] > a {
			piece(turns[i])
			found = append(found, turns[i])
		}
	}
	piece(b)
	return found
}

// whereSlopeIs finds the position in [lo,hi], where the shape's slope only
// rises or only falls, at which it is slope; none if it is not.
func whereSlopeIs(s Shape, slope, lo, hi float64) (float64, bool) {
	first, last := s.Slope(lo), s.Slope(hi)
	if slope <= min(first, last) || slope >= max(first, last) {
		return 0, false
	}
	// The error is flat there, so that half the digits are enough.
	return crossing(func(v float64) float64 { return s.Slope(v) - slope }, lo, hi, 1e-9*hi), true
}

// foreignTurns is the grid on which a shape is looked at that does not tell its
// turns.
var foreignTurns = func() []float64 {
	turns := make([]float64, 257)
	for i := range turns {
		turns[i] = float64(i) / 256
	}
	return turns
}()

func turnsOf(s Shape) []float64 {
	if t, ok := s.(turner); ok {
		return t.turns()
	}
	return foreignTurns
}
