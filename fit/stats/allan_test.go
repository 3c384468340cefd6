package stats

import (
	"fmt"
	"slices"
	"testing"
)

func TestAllanPublished(t *testing.T) {
	var in struct{ M []int }
	var want struct{ Oadev []float64 }
	load(t, "allan", "allan.sp1065_1000", &in, &want)
	checkAllan(t, sp1065(t), in.M, want.Oadev, 5e-7)

	var small struct {
		Freq []float64
		Tau  []int
	}
	load(t, "allan", "allan.nbs14_9", &small, &want)
	checkAllan(t, small.Freq, small.Tau, want.Oadev, 1e-6)
}

func checkAllan(t *testing.T, y []float64, m []int, overlapping []float64, tol float64) {
	t.Helper()
	const rate = 4
	points := AllanDeviation(y, rate, m)
	if len(points) != len(m) || len(m) == 0 {
		t.Fatalf("%d points for %d factors", len(points), len(m))
	}
	for i, p := range points {
		wantRel(t, fmt.Sprint("overlapping m=", m[i]), p.Deviation, overlapping[i], tol)
		if p.Tau != float64(m[i])/rate || p.M != m[i] {
			t.Errorf("m=%d at %g s", p.M, p.Tau)
		}
	}
}

// TestAllanWhite checks on white noise that AVAR is σ²/m, that its scatter is
// what the degrees of freedom say (edf = 2 mean²/variance), and that the
// intervals hold the truth as often as they claim.
func TestAllanWhite(t *testing.T) {
	r := random(4)
	m := []int{1, 2, 4, 8, 16, 32, 64}
	const n, of = 400, 3000
	vars := make([][]float64, len(m))
	held := make([]int, len(m))
	var edf []float64
	for range of {
		edf = edf[:0]
		for i, p := range AllanDeviation(gaussian(r, n), 1, m) {
			vars[i] = append(vars[i], p.Deviation*p.Deviation)
			truth := 1 / float64(p.M)
			if p.Low*p.Low <= truth && truth <= p.High*p.High {
				held[i]++
			}
			edf = append(edf, p.EDF)
		}
	}
	for i := range m {
		mean, sd := MeanSD(vars[i])
		wantRel(t, fmt.Sprint("AVAR m=", m[i]), mean, 1/float64(m[i]), 0.03)
		wantRel(t, fmt.Sprint("edf m=", m[i]), edf[i], 2*mean*mean/(sd*sd), 0.12)
		wantCoverage(t, fmt.Sprint("m=", m[i]), held[i], of, 0.93, 0.97)
	}
}

func TestAllanRange(t *testing.T) {
	if p := AllanDeviation(make([]float64, 9), 1, []int{0, 5, 4}); len(p) != 1 || p[0].M != 4 {
		t.Errorf("factors out of range gave %v", p)
	}
	if m := OctaveFactors(40); !slices.Equal(m, []int{1, 2, 4, 8}) {
		t.Errorf("octaves of 40: %v", m)
	}
}
