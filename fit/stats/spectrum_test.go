package stats

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
)

func TestWelch(t *testing.T) {
	y := sp1065(t)
	two := make([]float64, len(y))
	mean := stat.Mean(y, nil)
	for i := range two {
		s := float64(i) / 100
		two[i] = math.Sin(2*math.Pi*5*s) + 0.5*math.Sin(2*math.Pi*12.5*s+1) + 0.2*(y[i]-mean)
	}
	for id, x := range map[string][]float64{"spectral.welch": y, "spectral.twotone": two} {
		var want struct{ F, P []float64 }
		load(t, "spectral", id, nil, &want)
		f, p := Welch(x, 100, 256)
		wantSlice(t, id+" f", f, want.F, 1e-12)
		wantSlice(t, id+" P", p, want.P, 1e-12)
	}
}
