package stats

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// orders are n values of which a pivot is easily chosen badly.
func orders(rng *rand.Rand, n int) map[string][]float64 {
	out := map[string][]float64{}
	for i := range n {
		for name, v := range map[string]float64{
			"rising": float64(i), "falling": float64(-i), "equal": 7,
			"few": float64(rng.IntN(4)), "pipe": float64(min(i, n-i)), "any": rng.NormFloat64(),
		} {
			out[name] = append(out[name], v)
		}
	}
	out["worst"] = worstOrder(n)
	return out
}

// worstOrder is such that the middle one of the first, the middle and the last
// value is always the second smallest of those that are left.
func worstOrder(n int) []float64 {
	at, out := make([]int, n), make([]float64, n)
	for i := range at {
		at[i] = i
	}
	lo := 0
	for ; n-1-lo >= fewToSort; lo += 2 {
		mid := lo + (n-1-lo)/2
		out[at[lo]], out[at[mid]] = float64(lo), float64(lo+1)
		at[lo+1], at[mid] = at[mid], at[lo+1]
	}
	for i := lo; i < n; i++ {
		out[at[i]] = float64(i)
	}
	return out
}

// The k-th smallest is that of the sorted values, with no larger one before it and
// no smaller one behind.
func TestKthSmallest(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{1, 2, fewToSort, fewToSort + 1, 100, 1001} {
		for name, x := range orders(rng, n) {
			want := sorted(x)
			for range 20 {
				k := rng.IntN(n)
				s := slices.Clone(x)
				if got := kth(s, k); got != want[k] || got != s[k] {
					t.Fatalf("%s: %d of %d is %g, want %g", name, k, n, got, want[k])
				}
				if k > 0 && slices.Max(s[:k]) > s[k] || slices.Min(s[k:]) < s[k] {
					t.Fatalf("%s: %d of %d does not part them", name, k, n)
				}
				slices.Sort(s)
				if !slices.Equal(s, want) {
					t.Fatalf("%s: values were lost", name)
				}
			}
		}
	}
}

// Median and quantiles are those of the sorted values, however many.
func TestMedianAndQuantileOfMany(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, n := range []int{1000, 1001} {
		for name, x := range orders(rng, n) {
			s := sorted(x)
			if got, want := Median(x), s[(n-1)/2]/2+s[n/2]/2; got != want {
				t.Errorf("%s: median of %d is %g, want %g", name, n, got, want)
			}
			for p := 0.01; p < 1; p += 0.01 {
				h := p * float64(n-1)
				i := int(h)
				if got, want := Quantile7(x, p), s[i]+(h-float64(i))*(s[i+1]-s[i]); got != want {
					t.Errorf("%s: %g quantile of %d is %g, want %g", name, p, n, got, want)
				}
			}
		}
	}
}

// Values in the worst order take about as long as sorting does: parting them
// would take hundreds of times as long.
func TestKthSmallestOfTheWorstOrder(t *testing.T) {
	const n = 100_000
	x := worstOrder(n)
	start := time.Now()
	want := sorted(x)[n/2]
	sorting := time.Since(start)
	start = time.Now()
	if got := kth(x, n/2); got != want {
		t.Errorf("the middle one is %g, want %g", got, want)
	}
	if took := time.Since(start); took > 30*sorting {
		t.Errorf("it took %v, sorting %v", took, sorting)
	}
}

func BenchmarkMedian(b *testing.B) {
	x := orders(rand.New(rand.NewPCG(3, 4)), 10_000)["any"]
	for b.Loop() {
		Median(x)
	}
}
