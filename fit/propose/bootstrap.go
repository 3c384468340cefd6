package propose

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
	"halfstick/curves"
	"halfstick/fit/stats"
)

const (
	// blockSeconds is the mean length of a bootstrap block: longer than a
	// correction, a turn's entry or a flare takes, so that blocks hardly depend
	// on each other (a choice; no source).
	blockSeconds = 30.0
	leastBlocks  = 10 // fewer give no interval
	resamples    = 400
	level        = 0.95 // of the interval
	parameters   = 33   // of a family, looked at for every resample
	finePerCell  = 5    // cells of the demand's grid that the resampling takes as one
)

// Interval is where a parameter lies by the flight's own variability: the
// middle 95 % of the parameters that resampled flight gives. The weight of the
// flight against the default demand is held.
type Interval struct {
	Low          float64 `json:"low"`
	High         float64 `json:"high"`
	Level        float64 `json:"level"`
	Minutes      float64 `json:"minutes"` // of flight it comes from
	BlockSeconds float64 `json:"block_s"` // mean length of a resampled block
}

// addIntervals gives power and blend the interval of their parameters, if
// enough was flown. fallback is the demand that f's was mixed with.
//
// The seconds of flight are resampled in blocks of random length
// with the ends joined: the stationary bootstrap of Politis and Romano, Journal
// of the American Statistical Association 89 (1994) 1303, after Künsch, Annals
// of Statistics 17 (1989) 1217. J is linear in the demand, so every second has
// its share of J for each parameter, and a resample's J is a sum of shares. J
// needs no smooth density: the commands are smoothed by no more than
// leastBandwidth, so that the interval is not shifted by the smoothing.
func addIntervals(fits []Fit, f *fitter, seconds []flownSecond, fallback Demand) {
	if f.demand.Source != "flight" || float64(len(seconds)) < leastBlocks*blockSeconds {
		return
	}
	drawn := drawBlocks(len(seconds))
	upTo := newRunning(len(seconds), parameters) // of one family after the other
	for i := range fits {
		var shape func(float64) curves.Shape
		var lo, top float64
		switch fits[i].Family {
		case familyPower:
			shape, lo, top = powerOf, 1, f.largestExponent()
		case familyBlend:
			shape, lo, top = blendOf, 0, f.largestShare()
		}
		if !(top > lo) {
			continue
		}
		grid := floats.Span(make([]float64, parameters), lo, top)
		s := newShares(f, grid, shape, leastBandwidth, fallback.P)
		s.run(upTo, seconds)
		low, high := s.interval(upTo, drawn, grid)
		fits[i].Interval = &Interval{Low: low, High: high, Level: level, Minutes: f.demand.Minutes, BlockSeconds: blockSeconds}
	}
}

// shares are what a demand adds to J for each of a grid of parameters.
type shares struct {
	fallback []float64   // of the default demand
	cell     [][]float64 // of all flight in one of finePerCell cells
}

func newShares(f *fitter, grid []float64, shape func(float64) curves.Shape, h float64, fallback []float64) shares {
	w := f.demand.Weight
	s := shares{fallback: make([]float64, len(grid)), cell: make([][]float64, cells/finePerCell)}
	nodes := make([][]float64, len(grid))
	for i, parameter := range grid {
		nodes[i] = nodeShares(shape(parameter), f.reach.shape.smallest)
		s.fallback[i] = (1 - w) * floats.Dot(nodes[i], fallback)
	}
	k := newKernel(h, cells)
	density := make([]float64, cells+1)
	for c := range s.cell {
		from, to := cells, 0
		k.each(c*finePerCell+finePerCell/2, func(j int, d float64) {
			density[j] += d
			from, to = min(from, j), max(to, j)
		})
		s.cell[c] = make([]float64, len(grid))
		for i, node := range nodes {
			s.cell[c][i] = w * floats.Dot(density[from:to+1], node[from:to+1])
		}
		clear(density[from : to+1])
	}
	return s
}

// nodeShares returns the weights by which the densities at the nodes of the
// demand's grid make meanSquareSlope.
func nodeShares(f curves.Shape, floor float64) []float64 {
	out := make([]float64, cells+1)
	for i := range cells {
		y, slope := along(f, (float64(i)+0.5)/cells)
		counted := max(slope, floor)
		share := counted * counted * slope / cells
		t := min(max(y, 0), 1) * cells
		j := min(int(t), cells-1)
		out[j] += share * (float64(j+1) - t)
		out[j+1] += share * (t - float64(j))
	}
	return out
}

// interval returns the ends of the interval of the parameter: those of the
// middle of the resampled parameters, taken farther from the flown one by what
// resampling is known to miss.
func (s shares) interval(upTo running, drawn [][]block, grid []float64) (low, high float64) {
	best := s.resample(upTo, drawn, grid)
	n := len(upTo) - 1
	sum := slices.Clone(upTo[n])
	floats.Scale(1/float64(n), sum)
	floats.Add(sum, s.fallback)
	flown := leastOnGrid(grid, sum)
	wider := widening(influence(upTo, floats.MinIdx(sum)))
	end := func(p float64) float64 {
		x := flown + wider*(stats.Quantile7(best, p)-flown)
		return math.Min(math.Max(x, grid[0]), grid[len(grid)-1])
	}
	return end((1 - level) / 2), end((1 + level) / 2)
}

// influence is by how much each second pulls the best parameter: the slope of
// its share of J about grid point i.
func influence(upTo running, i int) []float64 {
	before, after := max(0, i-1), min(len(upTo[0])-1, i+1)
	out := make([]float64, len(upTo)-1)
	for k := range out {
		out[k] = upTo[k+1][after] - upTo[k][after] - upTo[k+1][before] + upTo[k][before]
	}
	return out
}

// widening is by how much the interval of a mean of x is to be widened. Blocks
// of mean length b keep only (1−1/b)^k of the correlation at lag k (Politis and
// Romano 1994), so the variance falls short by the ratio of the two sums over
// the correlation, which is followed until it first reaches 0, and by what the
// mean takes; and n/b blocks give it as many degrees of freedom, so that Student's t takes the
// Gaussian's place (common practice with few batches).
func widening(x []float64) float64 {
	n := float64(len(x))
	mean := floats.Sum(x) / n
	covariance := func(k int) float64 {
		sum := 0.0
		for i := range len(x) - k {
			sum += (x[i] - mean) * (x[i+k] - mean)
		}
		return sum / n
	}
	variance := covariance(0)
	if variance <= 0 {
		return 1
	}
	whole, kept := 1.0, 1.0
	for k := 1; k < len(x)/leastBlocks; k++ {
		r := covariance(k) / variance
		if r <= 0 {
			break
		}
		whole += 2 * r
		kept += 2 * r * math.Pow(1-1/blockSeconds, float64(k))
	}
	// Taking the flight's own mean off makes each of the 2b−1 lags that the
	// blocks keep smaller by the variance of that mean.
	kept = math.Max(kept/2, kept-whole*(2*blockSeconds-1)/n)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n/blockSeconds - 1}
	return math.Sqrt(whole/kept) * t.Quantile((1+level)/2) / distuv.UnitNormal.Quantile((1+level)/2)
}

// running are the sums of the shares of the first seconds, from none to all.
type running [][]float64

func newRunning(seconds, parameters int) running {
	upTo := make(running, seconds+1)
	all := make([]float64, len(upTo)*parameters)
	for i := range upTo {
		upTo[i] = all[i*parameters : (i+1)*parameters]
	}
	return upTo
}

// run works the sums out; those of no seconds are 0.
func (s shares) run(upTo running, seconds []flownSecond) {
	for i, second := range seconds {
		copy(upTo[i+1], upTo[i])
		for _, c := range second {
			floats.AddScaled(upTo[i+1], c.share, s.cell[c.cell])
		}
	}
}

// block is seconds of flight, from one to before another; the flight goes on from
// its end at its start.
type block struct{ from, to int32 }

// drawBlocks draws the blocks of all resamples of a flight of n seconds.
func drawBlocks(n int) [][]block {
	rng := rand.New(rand.NewPCG(1994, 1303)) // any seed; the same for all
	goesOn := math.Log(1 - 1/blockSeconds)   // of the chance that a block does
	out := make([][]block, resamples)
	for b := range out {
		for drawn := 0; drawn < n; {
			lasts := min(1+int(math.Log(1-rng.Float64())/goesOn), n-drawn)
			from := rng.IntN(n)
			out[b] = append(out[b], block{int32(from), int32(from + lasts)})
			drawn += lasts
		}
	}
	return out
}

// resample returns the best parameters of resampled flights.
func (s shares) resample(upTo running, drawn [][]block, grid []float64) []float64 {
	n := int32(len(upTo) - 1)
	best := make([]float64, len(drawn))
	sum := make([]float64, len(grid))
	for b, blocks := range drawn {
		clear(sum)
		for _, k := range blocks {
			floats.Add(sum, upTo[min(k.to, n)])
			floats.Sub(sum, upTo[k.from])
			if k.to > n {
				floats.Add(sum, upTo[k.to-n])
			}
		}
		floats.Scale(1/float64(n), sum)
		floats.Add(sum, s.fallback)
		best[b] = leastOnGrid(grid, sum)
	}
	return best
}

// leastOnGrid returns where y is least on the even grid x: at the vertex of the
// parabola through the least value and its neighbours.
func leastOnGrid(x, y []float64) float64 {
	i := floats.MinIdx(y)
	if i == 0 || i == len(x)-1 {
		return x[i]
	}
	bend := y[i-1] - 2*y[i] + y[i+1]
	if bend <= 0 {
		return x[i]
	}
	return x[i] + (x[1]-x[0])*(y[i-1]-y[i+1])/(2*bend)
}
