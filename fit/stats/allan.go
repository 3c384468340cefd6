package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// AllanPoint is the Allan deviation at one averaging time.
type AllanPoint struct {
	M         int     // averaging factor, samples
	Tau       float64 // averaging time M/rate, seconds
	Deviation float64 // unit of the data
	EDF       float64 // equivalent degrees of freedom for white noise
	Low, High float64 // 95 % interval, white noise assumed
}

// AllanDeviation returns the overlapping Allan deviation of frequency-type
// data (counts of an axis are treated as such: white noise then falls as
// τ^−½, wander rises) sampled at rate per second, for each averaging factor
// in m, 1 ≤ m ≤ len/2; factors out of range are left out. With the phase
// x_k = Σ_{i<k} y_i (N = len+1 values),
//
//	σ²(m) = Σ_{i<N−2m} (x_{i+2m} − 2x_{i+m} + x_i)² / (2 (N−2m) m²).
//
// The interval is chi-squared with [AllanEDFWhite] degrees of freedom.
//
// Source: Riley, Handbook of Frequency Stability Analysis, NIST SP 1065
// (2008), section 5.2.4 (estimator), 5.3.1 (interval).
func AllanDeviation(freqData []float64, rate float64, m []int) []AllanPoint {
	phase := phaseOf(freqData)
	var out []AllanPoint
	for _, f := range m {
		if f < 1 || 2*f > len(freqData) {
			continue
		}
		dev := math.Sqrt(secondDifferences(phase, f))
		p := AllanPoint{M: f, Tau: float64(f) / rate, Deviation: dev, EDF: AllanEDFWhite(len(phase), f)}
		chi := distuv.ChiSquared{K: p.EDF}
		p.Low = dev * math.Sqrt(p.EDF/chi.Quantile(0.975))
		p.High = dev * math.Sqrt(p.EDF/chi.Quantile(0.025))
		out = append(out, p)
	}
	return out
}

// AllanEDFWhite returns the equivalent degrees of freedom of the overlapping
// Allan variance of white frequency noise from n phase points (one more than
// frequency values) at averaging factor m:
//
//	edf = (3(n−1)/(2m) − 2(n−2)/n) · 4m²/(4m²+5).
//
// It is never less than 1.
//
// Source: NIST SP 1065, section 5.4.1, after Howe, Allan & Barnes (1981);
// quoted from memory and checked by simulation in the tests.
func AllanEDFWhite(n, m int) float64 {
	N, M := float64(n), float64(m)
	return math.Max(1, (3*(N-1)/(2*M)-2*(N-2)/N)*4*M*M/(4*M*M+5))
}

// OctaveFactors returns the averaging factors 1, 2, 4 … that leave at least
// four averages of n frequency values.
func OctaveFactors(n int) []int {
	var m []int
	for f := 1; 4*f <= n; f *= 2 {
		m = append(m, f)
	}
	return m
}

// phaseOf sums y less its mean; the mean only adds a ramp, which second
// differences remove, but which would cost digits.
func phaseOf(y []float64) []float64 {
	phase := make([]float64, len(y)+1)
	for i, v := range deviations(y) {
		phase[i+1] = phase[i] + v
	}
	return phase
}

// secondDifferences returns the Allan variance from the second differences of
// the phase.
func secondDifferences(phase []float64, m int) float64 {
	var sum float64
	n := 0
	for i := 0; i+2*m < len(phase); i++ {
		d := phase[i+2*m] - 2*phase[i+m] + phase[i]
		sum += d * d
		n++
	}
	return sum / (2 * float64(n) * float64(m) * float64(m))
}
