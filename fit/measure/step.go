package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

// lattice is the grid that an axis's counts lie on: anchor + k·step.
type lattice struct {
	step, low, high float64 // counts; low…high are the spacings that fit
	anchor          float64
	distinct        int
	how             string
}

// steps gives x as a whole number of steps from the anchor.
func (l lattice) steps(x float64) float64 { return math.Round((x - l.anchor) / l.step) }

// Fitting tolerances of findLattice, in counts and shares.
const (
	minDistinct   = 8     // fewer distinct counts show no lattice
	roundingError = 0.51  // half a count, and what float32 scaling adds
	strayShare    = 0.005 // distinct counts that may lie off the lattice
	maxMultiple   = 12    // neighbours seen may be so many steps apart
)

// findLattice finds the largest spacing that puts the distinct counts within
// rounding of a lattice. It starts from the smallest differences, which are
// one step (or, where few counts were seen, some steps) give or take one count
// of rounding, and lengthens the baseline until the spacing is settled by the
// whole travel. It reports false for fewer than minDistinct counts.
func findLattice(values []int) (lattice, bool) {
	if len(values) < minDistinct {
		return lattice{}, false
	}
	if l, ok := usualLattice(values); ok {
		return l, true
	}
	diffs := make([]float64, len(values)-1)
	for i := range diffs {
		diffs[i] = float64(values[i+1] - values[i])
	}
	// Not the very smallest: single precision may scale two codes near a
	// rounding limit to neighbouring counts.
	least := stats.Quantile7(diffs, strayShare)
	if least < 1.5 {
		return lattice{step: 1, low: 1, high: 1, anchor: float64(values[0]), distinct: len(values),
			how: "neighbouring whole counts occur: the sensor's step is one count or less"}, true
	}
	single := 0.0
	n := 0
	for _, d := range diffs {
		if d <= 1.5*least {
			single += d
			n++
		}
	}
	starts := []float64{single / float64(n)}
	for j := 1; j <= maxMultiple && least/float64(j) >= 1.5; j++ {
		starts = append(starts, least/float64(j))
	}
	for _, s := range starts {
		if l, ok := fitLattice(values, diffs, s); ok {
			return snap(l), true
		}
	}
	return lattice{step: 1, low: 1, high: 1, anchor: float64(values[0]), distinct: len(values),
		how: "no lattice wider than one count holds the values: something between sensor and program blends them"}, true
}

// usualLattice tries the ranges of converters of 4 to 15 bits, 0 to 2ᵇ−1,
// coarsest first, which scaling puts from −32768 on. Chance puts a count on
// such a lattice with probability 1.02/step, so a fit counts only where all
// together would be one in a million.
func usualLattice(values []int) (lattice, bool) {
	for bits := 4; bits <= 15; bits++ {
		step := fullSpan / float64(int(1)<<bits-1)
		if float64(len(values))*math.Log2(step/(2*roundingError)) < 20 {
			break // finer ones show even less
		}
		off := 0
		for _, v := range values {
			at := float64(v + 32768)
			if math.Abs(at-step*math.Round(at/step)) > roundingError {
				off++
			}
		}
		if float64(off) <= strayShare*float64(len(values)) {
			l, ok := codeLattice(values, 0, int(1)<<bits-1)
			l.how = fmt.Sprintf("all distinct counts lie where a %d-bit code, scaled to 65,535 counts, must lie", bits)
			return l, ok
		}
	}
	return lattice{}, false
}

// fitLattice refines the spacing from a start and checks that it holds.
func fitLattice(values []int, diffs []float64, s float64) (lattice, bool) {
	k := make([]float64, len(values))
	// Lengthen the baseline: each doubling fixes the spacing well enough for
	// the next one to count its steps without a doubt.
	for reach := 2.0; ; reach *= 2 {
		var sum, steps float64
		k[0] = 0
		for i, d := range diffs {
			n := math.Round(d / s)
			k[i+1] = k[i] + n
			if d <= reach*s {
				sum += d
				steps += n
			}
		}
		if steps > 0 {
			s = sum / steps
		}
		if reach*s > fullSpan {
			break
		}
	}
	var a float64
	for range 3 { // regress, recount, until the count of steps stands
		a, s = regress(k, values)
		for i, v := range values {
			k[i] = math.Round((float64(v) - a) / s)
		}
	}
	if s < 1.5 {
		return lattice{}, false
	}
	off := 0
	for i, v := range values {
		if math.Abs(float64(v)-a-s*k[i]) > roundingError+0.25 {
			off++
		}
	}
	if float64(off) > strayShare*float64(len(values)) {
		return lattice{}, false
	}
	low, high := feasible(values, k, s)
	if s < low || s > high {
		s = (low + high) / 2
	}
	return lattice{step: s, low: low, high: high, anchor: a, distinct: len(values),
		how: "spacing of the lattice that holds all distinct counts, over the whole range seen"}, true
}

func regress(k []float64, values []int) (a, s float64) {
	n := float64(len(k))
	var mk, mv float64
	for i := range k {
		mk += k[i] / n
		mv += float64(values[i]) / n
	}
	var skk, skv float64
	for i := range k {
		skk += (k[i] - mk) * (k[i] - mk)
		skv += (k[i] - mk) * (float64(values[i]) - mv)
	}
	s = skv / skk
	return mv - s*mk, s
}

// feasible bounds the spacing: two counts k steps apart differ by k·s with a
// rounding of half a count at each end, so each pair from the outer eighths
// excludes what lies outside (D ± 1)/k.
func feasible(values []int, k []float64, s float64) (low, high float64) {
	n := len(values)
	edge := max(1, min(n/8, 64))
	low, high = 0, math.Inf(1)
	for i := range edge {
		for j := n - edge; j < n; j++ {
			steps := k[j] - k[i]
			if steps <= 0 {
				continue
			}
			d := float64(values[j] - values[i])
			if math.Abs(d-steps*s) > 2*roundingError+0.5 {
				continue // a stray
			}
			low = math.Max(low, (d-2*roundingError)/steps)
			high = math.Min(high, (d+2*roundingError)/steps)
		}
	}
	return math.Min(low, high), math.Max(low, high)
}

// snap uses that a range of N codes is scaled to 65,535 counts: where exactly
// one whole N fits the feasible spacings, the step is 65,535/N.
func snap(l lattice) lattice {
	from, to := math.Ceil(fullSpan/l.high), math.Floor(fullSpan/l.low)
	if from != to || l.step < 1.5 {
		return l
	}
	l.step, l.low, l.high = fullSpan/from, fullSpan/from, fullSpan/from
	l.how += "; only one whole number of codes scaled to 65,535 counts fits, so it is exact"
	return l
}

// codeLattice uses the device's own code range where it is known: the codes
// are exact whole numbers, and the step is their greatest common difference.
func codeLattice(values []int, rawMin, rawMax int) (lattice, bool) {
	span := rawMax - rawMin
	if span <= 0 || len(values) < 2 {
		return lattice{}, false
	}
	perCode := fullSpan / float64(span)
	code := func(v int) int { return int(math.Round(float64(v+32768) / perCode)) }
	g := 0
	for _, v := range values[1:] {
		g = gcd(g, code(v)-code(values[0]))
	}
	if g == 0 {
		return lattice{}, false
	}
	if len(values) < minDistinct {
		g = 1 // a few values may all lie an even number of codes apart
	}
	step := perCode * float64(g)
	return lattice{step: step, low: step, high: step, anchor: float64(code(values[0]))*perCode - 32768,
		distinct: len(values), how: "from the device's own codes, whose range is known"}, true
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// axisLattice finds the lattice of a column, from codes where their range is
// known and finer than the counts' rounding allows a doubt.
func axisLattice(c *input.Column, a input.Axis) (lattice, bool) {
	values := distinct(c)
	if a.RawMin != nil && a.RawMax != nil {
		if l, ok := codeLattice(values, *a.RawMin, *a.RawMax); ok {
			return l, true
		}
	}
	return findLattice(values)
}

func (l lattice) quantity() *Quantity {
	return within(l.step, l.low, l.high, unitCounts, l.distinct,
		"average step: "+l.how+"; n is the number of distinct counts")
}

func (l lattice) bits() *Quantity {
	return within(math.Log2(65536/l.step), math.Log2(65536/l.high), math.Log2(65536/l.low), unitBits, l.distinct,
		"log2(65536/step)")
}
