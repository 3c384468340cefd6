package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"halfstick/fit/stats"
)

// cell is how often one code was seen in one short block of time.
type cell struct {
	part    int
	t       float64 // seconds from the middle of the part
	code, n float64 // code in steps
	end     int     // −1 or 1: the lowest or highest code, which holds all beyond
}

// roundedLine is the model of a quiet axis at rest: a Gaussian of deviation σ
// about a line, one level a part and one slope for all, rounded to the step.
// Its likelihood is that of grouped data,
//
//	Σ n·log[Φ((c+½−μ)/σ) − Φ((c−½−μ)/σ)],   μ = level + slope·t,
//
// which, unlike a variance, is right for a σ far below the step, and takes
// drift for what it is: a mean that wanders from code to code.
type roundedLine struct {
	cells []cell
	parts int
	n     float64

	clipped bool // some reports are at an end of the scale
}

const (
	cellBlocks  = 60    // blocks of time in a part, and more where it drifts:
	mostBlocks  = 20000 // so many that
	blockDrift  = 0.02  // it moves by no more steps in one, as that would pass for noise
	leastLog    = -4.0  // log of the least σ looked at, in steps: 0.018
	mostLog     = 1.4   // 4 steps
	mostClipped = 3.8   // 45 steps, where the scale's ends hide a part
)

// newRoundedLine sorts reports into cells; slope is a guess, steps a second.
func newRoundedLine(parts []restPart, l lattice, slope float64) *roundedLine {
	m := &roundedLine{parts: len(parts)}
	for k, p := range parts {
		mid := (p.t[0] + p.t[len(p.t)-1]) / 2
		blocks := math.Min(mostBlocks, math.Max(cellBlocks, math.Abs(slope)*p.seconds()/blockDrift))
		length := math.Max(1e-3, p.seconds()/blocks)
		seen := map[[2]int]*cell{}
		var order [][2]int
		for i, t := range p.t {
			if !p.keep[i] {
				continue
			}
			b := int((t - p.t[0]) / length)
			key := [2]int{b, int(l.steps(p.x[i]))}
			c := seen[key]
			if c == nil {
				c = &cell{part: k, t: p.t[0] + (float64(b)+0.5)*length - mid, code: float64(key[1])}
				if p.x[i] == p.low {
					c.end = -1
				} else if p.x[i] == p.high {
					c.end = 1
				}
				m.clipped = m.clipped || c.end != 0
				seen[key] = c
				order = append(order, key)
			}
			c.n++
			m.n++
		}
		for _, key := range order {
			m.cells = append(m.cells, *seen[key])
		}
	}
	return m
}

// blockEdges are the codes' edges that one block has asked for: codes that lie side
// by side, as most do, have one in common.
type blockEdges struct {
	mean, sigma float64 // steps
	places      []float64
	edges       []stats.CodeEdge
}

// at is the edge at a place, in steps.
func (b *blockEdges) at(place float64) stats.CodeEdge {
	for i, p := range b.places {
		if p == place {
			return b.edges[i]
		}
	}
	e := stats.EdgeAt(place-b.mean, b.sigma)
	b.places, b.edges = append(b.places, place), append(b.edges, e)
	return e
}

// begin begins another block.
func (b *blockEdges) begin(mean float64) {
	b.mean, b.places, b.edges = mean, b.places[:0], b.edges[:0]
}

// chance is that of a cell's code, and its derivatives by the mean, in steps.
func (c cell) chance(block *blockEdges) (logP, by, byBy float64) {
	switch c.end {
	case -1:
		return stats.LowestCodeChance(block.at(c.code + 0.5))
	case 1:
		return stats.HighestCodeChance(block.at(c.code - 0.5))
	}
	return stats.CodeChance(block.at(c.code-0.5), block.at(c.code+0.5))
}

// profile maximises the likelihood over levels and slope for a given log σ, by
// Newton's method: the likelihood is log-concave in them. theta is the start
// and is overwritten by the maximum; slopeVar is the slope's variance there.
func (m *roundedLine) profile(logSigma float64, theta []float64) (logL, slopeVar float64) {
	sigma := math.Exp(logSigma)
	dim := m.parts + 1
	logL, grad, info := m.sums(sigma, theta)
	var chol mat.Cholesky
	for range 40 {
		var step mat.VecDense
		if !chol.Factorize(info) || chol.SolveVecTo(&step, grad) != nil {
			return logL, math.NaN()
		}
		scale, gained := 1.0, false
		for range 20 { // halve until it climbs
			next := make([]float64, dim)
			for i := range next {
				next[i] = theta[i] + scale*step.AtVec(i)
			}
			l, g, in := m.sums(sigma, next)
			if l >= logL {
				gained = l > logL+1e-7
				copy(theta, next)
				logL, grad, info = l, g, in
				break
			}
			scale /= 2
		}
		if !gained {
			break
		}
	}
	var inv mat.SymDense
	if chol.InverseTo(&inv) == nil {
		slopeVar = inv.At(dim-1, dim-1)
	}
	return logL, slopeVar
}

func (m *roundedLine) sums(sigma float64, theta []float64) (logL float64, grad *mat.VecDense, info *mat.SymDense) {
	dim := m.parts + 1
	grad, info = mat.NewVecDense(dim, nil), mat.NewSymDense(dim, nil)
	block := &blockEdges{mean: math.NaN(), sigma: sigma}
	for _, c := range m.cells {
		if mean := theta[c.part] + theta[dim-1]*c.t; mean != block.mean {
			block.begin(mean)
		}
		l, by, byBy := c.chance(block)
		logL += c.n * l
		grad.SetVec(c.part, grad.AtVec(c.part)+c.n*by)
		grad.SetVec(dim-1, grad.AtVec(dim-1)+c.n*by*c.t)
		w := -c.n * byBy
		info.SetSym(c.part, c.part, info.At(c.part, c.part)+w)
		info.SetSym(c.part, dim-1, info.At(c.part, dim-1)+w*c.t)
		info.SetSym(dim-1, dim-1, info.At(dim-1, dim-1)+w*c.t*c.t)
	}
	// A level that nothing holds, as of a short part between two codes' edges, must
	// not stop the others, nor make the matrix so uneven that it is not solved.
	largest := 0.0
	for i := range dim {
		largest = math.Max(largest, info.At(i, i))
	}
	for i := range dim {
		info.SetSym(i, i, info.At(i, i)+1e-9+1e-13*largest)
	}
	return logL, grad, info
}

// roundedResult is σ and slope in steps and steps per second, with 95 %
// likelihood intervals; slopeLow…slopeHigh are NaN where the slope is loose.
type roundedResult struct {
	sigma, low, high           float64
	slope, slopeLow, slopeHigh float64
}

// fit maximises the profile over σ and bounds it, as if the data were worth so
// many independent reports only: forMean for the slope, forSigma for σ.
func (m *roundedLine) fit(slope, forMean, forSigma float64) roundedResult {
	theta := make([]float64, m.parts+1)
	count := make([]float64, m.parts)
	for _, c := range m.cells {
		theta[c.part] += c.n * c.code
		count[c.part] += c.n
	}
	for k := range count {
		theta[k] /= math.Max(1, count[k])
	}
	theta[m.parts] = slope
	start := append([]float64(nil), theta...)
	at := func(s float64) float64 {
		th := append([]float64(nil), start...)
		l, _ := m.profile(s, th)
		return l
	}
	most, grid := mostLog, 19
	if m.clipped {
		most, grid = mostClipped, 27
	}
	width := (most - leastLog) / float64(grid-1)
	best, top := most, math.Inf(-1)
	for i := range grid { // coarse, from above: a start that never is far out
		s := most - width*float64(i)
		l, _ := m.profile(s, theta)
		if l > top {
			best, top = s, l
			copy(start, theta)
		}
	}
	a, b := best-width, best+width
	const golden = 0.6180339887498949
	for b-a > 1e-3 {
		x, y := b-golden*(b-a), a+golden*(b-a)
		if at(x) > at(y) {
			b = y
		} else {
			a = x
		}
	}
	best = math.Max(leastLog, (a+b)/2)
	copy(theta, start)
	top, slopeVar := m.profile(best, theta)
	r := roundedResult{sigma: math.Exp(best), slope: theta[m.parts]}
	worth := math.Min(1, forSigma/m.n)
	drop := 1.9207 / worth // half the 95 % point of chi-squared with 1 degree
	edge := func(outer float64) float64 {
		inner := best
		if top-at(outer) < drop {
			return outer
		}
		for math.Abs(outer-inner) > 1e-3 {
			mid := (outer + inner) / 2
			if top-at(mid) < drop {
				inner = mid
			} else {
				outer = mid
			}
		}
		return inner
	}
	if low := edge(leastLog); low > leastLog {
		r.low = math.Exp(low)
	}
	r.high = math.Exp(edge(most))
	half := 1.96 * math.Sqrt(slopeVar/math.Min(1, forMean/m.n))
	r.slopeLow, r.slopeHigh = r.slope-half, r.slope+half
	return r
}
