package stats

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestHampelAndMedianFilter(t *testing.T) {
	var in struct{ X []float64 }
	var want struct {
		Hampel struct {
			Y       []float64
			Outlier []int `json:"outlier_index_1based"`
		} `json:"hampel_k3_t0_3_pracma"`
		Median3 []float64 `json:"R_runmed3_keep"`
		Median5 []float64 `json:"R_runmed5_median"`
	}
	load(t, "smoothing", "filter.median_hampel", &in, &want)
	y, outliers := HampelFloor(in.X, 3, 3, 0)
	wantSlice(t, "Hampel", y, want.Hampel.Y, 0)
	for i := range outliers {
		outliers[i]++
	}
	if !slices.Equal(outliers, want.Hampel.Outlier) {
		t.Errorf("outliers %v, want %v", outliers, want.Hampel.Outlier)
	}
	wantSlice(t, "median of 3", MedianFilter(in.X, 3), want.Median3, 0)
	wantSlice(t, "median of 5", MedianFilter(in.X, 5), want.Median5, 0)
	// Beside an end the window is shorter, but a spike still goes.
	wantSlice(t, "ends", MedianFilter([]float64{1, 50, 2, 3, 4, 60, 5}, 5), []float64{1, 2, 3, 4, 4, 5, 5}, 0)
}

// TestSlidingWindow compares the running window with sorting every window.
func TestSlidingWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]int{1, 2, 3, 6, fewToShift/2 - 1, fewToShift / 2, fewToShift}).Draw(t, "k")
		n := rapid.SampledFrom([]int{0, 1, 5, 40, 3 * fewToShift}).Draw(t, "n")
		x := rapid.SliceOfN(rapid.Float64Range(-4, 4), n, n).Draw(t, "x")
		if rapid.Bool().Draw(t, "coarse") {
			for i := range x {
				x[i] = math.Round(x[i])
			}
		}
		floor := rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "floor")
		got, _ := HampelFloor(x, k, 2, floor)
		for i, m := range MedianFilter(x, 2*k+1) {
			r := min(k, i, len(x)-1-i)
			if want := Median(x[i-r : i+r+1]); m != want {
				t.Fatalf("running median at %d of %d: %g, want %g", i, len(x), m, want)
			}
		}
		for i := k; i+k < len(x); i++ {
			w := x[i-k : i+k+1]
			m := Median(w)
			want := x[i]
			if math.Abs(x[i]-m) > 2*math.Max(floor, MAD(w)) {
				want = m
			}
			if got[i] != want {
				t.Fatalf("Hampel at %d: %g, want %g", i, got[i], want)
			}
		}
	})
}

// TestHampelFloor: an axis that rests on one code and now and then shows the
// next has no spikes, one that leaps by a hundred has.
func TestHampelFloor(t *testing.T) {
	x := make([]float64, 60)
	x[20], x[40] = 1, 100
	if _, o := HampelFloor(x, 3, 3, 0); !slices.Equal(o, []int{20, 40}) {
		t.Errorf("without floor %v", o)
	}
	if _, o := HampelFloor(x, 3, 3, 0.5); !slices.Equal(o, []int{40}) {
		t.Errorf("with floor %v", o)
	}
}
