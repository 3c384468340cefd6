package stats

import (
	"math"
	"slices"
)

// HampelFloor replaces spikes by the median of their surroundings: where
//
//	|x_i − m| > t · S,   m and S the median and MAD of x_{i−k} … x_{i+k},
//	                     S never less than floor (in the unit of x),
//
// filtered[i] is m, and i is listed in outliers; all else stays. The first and
// last k values have no full window and stay as they are. Every window is
// taken from x itself, not from what was already replaced. O(n(k + log k)).
//
// Where more than half of a window holds the same value, MAD is 0 and without a
// floor the last step of a quiet, quantised axis would be taken for a spike.
//
// Source: Hampel, JASA 69 (1974) 383; ends and defaults (k = 3, t = 3) as in
// the R package pracma 2.4.2.
func HampelFloor(x []float64, k int, t, floor float64) (filtered []float64, outliers []int) {
	filtered = slices.Clone(x)
	if k < 1 || len(x) < 2*k+1 {
		return filtered, nil
	}
	w := newSlidingWindow(x[:2*k+1])
	for i := k; i+k < len(x); i++ {
		if i > k {
			w.slide(x[i-k-1], x[i+k])
		}
		m := w.sorted[k]
		scale := math.Max(floor, MADFactor*w.reach(k))
		if math.Abs(x[i]-m) > t*scale {
			filtered[i] = m
			outliers = append(outliers, i)
		}
	}
	return filtered, outliers
}

// MedianFilter returns the running median of x over an odd width in samples
// (an even one is widened by one). Towards the ends the window shrinks
// symmetrically, so the first and last values stay as they are.
//
// Source: Tukey, Exploratory Data Analysis (1977), chapter 7.
func MedianFilter(x []float64, width int) []float64 {
	out := make([]float64, len(x))
	k := max(0, min(width/2, (len(x)-1)/2))
	w := &slidingWindow{make([]float64, 0, 2*k+1)}
	for i := range x {
		switch {
		case i == 0:
			w.insert(x[0])
		case i <= k:
			w.insert(x[2*i-1])
			w.insert(x[2*i])
		case i+k < len(x):
			w.slide(x[i-k-1], x[i+k])
		default:
			w.remove(x[2*i-len(x)-1])
			w.remove(x[2*i-len(x)])
		}
		out[i] = w.sorted[len(w.sorted)/2]
	}
	return out
}

// slidingWindow keeps the values of a window in order.
type slidingWindow struct{ sorted []float64 }

func newSlidingWindow(x []float64) *slidingWindow {
	return &slidingWindow{sorted(x)}
}

// fewToShift is of how many values moving them one by one is sooner done than looking
// for the place and moving them at once.
const fewToShift = 64

// slide exchanges one value. Moving a few values of a sorted slice beats heaps and
// trees up to windows of thousands, the more as what comes in mostly lies near what
// goes out.
func (w *slidingWindow) slide(out, in float64) {
	s := w.sorted
	i, _ := slices.BinarySearch(s, out)
	if len(s) > fewToShift {
		j, _ := slices.BinarySearch(s, in)
		if j > i {
			copy(s[i:j-1], s[i+1:j])
			s[j-1] = in
			return
		}
		copy(s[j+1:i+1], s[j:i])
		s[j] = in
		return
	}
	for ; i+1 < len(s) && s[i+1] < in; i++ {
		s[i] = s[i+1]
	}
	for ; i > 0 && s[i-1] > in; i-- {
		s[i] = s[i-1]
	}
	s[i] = in
}

func (w *slidingWindow) insert(in float64) {
	i, _ := slices.BinarySearch(w.sorted, in)
	w.sorted = slices.Insert(w.sorted, i, in)
}

func (w *slidingWindow) remove(out float64) {
	i, _ := slices.BinarySearch(w.sorted, out)
	w.sorted = slices.Delete(w.sorted, i, i+1)
}

// reach returns the median absolute deviation from the median, sorted[k]: the
// (k+1)-th smallest distance, which is the least reach of a run of k+1 values
// around the middle.
func (w *slidingWindow) reach(k int) float64 {
	best := math.Inf(1)
	m := w.sorted[k]
	for l := 0; l <= k; l++ {
		r := math.Max(m-w.sorted[l], w.sorted[l+k]-m)
		if r > best {
			break // grows from here on
		}
		best = r
	}
	return best
}
