package stats

import (
	"math"
	"math/cmplx"
	"slices"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"
)

// Comb is the regular grid of moments on which events fall: some of them only,
// each a little off.
type Comb struct {
	Frequency, Low, High float64 // hertz; 95 % interval
	Coherence            float64 // 1 where every event falls on its moment, 0 by chance

	start  float64 // seconds, from which phases count
	length float64 // seconds of a stretch in which the grid holds
	phase  []combPhase
}

// combPhase is by how many cycles the grid is late in a stretch.
type combPhase struct{ number, late float64 }

const (
	combRows   = 4096 // rows whose spectrum is taken at once
	combNoise  = 12.0 // times the power of events by chance
	combShare  = 0.35 // of the power that the rows leave to a comb
	combMost   = 6.0  // and of it, if rows and comb keep step
	combHolds  = 0.8  // of the power that a doubled stretch must keep
	combBlocks = 40   // for the interval
	combEvents = 20   // in a block of it
	combLeast  = 6    // blocks
	combClose  = 0.06 // of the rows' frequency: mirror images closer than this blur alike
	combSteps  = 12.0 // rows after which comb and rows may meet again

	combSpectra = 200 // stretches whose spectra are taken: the fullest
)

// FindComb finds the comb of the lowest frequency from least to most, hertz,
// on which events at the given rising times, seconds, fall. The times are known
// to a row only, which is so many seconds long: an event within a row is taken
// to be at its middle, which leaves a comb of frequency f the share
// sin(πf·row)/(πf·row) of its coherence. It is false where there is none.
//
// The frequency is where the power |Σ exp(2πi f t)|² peaks, first within
// stretches of 4096 rows, then over longer and longer ones as long as the grid
// holds; the interval comes from the scatter of the phases of blocks about a
// straight line. Pauses between the times do no harm.
//
// A frequency above half of that of the rows has a mirror image below it; of
// the two the one whose blur fits the coherence is taken, or, close to half, the
// one that the shortest times between events fit. There, too, a power
// far above that of a comb is taken for something slow.
//
// Source: Bartlett, The spectral analysis of point processes, J. Royal
// Statistical Society B 25 (1963) 264 (power of events; from memory).
func FindComb(t []float64, row, least, most float64) (Comb, bool) {
	if len(t) < combLeast*combEvents || !(row > 0) || !(least > 0) || least >= most {
		return Comb{}, false
	}
	f, ok := combPeak(t, row, least, most)
	if !ok {
		return Comb{}, false
	}
	c := Comb{start: t[0]}
	c.settle(t, f, combRows*row)
	if other := 1/row - c.Frequency; other > c.Frequency && other <= most && c.upper(t, row, c.Frequency, other) {
		c.settle(t, other, combRows*row)
	}
	if !c.bound(t, row) {
		return Comb{}, false
	}
	return c, true
}

// upper tells whether events belong to a comb of frequency other, above half of
// that of the rows, rather than to one of frequency f, its mirror image below.
// Close to half, where both blur alike, the moments themselves tell: most are two
// rows apart, and of the rest more are one row apart than three if they come
// faster than every other row.
func (c *Comb) upper(t []float64, row, f, other float64) bool {
	if other-f < combClose/row {
		ones, threes := 0, 0
		for i := 1; i < len(t); i++ {
			switch math.Round((t[i] - t[i-1]) / row) {
			case 1:
				ones++
			case 3:
				threes++
			}
		}
		if ones+threes > combEvents {
			return ones > threes
		}
	}
	return math.Abs(c.Coherence-sinc(other*row)) < math.Abs(c.Coherence-sinc(f*row))
}

// combPeak is the lowest peak of the events' power that stands clear.
func combPeak(t []float64, row, least, most float64) (float64, bool) {
	power, all, squares := eventPower(t, row)
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

// eventPower sums |Σ exp(2πi f t)|² over stretches of combRows rows, the fullest
// where there are many, at multiples of half of their resolution; all is the
// number of events and squares the sum of the squares of the stretches' numbers:
// the power by chance, and that of a perfect comb.
func eventPower(t []float64, row float64) (power []float64, all, squares float64) {
	fft := fourier.NewFFT(2 * combRows)
	x := make([]float64, 2*combRows)
	power = make([]float64, combRows+1)
	var spectrum []complex128
	for _, stretch := range fullest(cutStretches(t, row), combSpectra) {
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
	}
	return power, all, squares
}

// cutStretches cuts events into stretches of combRows rows, each from an event.
func cutStretches(t []float64, row float64) [][]float64 {
	var out [][]float64
	from := 0
	for i, at := range t {
		if math.Round((at-t[from])/row) >= combRows {
			out = append(out, t[from:i])
			from = i
		}
	}
	return append(out, t[from:])
}

// fullest keeps the stretches with the most events, in order of time.
func fullest(all [][]float64, most int) [][]float64 {
	if len(all) <= most {
		return all
	}
	sizes := make([]int, len(all))
	for i, s := range all {
		sizes[i] = len(s)
	}
	slices.Sort(sizes)
	least := sizes[len(sizes)-most]
	return slices.DeleteFunc(all, func(s []float64) bool { return len(s) < least })
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// stretch is the mean phasor of the events of one stretch of time, and their
// number. Stretches without an event are left out: what a pause costs must not
// depend on how long it is.
type stretch struct {
	number float64 // of the stretch, whole, from 0
	mean   complex128
	n      float64
}

// stretches sums up the events at a frequency by stretches of the given length.
func (c *Comb) stretches(t []float64, f, length float64) []stretch {
	var out []stretch
	for _, at := range t {
		number := math.Floor((at - c.start) / length)
		if k := len(out); k == 0 || out[k-1].number != number {
			out = append(out, stretch{number: number})
		}
		s := &out[len(out)-1]
		s.mean += cmplx.Rect(1, 2*math.Pi*f*(at-c.start))
		s.n++
	}
	for i := range out {
		out[i].mean /= complex(out[i].n, 0)
	}
	return out
}

// bundle is events so close together that a small change of frequency turns all
// of their phasors alike: it turns their sum as an event at their mean time.
type bundle struct {
	at, n float64
	sum   complex128
}

// combBundles is how many of them a stretch has: the scores that settle compares
// are then right to some 2e-4 where it looks farthest, and closer near the top.
const combBundles = 64

// bundles sums up the events at a frequency, length by length.
func (c *Comb) bundles(t []float64, f, length float64) []bundle {
	var out []bundle
	last := math.Inf(-1)
	for _, at := range t {
		if number := math.Floor((at - c.start) / length); number != last {
			out, last = append(out, bundle{}), number
		}
		b := &out[len(out)-1]
		b.at, b.n = b.at+at-c.start, b.n+1
		b.sum += cmplx.Rect(1, 2*math.Pi*f*(at-c.start))
	}
	for i := range out {
		out[i].at /= out[i].n
	}
	return out
}

// score is how well events hold to a frequency that is off by so much from that
// of their bundles: the power of their phasors within stretches, as a share of
// what a perfect comb has.
func score(bundles []bundle, off, length float64) float64 {
	power, all := 0.0, 0.0
	for i := 0; i < len(bundles); {
		number := math.Floor(bundles[i].at / length)
		sum, n := complex(0, 0), 0.0
		for ; i < len(bundles) && math.Floor(bundles[i].at/length) == number; i++ {
			b := bundles[i]
			sum += b.sum * cmplx.Rect(1, 2*math.Pi*off*b.at)
			n += b.n
		}
		power += real(sum)*real(sum) + imag(sum)*imag(sum)
		all += n * n
	}
	return power / all
}

// joined puts the bundles of a doubled stretch together, two by two, at a
// frequency that is off by so much.
func joined(bundles []bundle, off, length float64) []bundle {
	var out []bundle
	last := math.Inf(-1)
	for _, b := range bundles {
		if number := math.Floor(b.at / length); number != last {
			out, last = append(out, bundle{}), number
		}
		to := &out[len(out)-1]
		to.at = (to.at*to.n + b.at*b.n) / (to.n + b.n)
		to.n += b.n
		to.sum += b.sum * cmplx.Rect(1, 2*math.Pi*off*b.at)
	}
	return out
}

// settle narrows the frequency down over stretches that double in length until
// they hold all events, or until the grid no longer holds so long.
func (c *Comb) settle(t []float64, f, length float64) {
	bundles, of := c.bundles(t, f, length/combBundles), f
	best := func(f, length float64) (float64, float64) {
		at := func(x float64) float64 { return score(bundles, x-of, length) }
		top, from := -1.0, f
		for k := -6; k <= 6; k++ {
			x := f + 0.1*float64(k)/length
			if s := at(x); s > top {
				top, from = s, x
			}
		}
		x := GoldenMax(at, from-0.1/length, from+0.1/length, 3)
		return x, at(x)
	}
	whole := t[len(t)-1] - c.start
	f, top := best(f, length)
	for length < whole {
		next, s := best(f, 2*length)
		if s < combHolds*top {
			break
		}
		bundles, of = joined(bundles, next-of, 2*length/combBundles), next
		f, top, length = next, s, 2*length
	}
	c.Frequency, c.length, c.Coherence = f, length, math.Sqrt(top)
}

// bound corrects the frequency by the slope of the blocks' phases, gives it an
// interval and keeps the phases. It is false for too few blocks. Where comb and
// rows keep step, half a row over the whole time is added to what is not known.
func (c *Comb) bound(t []float64, row float64) bool {
	var at, phase, weight []float64
	whole := t[len(t)-1] - c.start
	last := 0.0
	for _, s := range c.stretches(t, c.Frequency, whole/combBlocks) {
		if s.n < combEvents {
			continue
		}
		p := cmplx.Phase(s.mean) / (2 * math.Pi)
		p -= math.Round(p - last)
		last = p
		at = append(at, (s.number+0.5)*whole/combBlocks)
		phase, weight = append(phase, p), append(weight, s.n)
	}
	if len(at) < combLeast {
		return false
	}
	a, slope := stat.LinearRegression(at, phase, weight, false)
	var rss, sxx float64
	m := stat.Mean(at, weight)
	for i := range at {
		r := phase[i] - a - slope*at[i]
		rss += weight[i] * r * r
		sxx += weight[i] * (at[i] - m) * (at[i] - m)
	}
	free := float64(len(at) - 2)
	half := tQuantile(0.975, free) * math.Sqrt(rss/free/sxx)
	c.Frequency -= slope
	if inStep(c.Frequency*row, whole/row) {
		half = math.Max(half, c.Frequency*row/whole/2)
	}
	c.Low, c.High = c.Frequency-half, c.Frequency+half
	c.keepPhases(t)
	return true
}

// inStep tells whether a comb of so many moments a row keeps step with the rows
// over so many of them: it then wanders by less than a row against them, of
// which their blur shows nothing.
func inStep(perRow, rows float64) bool {
	for q := 1.0; q <= combSteps; q++ {
		if math.Abs(perRow*q-math.Round(perRow*q))*rows < 1 {
			return true
		}
	}
	return false
}

// keepPhases keeps how late the grid is in every stretch in which it holds.
func (c *Comb) keepPhases(t []float64) {
	last := 0.0
	for _, s := range c.stretches(t, c.Frequency, c.length) {
		if s.n >= combEvents {
			p := cmplx.Phase(s.mean) / (2 * math.Pi)
			last = p - math.Round(p-last)
		}
		c.phase = append(c.phase, combPhase{s.number, last})
	}
}

// phaseOf is how late the grid is in a stretch: as late as in the one before
// where nothing was seen of it.
func (c Comb) phaseOf(number float64) float64 {
	after := sort.Search(len(c.phase), func(i int) bool { return c.phase[i].number > number })
	return c.phase[max(after, 1)-1].late
}

// Cycles is how many moments of the comb have passed at time t, seconds; the
// last one passed where it is whole.
func (c Comb) Cycles(t float64) float64 {
	// Phases are those of the middles of the stretches; straight between them.
	at := (t-c.start)/c.length - 0.5
	i := math.Floor(at)
	low, high := c.phaseOf(i), c.phaseOf(i+1)
	return (t-c.start)*c.Frequency - low - (at-i)*(high-low)
}
