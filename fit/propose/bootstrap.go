package propose

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
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
// The seconds of flight that count are resampled in blocks of random length
// with the ends joined: the stationary bootstrap of Politis and Romano, Journal
// of the American Statistical Association 89 (1994) 1303, after Künsch, Annals
// of Statistics 17 (1989) 1217. J is linear in the demand, so every second has
// its share of J for each parameter, and a resample's J is a sum of shares.
func addIntervals(fits []Fit, f *fitter, flight flownAxis, of side, fallback Demand) {
	seconds := flight.seconds(of)
	if f.demand.Source != "flight" || float64(len(seconds)) < leastBlocks*blockSeconds {
		return
	}
	weight, total := flight.histogram(of)
	h := bandwidth(weight[:], total)
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
		s := newShares(f, grid, shape, h, fallback.P)
		low, high := s.resample(seconds, grid)
		fits[i].Interval = &Interval{Low: low, High: high, Level: level, Minutes: total / 60, BlockSeconds: blockSeconds}
	}
}

// shares are what a demand adds to J for each of a grid of parameters.
type shares struct {
	fallback []float64   // of the default demand
	cell     [][]float64 // of all flight in one of finePerCell cells
}

func newShares(f *fitter, grid []float64, shape func(float64) curves.Shape, h float64, fallback []float64) shares {
	w := f.demand.Weight
	k := newKernel(h, cells)
	s := shares{fallback: make([]float64, len(grid)), cell: make([][]float64, cells/finePerCell)}
	for c := range s.cell {
		s.cell[c] = make([]float64, len(grid))
	}
	for i, parameter := range grid {
		node := nodeShares(shape(parameter), f.reach.shape.smallest)
		s.fallback[i] = (1 - w) * floats.Dot(node, fallback)
		for c := range s.cell {
			sum := 0.0
			k.each(c*finePerCell+finePerCell/2, func(j int, density float64) { sum += density * node[j] })
			s.cell[c][i] = w * sum
		}
	}
	return s
}

// nodeShares returns the weights by which the densities at the nodes of the
// demand's grid make meanSquareSlope.
func nodeShares(f curves.Shape, floor float64) []float64 {
	const n = 2 * cells
	out := make([]float64, cells+1)
	for i := range n {
		v := (float64(i) + 0.5) / n
		slope := f.Slope(v)
		counted := math.Max(slope, floor)
		share := counted * counted * slope / n
		t := math.Min(math.Max(f.At(v), 0), 1) * cells
		j := min(int(t), cells-1)
		out[j] += share * (float64(j+1) - t)
		out[j+1] += share * (t - float64(j))
	}
	return out
}

// resample returns the ends of the interval of the parameter.
func (s shares) resample(seconds []flownSecond, grid []float64) (low, high float64) {
	n := len(seconds)
	upTo := make([][]float64, n+1) // sums of the first seconds' shares
	upTo[0] = make([]float64, len(grid))
	for i, second := range seconds {
		upTo[i+1] = append([]float64(nil), upTo[i]...)
		for _, c := range second {
			floats.AddScaled(upTo[i+1], c.share, s.cell[c.cell])
		}
	}
	rng := rand.New(rand.NewPCG(1994, 1303)) // any seed; the same for all
	best := make([]float64, resamples)
	sum := make([]float64, len(grid))
	for b := range best {
		clear(sum)
		for drawn := 0; drawn < n; {
			lasts := min(1+int(math.Log(1-rng.Float64())/math.Log(1-1/blockSeconds)), n-drawn)
			from := rng.IntN(n)
			to := from + lasts
			floats.Add(sum, upTo[min(to, n)])
			floats.Sub(sum, upTo[from])
			if to > n {
				floats.Add(sum, upTo[to-n])
			}
			drawn += lasts
		}
		floats.Scale(1/float64(n), sum)
		floats.Add(sum, s.fallback)
		best[b] = leastOnGrid(grid, sum)
	}
	return stats.Quantile7(best, (1-level)/2), stats.Quantile7(best, (1+level)/2)
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

// flownSecond is a second of flight that counts, by cells of |y|, finePerCell of the
// grid's each.
type flownSecond []cellShare

type cellShare struct {
	cell  int
	share float64 // of the second
}

// seconds parts what was flown of a side into seconds, in the order of flight;
// what is left at the end is dropped.
func (f flownAxis) seconds(of side) []flownSecond {
	var out []flownSecond
	var now flownSecond
	filled := 0.0
	for _, r := range f.rows {
		lasts := r.counts(of)
		for lasts > 0 {
			part := math.Min(lasts, 1-filled)
			if c := cellOf(r.y) / finePerCell; len(now) > 0 && now[len(now)-1].cell == c {
				now[len(now)-1].share += part
			} else {
				now = append(now, cellShare{c, part})
			}
			filled += part
			lasts -= part
			if filled >= 1-1e-9 {
				out, now, filled = append(out, now), nil, 0
			}
		}
	}
	return out
}
