package stats

import (
	"math"
	"math/bits"
	"slices"
)

// Median returns the middle order statistic of x, or the mean of the two
// middle ones. x is left as it is. An empty x gives NaN.
func Median(x []float64) float64 { return MedianInPlace(slices.Clone(x)) }

// MedianInPlace is [Median], which leaves s in another order.
func MedianInPlace(s []float64) float64 {
	n := len(s)
	if n == 0 {
		return math.NaN()
	}
	upper := kth(s, n/2)
	if n%2 == 1 {
		return upper
	}
	return slices.Max(s[:n/2])/2 + upper/2
}

// Quantile7 returns the p-quantile of x, 0 ≤ p ≤ 1, of Hyndman and Fan's
// type 7: linear between order statistics at h = (n−1)p. x need not be sorted
// and is left as it is. An empty x or a p outside [0, 1] gives NaN.
//
// Source: Hyndman & Fan, The American Statistician 50 (1996) 361.
func Quantile7(x []float64, p float64) float64 { return Quantile7InPlace(slices.Clone(x), p) }

// Quantile7InPlace is [Quantile7], which leaves s in another order.
func Quantile7InPlace(s []float64, p float64) float64 {
	if len(s) == 0 || !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	h := float64(len(s)-1) * p
	i := int(h)
	below := kth(s, i)
	if i+1 == len(s) {
		return below
	}
	return below + (h-float64(i))*(slices.Min(s[i+1:])-below)
}

func sorted(x []float64) []float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return s
}

// fewToSort is of how many values sorting finds one sooner than parting does.
const fewToSort = 24

// kth returns the k-th smallest value of s, counted from 0, and leaves s in such
// an order that nothing before it is larger and nothing behind it smaller. Where
// parting s about one of its values keeps going badly, the rest is sorted, so
// that no data take longer than O(n log n).
//
// Source: Hoare, Algorithm 65: Find, Communications of the ACM 4 (1961) 321, with
// the pivot of Singleton, Algorithm 347, ibid. 12 (1969) 185 (from memory).
func kth(s []float64, k int) float64 {
	lo, hi := 0, len(s)-1
	for left := 2 * bits.Len(uint(len(s))); hi-lo >= fewToSort && left > 0; left-- {
		pivot := middleOf(s[lo], s[lo+(hi-lo)/2], s[hi])
		i, j := lo, hi
		for i <= j {
			for s[i] < pivot {
				i++
			}
			for s[j] > pivot {
				j--
			}
			if i <= j {
				s[i], s[j] = s[j], s[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return s[k] // all between are the pivot
		}
	}
	slices.Sort(s[lo : hi+1])
	return s[k]
}

func middleOf(a, b, c float64) float64 {
	return max(min(a, b), min(max(a, b), c))
}
