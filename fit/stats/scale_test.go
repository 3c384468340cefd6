package stats

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The R values were made with rounded factors; these ratios undo that, so that
// the rest can be compared to all digits.
const (
	qnRounded  = 2.21914 / QnFactor
	madRounded = 1.4826 / MADFactor
)

func TestScalesAgainstR(t *testing.T) {
	for _, id := range []string{"robust.chem", "robust.abbey"} {
		var in struct{ Data []float64 }
		var want struct {
			Median, Qn float64
			MAD        float64 `json:"mad_1p4826"`
		}
		load(t, "robust_scale", id, &in, &want)
		wantRel(t, id+" median", Median(in.Data), want.Median, 1e-12)
		wantRel(t, id+" MAD", MAD(in.Data)*madRounded, want.MAD, 1e-9)
		wantRel(t, id+" Qn", Qn(in.Data)*qnRounded, want.Qn, 1e-9)
	}
	var in struct{ A, B []float64 }
	var want struct{ A, B struct{ Qn, MAD float64 } }
	load(t, "robust_scale", "robust.small", &in, &want)
	wantAbs(t, "Qn a", Qn(in.A)*qnRounded, want.A.Qn, 1e-9)
	wantAbs(t, "Qn b", Qn(in.B)*qnRounded, want.B.Qn, 1e-9)
	wantRel(t, "MAD b", MAD(in.B)*madRounded, want.B.MAD, 1e-9)
}

func TestScaleConstants(t *testing.T) {
	var want struct {
		MAD     float64
		Qn      float64   `json:"Qn_corrected"`
		SmallQn []float64 `json:"Qn_small_n_2_12"`
	}
	load(t, "robust_scale", "robust.constants", nil, &want)
	wantRel(t, "MAD", MADFactor, want.MAD, 1e-15)
	wantRel(t, "Qn", QnFactor, want.Qn, 1e-15)
	wantSlice(t, "Qn factors", qnSmall[:], want.SmallQn, 0)
}

// TestFastScales compares the fast search with its definition by brute
// force, on data with and without ties.
func TestFastScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 60).Draw(t, "n")
		coarse := rapid.Bool().Draw(t, "coarse")
		x := make([]float64, n)
		for i := range x {
			x[i] = rapid.Float64Range(-5, 5).Draw(t, "x")
			if coarse {
				x[i] = math.Round(x[i])
			}
		}
		h := n/2 + 1
		var diffs []float64
		for i := range x {
			for j := range i {
				diffs = append(diffs, math.Abs(x[i]-x[j]))
			}
		}
		slices.Sort(diffs)
		if got, want := Qn(x), QnFactor*qnFinite(n)*diffs[h*(h-1)/2-1]; math.Abs(got-want) > 1e-12 {
			t.Fatalf("Qn %g, by definition %g", got, want)
		}
	})
}

// TestScalesUnbiased checks the small-sample factors: over many Gaussian
// samples the mean of the estimate is σ.
func TestScalesUnbiased(t *testing.T) {
	r := random(1)
	for _, n := range []int{2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 15, 20, 51} {
		const of = 12000
		var qn float64
		for range of {
			x := gaussian(r, n)
			qn += Qn(x) / of
		}
		// Standard error of each mean is at most 0.0075 (n = 2), 0.003 (n = 10).
		wantAbs(t, fmt.Sprint("Qn n=", n), qn, 1, 0.02)
	}
}

// TestQnLarge is Qn where brute force would hold 2·10¹⁰ differences.
func TestQnLarge(t *testing.T) {
	x := gaussian(random(2), 200000)
	for i := range 20000 {
		x[10*i] = 1e6 // a tenth spoilt
	}
	if q := Qn(x); q < 1.1 || q > 1.4 {
		t.Errorf("Qn with a tenth spoilt is %g, want a little above 1", q)
	}
	wantAbs(t, "Qn of 200000", Qn(gaussian(random(3), 200000)), 1, 0.008) // 4 standard errors
}
