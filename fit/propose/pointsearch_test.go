package propose

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"pgregory.net/rapid"
)

// drawParameters draws parameters of a search, wild ones among them.
func drawParameters(t *rapid.T, pieces int) []float64 {
	x := make([]float64, 2*(pieces-1))
	for i := range x {
		x[i] = rapid.Float64Range(-1.5, 1).Draw(t, "parameter")
		if i >= pieces-1 {
			x[i] -= 1.5
		}
	}
	return x
}

// The search's own cubic is that of curves, and its cost the share that
// describe finds missing.
func TestSearchHasTheCurveOfItsShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := DefaultDemand(rapid.Float64Range(0.3, 1).Draw(t, "normal"))
		f := newFitter(&d, newReach(limits{20, 0}))
		w := newPointSearch(f, rapid.IntRange(3, 12).Draw(t, "pieces"))
		x := drawParameters(t, w.pieces)
		s := w.shape(x)
		cost := w.cost(x)
		v := 0.0
		for i, want := range w.slope {
			// The nodes are rounded.
			if got := s.Slope(math.Min(v, 1)); math.Abs(got-want) > 1e-3*(1+want)/leastWidth*1e-2 {
				t.Fatalf("slope at node %d is %g, in the search %g", i, got, want)
			}
			if i < w.pieces {
				v += w.width[i]
			}
		}
		for i := range w.pieces {
			d0, d1 := w.slope[i], w.slope[i+1]
			if 2*d0+d1 > 3*w.secant[i] || 3*w.secant[i] > d0+2*d1 {
				return // it costs more where the slope falls
			}
		}
		// Two grids, so alike to a share of the cost where that is far above 1.
		if want := 1 - f.gain(f.square(s)); math.Abs(cost-want) > 2e-3*math.Max(1, want) {
			t.Fatalf("cost %g, the shape misses %g", cost, want)
		}
	})
}

func TestSearchGradient(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := DefaultDemand(rapid.Float64Range(0.3, 1).Draw(t, "normal"))
		lim := limits{rapid.Float64Range(1.5, 4).Draw(t, "largest"), rapid.Float64Range(0.1, 0.8).Draw(t, "smallest")}
		w := newPointSearch(newFitter(&d, newReach(lim)), rapid.IntRange(3, 7).Draw(t, "pieces"))
		x := drawParameters(t, w.pieces)
		got, want := make([]float64, len(x)), make([]float64, len(x))
		w.gradient(got, x)
		// Steps of the integral that change their piece make the cost jump a little.
		fd.Gradient(want, w.cost, x, &fd.Settings{Formula: fd.Central, Step: 1e-5})
		for i := range x {
			if math.Abs(got[i]-want[i]) > 0.01*(1+math.Abs(want[i])+math.Abs(got[i])) {
				t.Fatalf("derivative %d is %g, differences give %g", i, got[i], want[i])
			}
		}
	})
}
