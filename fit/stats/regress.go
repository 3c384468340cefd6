package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// PolyResult is a least-squares polynomial Σ Coef[j] xʲ.
type PolyResult struct {
	Coef       []float64 // constant first
	SE         []float64 // standard errors of Coef
	RSS        float64   // residual sum of squares, unit of y squared
	ResidualSD float64   // √(RSS/DF), unit of y; NaN when DF is 0
	DF         int       // values less coefficients
}

// At returns the polynomial at x.
func (p PolyResult) At(x float64) float64 {
	var y float64
	for _, c := range slices.Backward(p.Coef) {
		y = y*x + c
	}
	return y
}

// Interval returns the Student-t interval of coefficient j at the given level.
func (p PolyResult) Interval(j int, level float64) (low, high float64) {
	if p.DF < 1 {
		return math.Inf(-1), math.Inf(1)
	}
	half := tQuantile((1+level)/2, float64(p.DF)) * p.SE[j]
	return p.Coef[j] - half, p.Coef[j] + half
}

// PolyFit fits a polynomial of the given degree to y(x) by least squares, by
// QR decomposition with columns scaled to |x| ≤ 1 and one step of iterative
// refinement. len(x) must equal len(y) and exceed the degree; x must hold more
// distinct values than the degree.
//
// Source: Golub & Van Loan, Matrix Computations, section 5.3.
func PolyFit(x, y []float64, degree int) (PolyResult, error) {
	n, k := len(x), degree+1
	if len(y) != n || degree < 0 || n < k {
		return PolyResult{}, fmt.Errorf("cannot fit a polynomial of degree %d to %d x and %d y values: give as many y as x and at least %d", degree, n, len(y), max(1, k))
	}
	scale := largestMagnitude(x)
	if scale == 0 {
		scale = 1
	}
	a := vandermonde(x, scale, k)
	var qr mat.QR
	qr.Factorize(a)
	b, r := mat.NewVecDense(n, slices.Clone(y)), mat.NewVecDense(n, nil)
	coef, step := mat.NewVecDense(k, nil), mat.NewVecDense(k, nil)
	for range 2 {
		r.MulVec(a, coef)
		r.SubVec(b, r)
		if err := qr.SolveVecTo(step, false, r); err != nil {
			return PolyResult{}, fmt.Errorf("cannot fit a polynomial of degree %d: x holds too few distinct values: %w", degree, err)
		}
		coef.AddVec(coef, step)
	}
	r.MulVec(a, coef)
	r.SubVec(b, r)
	return polyResult(&qr, coef, mat.Dot(r, r), n, scale)
}

func polyResult(qr *mat.QR, coef *mat.VecDense, rss float64, n int, scale float64) (PolyResult, error) {
	k := coef.Len()
	p := PolyResult{RSS: rss, DF: n - k, ResidualSD: math.NaN(), Coef: make([]float64, k), SE: make([]float64, k)}
	if p.DF > 0 {
		p.ResidualSD = math.Sqrt(rss / float64(p.DF))
	}
	var full mat.Dense
	qr.RTo(&full)
	var inv mat.Dense
	if err := inv.Inverse(full.Slice(0, k, 0, k)); err != nil {
		return PolyResult{}, fmt.Errorf("cannot give standard errors: x holds too few distinct values: %w", err)
	}
	for j := range k {
		unit := math.Pow(scale, float64(j))
		row := inv.RowView(j)
		p.Coef[j] = coef.AtVec(j) / unit
		p.SE[j] = p.ResidualSD * math.Sqrt(mat.Dot(row, row)) / unit
	}
	return p, nil
}

func vandermonde(x []float64, scale float64, k int) *mat.Dense {
	a := mat.NewDense(len(x), k, nil)
	for i, v := range x {
		p := 1.0
		for j := range k {
			a.Set(i, j, p)
			p *= v / scale
		}
	}
	return a
}

func largestMagnitude(x []float64) float64 {
	var m float64
	for _, v := range x {
		m = math.Max(m, math.Abs(v))
	}
	return m
}

// Line is a least-squares straight line, y = Intercept + Slope·x.
type Line struct {
	Intercept, Slope     float64
	InterceptSE, SlopeSE float64 // standard errors, independent residuals assumed
	ResidualSD           float64 // divisor n−2, unit of y
	N                    int
}

// LinearRegression fits a straight line to y(x) by least squares. It needs at
// least three values and two distinct x.
//
// Source: coefficients by gonum; standard errors as in NIST/SEMATECH e-Handbook
// of Statistical Methods, 4.4.3 (checked against StRD Norris).
func LinearRegression(x, y []float64) (Line, error) {
	n := len(x)
	if len(y) != n || n < 3 {
		return Line{}, fmt.Errorf("cannot fit a line to %d x and %d y values: give as many y as x and at least 3", n, len(y))
	}
	mx := stat.Mean(x, nil)
	sxx := lagSum(deviations(x), 0)
	if sxx == 0 {
		return Line{}, errors.New("cannot fit a line: all x are the same")
	}
	l := Line{N: n}
	l.Intercept, l.Slope = stat.LinearRegression(x, y, nil, false)
	var rss float64
	for i := range x {
		r := y[i] - l.Intercept - l.Slope*x[i]
		rss += r * r
	}
	l.ResidualSD = math.Sqrt(rss / float64(n-2))
	l.SlopeSE = l.ResidualSD / math.Sqrt(sxx)
	l.InterceptSE = l.ResidualSD * math.Sqrt(1/float64(n)+mx*mx/sxx)
	return l, nil
}
