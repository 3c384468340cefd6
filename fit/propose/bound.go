package propose

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/floats"
)

// bounded is the best that any shape can do for a demand under the limits.
type bounded struct {
	handSlope []float64 // g′ = du/dy in each cell of the demand's grid
	square    float64   // J/σ²: mean square slope of the response over demand
}

// limits bound the slope dy/dv of a shape.
type limits struct{ largest, smallest float64 }

// bestUnder solves for g′ cell by cell; see the package documentation.
// The limits hold 1 between them, so that a κ exists.
func bestUnder(d *Demand, lim limits) bounded {
	p := d.mid()
	root := antitonic(p)
	for i := range root {
		root[i] = math.Cbrt(root[i])
	}
	lo, hi := 1/lim.largest, math.Inf(1)
	if lim.smallest > 0 {
		hi = 1 / lim.smallest
	}
	n := len(root)
	upTo := make([]float64, n+1) // sums of the roots before each
	floats.CumSum(upTo[1:], root)
	// The roots do not rise, so that κ lifts the first ones to hi and leaves the
	// last ones at lo.
	filled := func(logK float64) float64 {
		kappa := math.Exp(logK)
		high := sort.Search(n, func(i int) bool { return kappa*root[i] < hi })
		low := sort.Search(n, func(i int) bool { return kappa*root[i] <= lo })
		sum := kappa*(upTo[low]-upTo[high]) + lo*float64(n-low)
		if high > 0 {
			sum += hi * float64(high)
		}
		return sum / float64(n)
	}
	kappa := math.Exp(risingRoot(func(logK float64) float64 { return filled(logK) - 1 }, -60, 60))
	g := make([]float64, n)
	for i, r := range root {
		g[i] = math.Min(math.Max(kappa*r, lo), hi)
	}
	b := bounded{handSlope: g}
	for i := range g {
		b.square += p[i] / (g[i] * g[i]) / float64(len(g))
	}
	return b
}

// nodes returns the points [v, y] of the curve through the cells' edges.
func (b bounded) nodes() [][2]float64 {
	n := len(b.handSlope)
	out := make([][2]float64, n+1)
	v := 0.0
	for i, g := range b.handSlope {
		v += g / float64(n)
		out[i+1] = [2]float64{v, float64(i+1) / float64(n)}
	}
	for i := range out {
		out[i][0] /= v // 1 but for rounding
	}
	out[n] = [2]float64{1, 1}
	return out
}

// boundFit is the best that any shape can do for the demand within reach. Its
// Shape is points on the demand's fine grid, Gain is 1 by definition, Jitter the
// RMS slope over demand.
func boundFit(d *Demand, r reach) Fit {
	b := bestUnder(d, r.shape)
	return Fit{
		Family: familyBound, Shape: mustPoints(b.nodes()), Gain: 1,
		CentreSlope: r.perThrow / b.handSlope[0],
		MaxSlope:    r.perThrow / b.handSlope[len(b.handSlope)-1],
		Jitter:      r.perThrow * math.Sqrt(b.square),
	}
}

// antitonic returns the non-rising sequence nearest to p in least squares, by
// pooling adjacent violators.
//
// Source: Ayer, Brunk, Ewing, Reid and Silverman, Annals of Mathematical
// Statistics 26 (1955) 641.
func antitonic(p []float64) []float64 {
	type block struct {
		mean float64
		n    int
	}
	var blocks []block
	for _, x := range p {
		b := block{x, 1}
		for len(blocks) > 0 && blocks[len(blocks)-1].mean < b.mean {
			last := blocks[len(blocks)-1]
			n := last.n + b.n
			b = block{(last.mean*float64(last.n) + b.mean*float64(b.n)) / float64(n), n}
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	out := make([]float64, 0, len(p))
	for _, b := range blocks {
		for range b.n {
			out = append(out, b.mean)
		}
	}
	return out
}

// risingRoot returns where the non-falling f crosses 0 on [lo,hi], by bisection
// to the last bit; the nearer end if it does not.
func risingRoot(f func(float64) float64, lo, hi float64) float64 {
	for {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			return hi
		}
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
}
