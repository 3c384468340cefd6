package propose

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
	"halfstick/curves"
)

const (
	enoughGain   = 0.97 // share of the possible gain that points are asked to reach
	slopeFalls   = 1e-3 // a fall of the slope dy/dv that no hand can feel
	searchMargin = 3e-4 // the search keeps this share away from the limits
	leastWidth   = 0.01 // between two points, of the shaped throw
	leastRise    = 1e-4 // of ln(slope) from piece to piece, where the search starts
	searchTries  = 800  // curves looked at for one number of points
)

// pieceCounts are the numbers of pieces that are tried, fewest first, and
// evenShares how evenly their points are then spread.
var (
	pieceCounts = []int{3, 4, 5, 6, 8, 10, 14, 20, 28}
	evenShares  = []float64{0.5, 0.2, 1, 0}
)

// points returns the monotone cubic through the fewest points that reach 97 %
// of the possible gain, or the one that gains most of those with up to 29.
// Smooth falling demands get there with 4 to 6 points where the limits hardly
// matter; a demand in steps has a bound with sharp bends that no smooth curve
// follows all the way.
func (f *fitter) points() Fit {
	best := f.describe(familyPoints, 2, mustPoints([][2]float64{{0, 0}, {1, 1}}))
	if f.gain(f.bound.square) == 0 {
		return best
	}
	target := mustPoints(f.bound.nodes())
	for _, pieces := range pieceCounts {
		for _, even := range evenShares {
			s := f.pointsAt(f.place(pieces, even), target)
			if !f.keepsLimits(s) {
				continue
			}
			if fit := f.describe(familyPoints, float64(pieces+1), s); fit.Gain > best.Gain {
				best = fit
			}
			if best.Gain >= enoughGain {
				return best
			}
		}
	}
	return best
}

// place spreads points over [0,1]: even is the share of the throw and 1−even
// the share of the bound's rise of ln(slope) by which equal steps are counted.
func (f *fitter) place(pieces int, even float64) []float64 {
	g := f.bound.handSlope
	n := float64(len(g))
	rise := math.Log(g[0] / g[len(g)-1])
	v := make([]float64, pieces+1)
	next, counted, at := 1, 0.0, 0.0
	for i := range g {
		counted += even * g[i] / n
		if i > 0 && rise > 0 {
			counted += (1 - even) * math.Log(g[i-1]/g[i]) / rise
		}
		for next < pieces && counted >= float64(next)/float64(pieces) {
			v[next] = at
			next++
		}
		at += g[i] / n
	}
	for ; next < pieces; next++ {
		v[next] = 1
	}
	v[pieces] = 1
	for i := 1; i < pieces; i++ {
		v[i] = math.Max(v[i], v[i-1]+leastWidth)
	}
	for i := pieces - 1; i > 0; i-- {
		v[i] = scalar.Round(math.Min(v[i], v[i+1]-leastWidth), 4)
	}
	return v
}

// pointsAt searches for the best curve through points at the positions v,
// starting near the target.
func (f *fitter) pointsAt(v []float64, target *curves.Points) *curves.Points {
	x := rises(v, target)
	descend(func(x []float64) float64 { return f.penalised(risingPoints(v, x)) }, x, 0.4, 0.02)
	return risingPoints(v, x)
}

// rises describes a curve by what pointsAt searches over: the logarithms of the
// increments of ln(secant) from piece to piece.
//
// A cubic piece of secant b between neighbours of secants a and c has a slope
// that does not fall if c/b−1 lies between a half and twice b/a−1, to first
// order in these, for the derivatives of Fritsch and Butland. So the target's
// increments are raised to the least that keep such ratios, then shrunk
// together to the target's own range of slopes.
func rises(v []float64, target *curves.Points) []float64 {
	secant := func(k int) float64 { return (target.At(v[k+1]) - target.At(v[k])) / (v[k+1] - v[k]) }
	e := make([]float64, len(v)-2)
	for i := range e {
		e[i] = math.Max(leastRise, math.Log(secant(i+1)/secant(i)))
	}
	total := floats.Sum(e)
	const ratio = 1.95
	for i := 1; i < len(e); i++ {
		e[i] = math.Max(e[i], e[i-1]/ratio)
	}
	for i := len(e) - 2; i >= 0; i-- {
		e[i] = math.Max(e[i], e[i+1]/ratio)
	}
	floats.Scale(total/floats.Sum(e), e)
	for i := range e {
		e[i] = math.Log(e[i])
	}
	return e
}

// risingPoints is the inverse of rises: the curve through points at v whose
// secants grow by the given increments, to six decimals.
func risingPoints(v, rises []float64) *curves.Points {
	secants := make([]float64, len(v)-1)
	logSlope, full := 0.0, 0.0
	for i := range secants {
		if i > 0 {
			logSlope = math.Min(logSlope+math.Exp(math.Min(rises[i-1], 1)), 40)
		}
		secants[i] = math.Exp(logSlope)
		full += secants[i] * (v[i+1] - v[i])
	}
	nodes := make([][2]float64, len(v))
	y := 0.0
	for i, s := range secants {
		y += s * (v[i+1] - v[i]) / full
		nodes[i+1] = [2]float64{v[i+1], math.Min(1, scalar.Round(y, 6))}
	}
	nodes[len(v)-1] = [2]float64{1, 1}
	return mustPoints(nodes)
}

// mustPoints is for nodes that rise by construction.
func mustPoints(nodes [][2]float64) *curves.Points {
	s, err := curves.NewPoints(nodes)
	if err != nil {
		panic("propose: points that should rise do not: " + err.Error())
	}
	return s
}

// descend moves x to a lower f, one coordinate at a time by ±step, halving the
// step where none helps until it is below least.
//
// Source: Hooke and Jeeves, Journal of the ACM 8 (1961) 212, without the
// pattern moves.
func descend(f func([]float64) float64, x []float64, step, least float64) {
	best := f(x)
	for tries := 0; step >= least && tries < searchTries; {
		helped := false
		for i := range x {
			for _, by := range []float64{step, -step} {
				was := x[i]
				x[i] += by
				tries++
				if y := f(x); y < best {
					best, helped = y, true
					break
				}
				x[i] = was
			}
		}
		if !helped {
			step /= 2
		}
	}
}

// penalised returns J/σ² on a coarse grid, more where a limit is broken.
func (f *fitter) penalised(s curves.Shape) float64 {
	const steps = 240
	lim := f.reach.shape
	square, broken, before := 0.0, 0.0, s.Slope(0)
	for i := range steps {
		v := (float64(i) + 0.5) / steps
		slope := s.Slope(v)
		square += f.demand.At(s.At(v)) * slope * slope * slope
		broken += math.Max(0, before-slope)
		before = slope
	}
	broken += math.Max(0, s.Slope(1)-lim.largest*(1-searchMargin))
	broken += math.Max(0, lim.smallest*(1+searchMargin)-s.Slope(0))
	return square / steps * (1 + 10*broken)
}

// keepsLimits reports whether slopes lie within the limits and never fall.
func (f *fitter) keepsLimits(s curves.Shape) bool {
	const slack = 1e-9
	highest := s.Slope(0)
	for i := range 4*cells + 1 {
		slope := s.Slope(float64(i) / (4 * cells))
		if slope < highest-slopeFalls || slope > f.reach.shape.largest+slack || slope < f.reach.shape.smallest-slack {
			return false
		}
		highest = math.Max(highest, slope)
	}
	return true
}
