package stats

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// survey is what is to be known of events before a comb is looked for.
type survey struct {
	n           int
	first, last float64 // seconds
	sizes       []int   // events of each stretch
}

func surveyOf(events iter.Seq[float64], row float64) survey {
	var s survey
	for stretch := range stretches(events, row) {
		if s.n == 0 {
			s.first = stretch[0]
		}
		s.n += len(stretch)
		s.last = stretch[len(stretch)-1]
		s.sizes = append(s.sizes, len(stretch))
	}
	return s
}

// stretches cuts events into stretches of combRows rows, each from an event. The
// slice is used again for the next.
func stretches(events iter.Seq[float64], row float64) iter.Seq[[]float64] {
	return func(yield func([]float64) bool) {
		stretch := make([]float64, 0, combRows)
		for at := range events {
			if len(stretch) > 0 && at-stretch[0] >= (combRows-0.5)*row {
				if !yield(stretch) {
					return
				}
				stretch = stretch[:0]
			}
			stretch = append(stretch, at)
		}
		if len(stretch) > 0 {
			yield(stretch)
		}
	}
}

// fullest marks the greatest sizes, so many; of equal ones the first.
func fullest(sizes []int, most int) []bool {
	order := make([]int, len(sizes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(sizes[b], sizes[a]) })
	marked := make([]bool, len(sizes))
	for _, i := range order[:min(most, len(order))] {
		marked[i] = true
	}
	return marked
}

// combPeak is the lowest peak of the events' power that stands clear.
func combPeak(events iter.Seq[float64], s survey, row, least, most float64) (float64, bool) {
	power, all, squares := eventPower(events, s, row)
	df := 1 / (2 * combRows * row)
	// Beyond half the rows' frequency the spectrum of rows repeats, mirrored.
	at := func(i int) float64 { return power[min(i, 2*combRows-i)] }
	for i := max(1, int(math.Ceil(least/df))); i < 2*combRows && float64(i)*df <= most; i++ {
		if at(i) < at(i-1) || at(i) < at(i+1) {
			continue
		}
		f := float64(i) * df
		comb := math.Pow(sinc(f*row), 2) * squares
		if at(i) < math.Max(combNoise*all, combShare*comb) || f > 0.5/row && at(i) > combMost*comb {
			continue
		}
		return f, true
	}
	return 0, false
}

// eventPower sums |Σ exp(2πi f t)|² over stretches, the fullest where there are
// many, at multiples of half of their resolution; all is the number of events and
// squares the sum of the squares of the stretches' numbers: the power by chance,
// and that of a perfect comb.
func eventPower(events iter.Seq[float64], s survey, row float64) (power []float64, all, squares float64) {
	fft := fourier.NewFFT(2 * combRows)
	x := make([]float64, 2*combRows)
	power = make([]float64, combRows+1)
	var spectrum []complex128
	taken := fullest(s.sizes, combSpectra)
	i, left := -1, combSpectra
	for stretch := range stretches(events, row) {
		if i++; !taken[i] {
			continue
		}
		clear(x)
		for _, at := range stretch {
			x[int(math.Round((at-stretch[0])/row))]++
		}
		spectrum = fft.Coefficients(spectrum, x)
		for k, v := range spectrum {
			power[k] += real(v)*real(v) + imag(v)*imag(v)
		}
		n := float64(len(stretch))
		all += n
		squares += n * n
		if left--; left == 0 {
			break
		}
	}
	return power, all, squares
}
