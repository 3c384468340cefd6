package curves

import (
	"math"
	"slices"
)

// The search of one side is bounded: from three decimals of a percent on,
// rounding adds less than 0.0005 % to any error, and with hundreds of points
// there are too many pieces to look at.
const (
	finestSearched = 10_000    // steps of the lattice to full throw
	mostPieces     = 1_000_000 // looked at
)

// lineError is the largest |side − line| between the lattice positions a < b,
// for the line through the rounded commands there.
func (s latticeSide) lineError(a, b int) float64 {
	ua, ub := s.at(a), s.at(b)
	ya := s.at(s.commandAt(a))
	slope := (s.at(s.commandAt(b)) - ya) / (ub - ua)
	off := func(u float64) float64 { return math.Abs(s.command(u) - ya - slope*(u-ua)) }
	worst := max(off(ua), off(ub))
	s.candidates(slope, ua, ub, func(u float64) {
		if u > ua && u < ub {
			worst = max(worst, off(u))
		}
	})
	return worst
}

// at is a number of the table: a whole multiple of the lattice's step.
func (s latticeSide) at(a int) float64 { return float64(a) / float64(s.scale) }

// largestLineError is that of the lines through all positions of a path.
func (s latticeSide) largestLineError(path []int) float64 {
	worst := 0.0
	for i := 1; i < len(path); i++ {
		worst = max(worst, s.lineError(path[i-1], path[i]))
	}
	return worst
}

// bestPath returns the lattice positions, corners included, of so many pieces
// over the shaped stretch whose lines through the rounded numbers err least at
// most. A path that errs less than one already known has a window of positions
// for each knot; within the windows all paths are compared (dynamic programming
// over the knots).
func (s latticeSide) bestPath(pieces int) (path []int, err float64) {
	path = s.onCurve(pieces)
	err = s.largestLineError(path)
	pieces = len(path) - 1 // more would not help
	if pieces < 2 || err <= negligible || s.scale > finestSearched {
		return path, err
	}
	lo, hi := s.windows(pieces, err)
	steps := 0
	for i := range lo {
		steps += (hi[i] - lo[i] + 1) * (hi[max(i-1, 0)] - lo[max(i-1, 0)] + 1)
	}
	if steps > mostPieces {
		return path, err
	}
	if better, e := s.throughWindows(lo, hi, err); better != nil {
		return better, e
	}
	return path, err
}

// onCurve is the path at the knots that are best before rounding, moved apart
// where they fall together on the lattice; the stretch has a step for each piece.
func (s latticeSide) onCurve(pieces int) []int {
	one := []Shape{s.shape}
	knots := greedyKnots(s.shape, 0, leastTolerance(one, pieces, 1e-10), pieces)
	path := []int{s.dead}
	for i, v := range knots {
		a := int(math.Round((s.side.dead + v*(s.side.full-s.side.dead)) * float64(s.scale)))
		a = min(max(a, path[i]+1), s.full-(len(knots)-i))
		path = append(path, a)
	}
	return append(path, s.full)
}

// windows gives the first and the last position that each knot of a path of so
// many pieces may have, both corners included, if the path errs by less than
// err. A line through rounded commands lies no farther from the chord of the
// curve than its ends do: half a step, and at the corners, which the lattice
// moves inward, as far as the curve has come there. So no chord errs by more than
// err and that, and the windows reach as far as greedy chords that keep to it
// come from either corner.
func (s latticeSide) windows(pieces int, err float64) (lo, hi []int) {
	first, last := s.at(s.dead), s.at(s.full)
	width := s.side.full - s.side.dead
	inner := err + 0.5/float64(s.scale)
	forth := farthestKnots(s.shape, max(0, (first-s.side.dead)/width), max(inner, err+s.command(first)), inner, pieces)
	back := farthestKnots(reversed{s.shape}, max(0, (s.side.full-last)/width), max(inner, err+1-s.command(last)), inner, pieces)
	lo, hi = make([]int, pieces+1), make([]int, pieces+1)
	lattice := func(v float64) float64 { return (s.side.dead + v*width) * float64(s.scale) }
	for i := range lo {
		lo[i], hi[i] = s.dead+i, s.full-(pieces-i)
		if i > 0 && i-1 < len(forth) {
			hi[i] = min(hi[i], int(math.Floor(lattice(forth[i-1])))+1)
		}
		if k := pieces - i - 1; k >= 0 && k < len(back) {
			lo[i] = max(lo[i], int(math.Ceil(lattice(1-back[k])))-1)
		}
	}
	lo[0], hi[0], lo[pieces], hi[pieces] = s.dead, s.dead, s.full, s.full
	return lo, hi
}

// farthestKnots are those of greedy chords from a corner on, of which the first
// and the others may err so much.
func farthestKnots(s Shape, from, first, others float64, pieces int) []float64 {
	knots := greedyKnots(s, from, first, 1)
	if len(knots) == 0 {
		return nil
	}
	return append(knots, greedyKnots(s, knots[0], others, pieces-1)...)
}

// throughWindows returns the path that errs least, if that is less than most.
func (s latticeSide) throughWindows(lo, hi []int, most float64) (path []int, err float64) {
	pieces := len(lo) - 1
	low := slices.Min(lo)
	y := make([]float64, s.full-low+1) // rounded commands
	exact := make([]float64, len(y))
	for i := range y {
		y[i], exact[i] = s.at(s.commandAt(low+i)), s.command(s.at(low+i))
	}
	// middle is the line's error at one position near its middle: a lower bound.
	middle := func(a, b int) float64 {
		m := (a + b) / 2
		line := y[a-low] + (y[b-low]-y[a-low])*float64(m-a)/float64(b-a)
		return math.Abs(exact[m-low] - line)
	}
	from := make([][]int, pieces+1)
	before := []float64{0}
	for i := 1; i <= pieces; i++ {
		errs := make([]float64, max(0, hi[i]-lo[i]+1))
		from[i] = make([]int, len(errs))
		for k := range errs {
			b := lo[i] + k
			errs[k] = most
			// Short pieces first: they err less.
			for a := min(hi[i-1], b-1); a >= lo[i-1]; a-- {
				if e := before[a-lo[i-1]]; e < errs[k] && middle(a, b) < errs[k] {
					if e = max(e, s.lineError(a, b)); e < errs[k] {
						errs[k], from[i][k] = e, a
					}
				}
			}
		}
		before = errs
	}
	if len(before) == 0 || before[0] >= most {
		return nil, most
	}
	path = make([]int, pieces+1)
	path[pieces] = s.full
	for i := pieces; i > 0; i-- {
		path[i-1] = from[i][path[i]-lo[i]]
	}
	return path, before[0]
}

// reversed is a shape looked at from its other end.
type reversed struct{ Shape }

func (r reversed) At(v float64) float64    { return 1 - r.Shape.At(1-v) }
func (r reversed) Slope(v float64) float64 { return r.Shape.Slope(1 - v) }

func (r reversed) turns() []float64 {
	turns := slices.Clone(turnsOf(r.Shape))
	slices.Reverse(turns)
	for i := range turns {
		turns[i] = 1 - turns[i]
	}
	return turns
}

// bestPaths shares so many pieces out among the sides: as the curves ask for,
// then, as rounding may upset that, piece by piece from a side that can spare
// one to the side that errs most.
func bestPaths(sides []latticeSide, pieces int) [][]int {
	shapes := make([]Shape, len(sides))
	for i, s := range sides {
		shapes[i] = s.shape
	}
	counts := make([]int, len(sides))
	paths, errs := make([][]int, len(sides)), make([]float64, len(sides))
	for i, knots := range bestKnots(shapes, pieces) {
		counts[i] = min(len(knots)+1, sides[i].full-sides[i].dead)
		paths[i], errs[i] = sides[i].bestPath(counts[i])
	}
	if len(sides) == 1 {
		return paths
	}
	spare := pieces - counts[0] - counts[1]
	for {
		worst := 0
		if errs[1] > errs[0] {
			worst = 1
		}
		other := 1 - worst
		more, less := counts[worst]+1, counts[other]
		if spare == 0 {
			less--
		}
		if less < 1 || more > sides[worst].full-sides[worst].dead {
			return paths
		}
		path, err := sides[worst].bestPath(more)
		if err >= errs[worst] {
			return paths
		}
		if spare > 0 {
			spare--
		} else {
			p, e := sides[other].bestPath(less)
			if e >= errs[worst] {
				return paths
			}
			paths[other], errs[other], counts[other] = p, e, less
		}
		paths[worst], errs[worst], counts[worst] = path, err, more
	}
}
