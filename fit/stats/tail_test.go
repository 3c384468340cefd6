package stats

import (
	"fmt"
	"math"
	"testing"
)

// TestPeaksOverThreshold simulates generalised Pareto tails of known shape and
// checks estimate, standard errors and the interval of an extrapolated level.
func TestPeaksOverThreshold(t *testing.T) {
	for _, shape := range []float64{-0.2, 0.3} {
		r := random(12)
		const n, of, threshold, scale, share, p = 4000, 120, 3.0, 2.0, 0.1, 1e-5
		truth := GPDTail{Threshold: threshold, Shape: shape, Scale: scale, Share: share}
		level := truth.Level(p)
		// P(X > u+y) = Share·(1 + ξy/σ)^(−1/ξ), as it is defined.
		wantRel(t, "level", share*math.Pow(1+shape*(level-threshold)/scale, -1/shape), p, 1e-9)
		var shapes, scales, shapeSEs, scaleSEs []float64
		held := 0
		for range of {
			x := make([]float64, n)
			for i := range x {
				x[i] = threshold - 1
				if u := r.Float64(); u < share {
					x[i] = truth.Level(u)
				}
			}
			g, err := PeaksOverThreshold(x, threshold)
			if err != nil {
				t.Fatal(err)
			}
			shapes, scales = append(shapes, g.Shape), append(scales, g.Scale)
			if low, high := g.LevelInterval(p, 0.95); low <= level && level <= high {
				held++
			}
			shapeSEs, scaleSEs = append(shapeSEs, g.ShapeSE), append(scaleSEs, g.ScaleSE)
		}
		what := fmt.Sprint("shape=", shape)
		m, sd := MeanSD(shapes)
		wantAbs(t, what, m, shape, 0.02)
		wantRel(t, what+" SE", Median(shapeSEs), sd, 0.25)
		m, sd = MeanSD(scales)
		wantRel(t, what+" scale", m, scale, 0.02)
		wantRel(t, what+" scale SE", Median(scaleSEs), sd, 0.25)
		wantCoverage(t, what+" level", held, of, 0.89, 0.995)
	}
}

// TestTailMaximum checks on one sample that no neighbour is likelier.
func TestTailMaximum(t *testing.T) {
	r := random(13)
	y := make([]float64, 500)
	for i := range y {
		y[i] = r.ExpFloat64()
	}
	g, err := PeaksOverThreshold(y, 0)
	if err != nil {
		t.Fatal(err)
	}
	logLik := func(shape, scale float64) float64 {
		l := -float64(len(y)) * math.Log(scale)
		for _, v := range y {
			l -= (1 + 1/shape) * math.Log1p(shape*v/scale)
		}
		return l
	}
	best := logLik(g.Shape, g.Scale)
	for _, d := range [][2]float64{{1e-4, 0}, {-1e-4, 0}, {0, 1e-4}, {0, -1e-4}, {1e-4, -1e-4}, {-1e-4, 1e-4}} {
		if logLik(g.Shape+d[0], g.Scale+d[1]) > best {
			t.Errorf("likelier at %+v than at %+v", d, g)
		}
	}
	s, c := weightedMoments(y)
	wantAbs(t, "moments' shape", s, g.Shape, 0.1)
	wantRel(t, "moments' scale", c, g.Scale, 0.1)
}

// TestTailEdge: a uniform tail (shape −1) has no likeliest fit and falls back
// to moments, without standard errors.
func TestTailEdge(t *testing.T) {
	r := random(14)
	y := make([]float64, 400)
	for i := range y {
		y[i] = r.Float64()
	}
	g, err := PeaksOverThreshold(y, 0)
	if err != nil {
		t.Fatal(err)
	}
	wantAbs(t, "shape", g.Shape, -1, 0.2)
	if !math.IsNaN(g.ShapeSE) {
		t.Errorf("standard error %g for a shape of %g", g.ShapeSE, g.Shape)
	}
	if v := g.Level(2); !math.IsNaN(v) {
		t.Errorf("level at probability 2 is %g", v)
	}
}
