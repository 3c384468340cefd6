package propose

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
	"halfstick/curves"
)

const (
	enoughGain   = 0.97  // share of the possible gain that points are asked to reach
	slopeFalls   = 1e-3  // a fall of the slope dy/dv that no hand can feel
	searchMargin = 3e-4  // the search keeps this share away from the limits
	leastWidth   = 0.005 // between two points, of the shaped throw
	leastRise    = 1e-4  // of ln(slope) from piece to piece, where the search starts
	bendCells    = 250   // of the shaped throw, in which the bound's bends are counted
	evenly       = 0.3   // points in proportion to the throw, against those by bends
	searched     = 2     // starts from which the search goes on, for one number of points
)

var (
	// pieceCounts are the numbers of pieces that are tried, fewest first.
	pieceCounts = []int{3, 4, 5, 6, 8, 10, 13, 17, 23, 32, 48}
	// softenings are by how much the bound's bends are rounded off to start
	// with, in mean widths of a piece.
	softenings = []float64{1, 0.3, 0.1}
)

// points returns the monotone cubic through the fewest points that reach 97 %
// of the possible gain, or the one that gains most of those with up to 49. A
// smooth falling demand gets there with 4 to 7 points under the usual limits; one
// with humps or steps has a bound with sharp bends, which take about ten points
// each.
func (f *fitter) points() Fit {
	best := f.describe(familyPoints, 2, mustPoints([][2]float64{{0, 0}, {1, 1}}))
	if f.gain(f.bound.square) == 0 {
		return best
	}
	bends := f.bends()
	for _, pieces := range pieceCounts {
		w := newPointSearch(f, pieces)
		var starts [][]float64
		for _, s := range softenings {
			starts = append(starts, w.start(softened(bends, s/float64(pieces))))
		}
		slices.SortFunc(starts, func(a, b []float64) int {
			if w.cost(a) < w.cost(b) {
				return -1
			}
			return 1
		})
		for _, x := range starts[:searched] {
			x = w.search(x)
			w.lower(x)
			s := w.shape(x)
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

// bends returns by how much ln(slope) of the bound rises in each of bendCells
// equal cells of the shaped throw.
func (f *fitter) bends() []float64 {
	g := f.bound.handSlope
	out := make([]float64, bendCells)
	v := g[0] / float64(len(g))
	for i := 1; i < len(g); i++ {
		out[min(int(v*bendCells), bendCells-1)] += math.Log(g[i-1] / g[i])
		v += g[i] / float64(len(g))
	}
	return out
}

// softened spreads each bend over (1 + |distance|/width)^−2, reflected at both
// ends, the sum kept. Half of a bend lies within a width, and points can follow
// the rest with pieces in proportion to the distance: between two pieces the
// rises of ln(slope) may no more than double (see rising).
func softened(bends []float64, width float64) []float64 {
	n := len(bends)
	kernel := make([]float64, 2*n)
	for i := range kernel {
		kernel[i] = math.Pow(1+float64(i)/float64(n)/width, -2)
	}
	out := make([]float64, n)
	for j, bend := range bends {
		if bend == 0 {
			continue
		}
		for i := range out {
			out[i] += bend * (kernel[max(i-j, j-i)] + kernel[i+j+1] + kernel[2*n-1-i-j])
		}
	}
	floats.Scale(floats.Sum(bends)/floats.Sum(out), out)
	return out
}

// start returns the parameters of a curve that has the given bends about, with
// its points spread by the root of their density, and keeps the limits.
func (w *pointSearch) start(bends []float64) []float64 {
	n := len(bends)
	y := make([]float64, n+1)       // command, up to a factor
	density := make([]float64, n+1) // of points, summed up
	logSlope := 0.0
	for i, b := range bends {
		y[i+1] = y[i] + math.Exp(logSlope+b/2)
		density[i+1] = density[i] + math.Sqrt(b*float64(n)) + evenly
		logSlope += b
	}
	v := make([]float64, w.pieces+1)
	for i := range v {
		v[i] = inverseOf(density, density[n]*float64(i)/float64(w.pieces))
	}
	const apart = 1.1 * leastWidth
	for i := 1; i < w.pieces; i++ {
		v[i] = math.Max(v[i], v[i-1]+apart)
	}
	for i := w.pieces - 1; i > 0; i-- {
		v[i] = math.Min(v[i], v[i+1]-apart)
	}
	secant := make([]float64, w.pieces)
	for i := range secant {
		secant[i] = (between(y, v[i+1]) - between(y, v[i])) / (v[i+1] - v[i])
	}
	x := make([]float64, 2*(w.pieces-1))
	last := v[w.pieces] - v[w.pieces-1] - leastWidth
	for i := range w.pieces - 1 {
		x[i] = math.Log((v[i+1] - v[i] - leastWidth) / last)
	}
	rises := x[w.pieces-1:]
	for i, e := range rising(secant) {
		rises[i] = math.Log(e)
	}
	w.lower(x)
	return x
}

// between returns the value at v of [0,1] of the line through values on an even
// grid, and inverseOf where rising values reach one.
func between(values []float64, v float64) float64 {
	n := len(values) - 1
	i := min(int(v*float64(n)), n-1)
	return values[i] + (v*float64(n)-float64(i))*(values[i+1]-values[i])
}

func inverseOf(values []float64, value float64) float64 {
	n := len(values) - 1
	i := min(max(sort.SearchFloat64s(values, value), 1), n)
	return (float64(i-1) + (value-values[i-1])/(values[i]-values[i-1])) / float64(n)
}

// rising returns the rises of ln(secant) from piece to piece, made such that the
// slope never falls. A cubic piece of secant b between neighbours of secants a
// and c has a slope that does not fall if c/b−1 lies between a half and twice
// b/a−1, to first order in these and for pieces of like width, by the
// derivatives of Fritsch and Butland. So the rises are raised to the least that
// keep such ratios, then shrunk together to their sum before.
func rising(secant []float64) []float64 {
	e := make([]float64, len(secant)-1)
	for i := range e {
		e[i] = math.Max(leastRise, math.Log(secant[i+1]/secant[i]))
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
	return e
}

// lower makes all rises smaller by one factor until the limits are kept.
func (w *pointSearch) lower(x []float64) {
	rises := x[w.pieces-1:]
	from := slices.Clone(rises)
	over := func(logFactor float64) float64 {
		for i := range rises {
			rises[i] = from[i] + logFactor
		}
		w.lay(x)
		return math.Max(w.slope[w.pieces]-w.most, w.least-w.slope[0])
	}
	if over(0) > 0 {
		over(risingRoot(over, -20, 0) - 1e-6)
	}
}

// shape is the curve of the parameters, its positions to five decimals, its
// commands to six.
func (w *pointSearch) shape(x []float64) *curves.Points {
	w.lay(x)
	nodes := make([][2]float64, w.pieces+1)
	v := 0.0
	for i := range w.pieces {
		v += w.width[i]
		nodes[i+1] = [2]float64{scalar.Round(v, 5), math.Min(1, scalar.Round(w.y[i+1], 6))}
	}
	nodes[w.pieces] = [2]float64{1, 1}
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
