package stats

import (
	"math/bits"

	"gonum.org/v1/gonum/dsp/fourier"
)

// lagSums are Σ d_i d_{i+k}, lag by lag, of deviations from a mean. What follows
// itself for long has a million lags of a million values: beyond the first few all
// lags come from the power spectrum at once (Wiener–Khinchin).
type lagSums struct {
	d   []float64
	sum []float64 // of the lags that are known so far
}

// summedLags is for how many lags summing them one by one is sooner done.
const summedLags = 64

func (l *lagSums) at(k int) float64 {
	for k >= len(l.sum) {
		if len(l.sum) < summedLags {
			l.sum = append(l.sum, lagSum(l.d, len(l.sum)))
		} else {
			l.sum = allLagSums(l.d)
		}
	}
	return l.sum[k]
}

// allLagSums are the sums of every lag below the number of values. The values are
// followed by as many zeros or more, so that none meets another round the end.
func allLagSums(d []float64) []float64 {
	size := 1 << bits.Len(uint(2*len(d)-1))
	padded := make([]float64, size)
	copy(padded, d)
	fft := fourier.NewFFT(size)
	spectrum := fft.Coefficients(nil, padded)
	for i, c := range spectrum {
		spectrum[i] = complex((real(c)*real(c)+imag(c)*imag(c))/float64(size), 0)
	}
	return fft.Sequence(padded, spectrum)[:len(d)]
}
