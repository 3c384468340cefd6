package stats

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// PowerFit is the curve Factor · x^Exponent.
type PowerFit struct {
	Factor, Exponent     float64
	FactorSE, ExponentSE float64
	RSS, ResidualSD      float64 // divisor n−2
}

// FitPower fits y = b₁ x^b₂ by least squares on y (not on its logarithm), from
// the line through the logarithms, by Levenberg–Marquardt steps. Needs at
// least three points, all x and y positive.
//
// Source: Marquardt, J. SIAM 11 (1963) 431; checked against NIST StRD DanWood.
func FitPower(x, y []float64) (PowerFit, error) {
	if len(x) != len(y) || len(x) < 3 {
		return PowerFit{}, fmt.Errorf("cannot fit a power to %d x and %d y values: give as many y as x and at least 3", len(x), len(y))
	}
	lx, ly := make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		if !(x[i] > 0) || !(y[i] > 0) {
			return PowerFit{}, fmt.Errorf("cannot fit a power through x %g, y %g: leave out points that are not positive", x[i], y[i])
		}
		lx[i], ly[i] = math.Log(x[i]), math.Log(y[i])
	}
	start, err := LinearRegression(lx, ly)
	if err != nil {
		return PowerFit{}, err
	}
	b := [2]float64{math.Exp(start.Intercept), start.Slope}
	damping := 1e-3
	normal, gradient, rss := powerNormal(x, y, b)
	for range 200 {
		step, ok := dampedStep(normal, gradient, damping)
		if !ok {
			return PowerFit{}, errors.New("cannot fit a power: x holds too few distinct values")
		}
		next := [2]float64{b[0] + step[0], b[1] + step[1]}
		nextNormal, nextGradient, nextRSS := powerNormal(x, y, next)
		if !(nextRSS <= rss) {
			damping *= 10
			if damping > 1e12 {
				break // no step improves: b is the minimum to rounding
			}
			continue
		}
		small := math.Abs(step[0]) <= 1e-13*math.Abs(b[0]) && math.Abs(step[1]) <= 1e-13*math.Abs(b[1])
		b, normal, gradient, rss = next, nextNormal, nextGradient, nextRSS
		damping /= 10
		if small {
			break
		}
	}
	return powerResult(b, normal, rss, len(x))
}

// powerNormal returns JᵀJ, Jᵀr and rᵀr at b.
func powerNormal(x, y []float64, b [2]float64) (*mat.SymDense, [2]float64, float64) {
	n := mat.NewSymDense(2, nil)
	var g [2]float64
	var rss float64
	for i := range x {
		d0 := math.Pow(x[i], b[1])
		d1 := b[0] * d0 * math.Log(x[i])
		r := y[i] - b[0]*d0
		n.SetSym(0, 0, n.At(0, 0)+d0*d0)
		n.SetSym(0, 1, n.At(0, 1)+d0*d1)
		n.SetSym(1, 1, n.At(1, 1)+d1*d1)
		g[0] += d0 * r
		g[1] += d1 * r
		rss += r * r
	}
	return n, g, rss
}

func dampedStep(n *mat.SymDense, g [2]float64, damping float64) ([2]float64, bool) {
	a := mat.NewSymDense(2, []float64{
		n.At(0, 0) * (1 + damping), n.At(0, 1),
		n.At(0, 1), n.At(1, 1) * (1 + damping),
	})
	var chol mat.Cholesky
	var s mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&s, mat.NewVecDense(2, g[:])) != nil {
		return [2]float64{}, false
	}
	return [2]float64{s.AtVec(0), s.AtVec(1)}, true
}

func powerResult(b [2]float64, normal *mat.SymDense, rss float64, n int) (PowerFit, error) {
	var chol mat.Cholesky
	var cov mat.SymDense
	if !chol.Factorize(normal) || chol.InverseTo(&cov) != nil {
		return PowerFit{}, errors.New("cannot give standard errors: x holds too few distinct values")
	}
	sd := math.Sqrt(rss / float64(n-2))
	return PowerFit{
		Factor: b[0], Exponent: b[1],
		FactorSE: sd * math.Sqrt(cov.At(0, 0)), ExponentSE: sd * math.Sqrt(cov.At(1, 1)),
		RSS: rss, ResidualSD: sd,
	}, nil
}
