package stats

import (
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
	"gonum.org/v1/gonum/floats"
)

// Welch returns the one-sided power spectral density of x, sampled at rate per
// second, at len(freq) = segment/2+1 frequencies in hertz; psd is in (unit of
// x)²/Hz. Segments overlap by half, each has its mean removed and is weighted
// by a periodic Hann window. A segment longer than x is shortened to it. Fewer
// than two values, or a segment below 2, give nothing.
//
// Source: Welch, IEEE Trans. Audio Electroacoustics 15 (1967) 70; conventions
// of scipy.signal.welch.
func Welch(x []float64, rate float64, segment int) (freq, psd []float64) {
	segment = min(segment, len(x))
	if segment < 2 {
		return nil, nil
	}
	w := hannPeriodic(segment)
	step := segment - segment/2
	n := 0
	for i := 0; i+segment <= len(x); i += step {
		p := density(x[i:i+segment], w, rate)
		if psd == nil {
			psd = p
		} else {
			floats.Add(psd, p)
		}
		n++
	}
	floats.Scale(1/float64(n), psd)
	return frequencies(segment, rate), psd
}

// density returns |FFT(w·(x−mean))|² / (rate Σw²), doubled where a negative
// frequency has its share: everywhere but at 0 and at half the rate.
func density(x, w []float64, rate float64) []float64 {
	d := deviations(x)
	floats.Mul(d, w)
	c := fourier.NewFFT(len(d)).Coefficients(nil, d)
	scale := 1 / (rate * floats.Dot(w, w))
	p := make([]float64, len(c))
	for k, v := range c {
		p[k] = scale * (real(v)*real(v) + imag(v)*imag(v))
		if k > 0 && 2*k != len(x) {
			p[k] *= 2
		}
	}
	return p
}

func frequencies(n int, rate float64) []float64 {
	f := make([]float64, n/2+1)
	for k := range f {
		f[k] = float64(k) * rate / float64(n)
	}
	return f
}

// hannPeriodic drops the last point of gonum's window, which is symmetric.
func hannPeriodic(n int) []float64 {
	return window.Hann(ones(n + 1))[:n]
}

func ones(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 1
	}
	return w
}
