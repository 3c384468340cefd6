package stats

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Consistency factors that make a scale estimate the standard deviation of
// Gaussian data. MADFactor is 1/Φ⁻¹(3/4). QnFactor is 1/(√2 Φ⁻¹(5/8)); the
// 2.2219 printed in the 1993 paper is a misprint of it.
//
// Source: Rousseeuw & Croux, JASA 88 (1993) 1273.
const (
	MADFactor = 1.4826022185056018
	QnFactor  = 2.21914446598508
)

// MAD returns the median absolute deviation from the median times
// [MADFactor], with no small-sample factor. Unit of x. NaN when x is empty.
//
// Source: Hampel, JASA 69 (1974) 383.
func MAD(x []float64) float64 { return MADInPlace(slices.Clone(x)) }

// MADInPlace is [MAD], which leaves other values in s.
func MADInPlace(s []float64) float64 {
	m := MedianInPlace(s)
	for i, v := range s {
		s[i] = math.Abs(v - m)
	}
	return MADFactor * MedianInPlace(s)
}

var qnSmall = [...]float64{0.399356, 0.99365, 0.51321, 0.84401, 0.6122, 0.85877,
	0.66993, 0.87344, 0.72014, 0.88906, 0.75743} // n = 2 to 12

// Qn returns the scale of the k-th smallest |x_i − x_j|, i < j, with
// k = C(⌊n/2⌋+1, 2), times [QnFactor] and the small-sample factor. Unit of x;
// 50 % breakdown, 82 % Gaussian efficiency. Expected O(n log n). Fewer than
// two values give NaN.
//
// Source: Rousseeuw & Croux 1993; search in rows of sorted differences after
// Croux & Rousseeuw 1992, with a random pivot where they take a weighted
// median; factors for large n those of the R package robustbase 0.95.
func Qn(x []float64) float64 {
	n := len(x)
	if n < 2 {
		return math.NaN()
	}
	h := n/2 + 1
	return QnFactor * qnFinite(n) * kthDifference(sorted(x), h*(h-1)/2)
}

func qnFinite(n int) float64 {
	f := float64(n)
	switch {
	case n <= 12:
		return qnSmall[n-2]
	case n%2 == 1:
		return 1 / (1 + (1.60188+(-2.1284-5.172/f)/f)/f)
	}
	return 1 / (1 + (3.67561+(1.9654+(6.987-77/f)/f)/f)/f)
}

// kthDifference returns the k-th smallest (from 1) s[i]−s[j], j < i, of the
// ascending s. Row i holds s[i]−s[i−m] for m = 1..i, which ascends in m, so
// each row's remaining candidates are a run lo[i]..hi[i].
func kthDifference(s []float64, k int) float64 {
	n := len(s)
	lo, hi := make([]int, n), make([]int, n)
	below, upto := make([]int, n), make([]int, n)
	left := 0
	for i := range s {
		lo[i], hi[i] = 1, i
		left += i
	}
	rng := rand.New(rand.NewPCG(1, uint64(n))) // fixed: same data, same path
	for {
		pivot := candidate(s, lo, hi, rng.IntN(left))
		nBelow, nUpto := 0, 0
		jb, ju := 0, 0
		for i := range s {
			for s[i]-s[jb] >= pivot && jb < i {
				jb++
			}
			for s[i]-s[ju] > pivot && ju < i {
				ju++
			}
			below[i], upto[i] = i-jb, i-ju
			nBelow += below[i]
			nUpto += upto[i]
		}
		switch {
		case k <= nBelow:
			left = narrow(lo, hi, nil, below)
		case k > nUpto:
			left = narrow(lo, hi, upto, nil)
		default:
			return pivot
		}
	}
}

// candidate returns the r-th remaining difference, counted row by row.
func candidate(s []float64, lo, hi []int, r int) float64 {
	for i := range s {
		c := hi[i] - lo[i] + 1
		if c <= 0 {
			continue
		}
		if r < c {
			return s[i] - s[i-lo[i]-r]
		}
		r -= c
	}
	return math.NaN() // not reached: r is below the number remaining
}

// narrow drops the candidates up to and including drop, or beyond keep, and
// returns how many remain.
func narrow(lo, hi, drop, keep []int) int {
	left := 0
	for i := range lo {
		if drop != nil {
			lo[i] = max(lo[i], drop[i]+1)
		}
		if keep != nil {
			hi[i] = min(hi[i], keep[i])
		}
		left += max(0, hi[i]-lo[i]+1)
	}
	return left
}
