package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// SavitzkyGolay returns the weights that give, from an odd window of evenly
// spaced values, the derivative-th derivative (per sample spacing) at the
// window's middle of the polynomial of the given degree fitted to them.
// Weights stand in the order of the samples.
//
// Source: Savitzky & Golay, Analytical Chemistry 36 (1964) 1627, errata
// Steinier (1972).
func SavitzkyGolay(window, degree, derivative int) ([]float64, error) {
	if window < 1 || window%2 == 0 || degree < 0 || degree >= window || derivative < 0 || derivative > degree {
		return nil, fmt.Errorf("no smoothing weights for window %d, degree %d, derivative %d: take an odd window above the degree and a derivative up to the degree", window, degree, derivative)
	}
	return localWeights(window, window/2, degree, derivative), nil
}

// localWeights are the weights for the value (or derivative) at position at of
// the window: derivative! times row `derivative` of the pseudo-inverse.
func localWeights(window, at, degree, derivative int) []float64 {
	half := math.Max(1, float64(window/2))
	offsets := make([]float64, window)
	for i := range offsets {
		offsets[i] = float64(i - at)
	}
	var qr mat.QR
	qr.Factorize(vandermonde(offsets, half, degree+1))
	var pinv mat.Dense
	// Full rank: the offsets are distinct and more than the degree.
	if err := qr.SolveTo(&pinv, false, identity(window)); err != nil {
		panic("stats: distinct offsets gave a singular fit: " + err.Error())
	}
	w := mat.Row(nil, derivative, &pinv)
	floats.Scale(math.Gamma(float64(derivative)+1)/math.Pow(half, float64(derivative)), w)
	return w
}

func identity(n int) *mat.DiagDense { return mat.NewDiagDense(n, ones(n)) }

// localDegree is that of the parabola LocalFit slides along.
const localDegree = 2

// LocalFit returns x smoothed by a parabola fitted to each window of evenly
// spaced samples (odd; an even one is widened by one). Within half a window of
// an end the parabola of the outermost window is used. A window longer than x
// is shortened to it; below 3 it does nothing.
//
// Source: [SavitzkyGolay].
func LocalFit(x []float64, window int) []float64 {
	fit, _ := localFit(x, window)
	return fit
}

// LocalResiduals returns x less [LocalFit], each divided by √(1−w) where w is
// the weight of the value itself in its own fit, so that for independent noise
// of deviation σ on a slow motion every residual has deviation σ. The residual
// of a value that its fit must pass through is NaN (window below 5 at an end).
//
// Source: leverage of linear smoothers, e.g. Hastie, Tibshirani & Friedman,
// Elements of Statistical Learning, section 5.4.1 (from memory).
func LocalResiduals(x []float64, window int) []float64 {
	fit, own := localFit(x, window)
	for i := range fit {
		free := 1 - own[i]
		if free < 1e-9 {
			fit[i] = math.NaN()
			continue
		}
		fit[i] = (x[i] - fit[i]) / math.Sqrt(free)
	}
	return fit
}

// localFit also returns each value's weight in its own fit.
func localFit(x []float64, window int) (fit, own []float64) {
	n := len(x)
	window = min(window|1, n-(n+1)%2)
	if window < 3 {
		return slices.Clone(x), ones(n)
	}
	fit, own = make([]float64, n), make([]float64, n)
	half := window / 2
	middle := localWeights(window, half, localDegree, 0)
	for i := half; i+half < n; i++ {
		fit[i] = floats.Dot(middle, x[i-half:i+half+1])
		own[i] = middle[half]
	}
	for i := range half {
		w := localWeights(window, i, localDegree, 0)
		fit[i], own[i] = floats.Dot(w, x[:window]), w[i]
		slices.Reverse(w)
		last := n - 1 - i
		fit[last], own[last] = floats.Dot(w, x[n-window:]), w[window-1-i]
	}
	return fit, own
}
