package stats

import (
	"iter"
	"math"
	"sort"
)

// Comb is the regular grid of moments on which events fall: some of them only,
// each a little off.
type Comb struct {
	Frequency, Low, High float64 // hertz; 95 % interval
	Coherence            float64 // 1 where every event falls on its moment, 0 by chance

	start  float64 // seconds, from which phases count
	length float64 // seconds of a stretch in which the grid holds
	phases []combPhase
}

// combPhase is by how many cycles the grid is late in a stretch, at the mean time
// of the events there.
type combPhase struct {
	at, late float64 // seconds from the comb's start; cycles
	n        float64 // events
	part     int     // of the events, between pauses longer than the grid holds
}

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

	combSpectra = 40 // stretches whose spectra are taken: the fullest
)

// FindComb finds the comb of the lowest frequency from least to most, hertz,
// on which events at the given rising times, seconds, fall. The times are known
// to a row only, which is so many seconds long: an event within a row is taken
// to be at its middle, which leaves a comb of frequency f the share
// sin(πf·row)/(πf·row) of its coherence. It is false where there is none. The
// events are gone through a few times and never held all at once.
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
func FindComb(events iter.Seq[float64], row, least, most float64) (Comb, bool) {
	if !(row > 0) || !(least > 0) || least >= most {
		return Comb{}, false
	}
	s := surveyOf(events, row)
	if s.n < combLeast*combEvents {
		return Comb{}, false
	}
	f, ok := combPeak(events, s, row, least, most)
	if !ok {
		return Comb{}, false
	}
	c := Comb{start: s.first}
	whole := s.last - s.first
	found := c.settle(events, f, combRows*row, whole)
	if other := 1/row - c.Frequency; other > c.Frequency && other <= most && c.upper(events, row, c.Frequency, other) {
		found = c.settle(events, other, combRows*row, whole)
	}
	if !c.bound(found, whole, row) {
		return Comb{}, false
	}
	return c, true
}

// upper tells whether events belong to a comb of frequency other, above half of
// that of the rows, rather than to one of frequency f, its mirror image below.
// Close to half, where both blur alike, the moments themselves tell: most are two
// rows apart, and of the rest more are one row apart than three if they come
// faster than every other row.
func (c *Comb) upper(events iter.Seq[float64], row, f, other float64) bool {
	if other-f < combClose/row {
		ones, threes := 0, 0
		before := math.Inf(-1)
		for at := range events {
			switch math.Round((at - before) / row) {
			case 1:
				ones++
			case 3:
				threes++
			}
			before = at
		}
		if ones+threes > combEvents {
			return ones > threes
		}
	}
	return math.Abs(c.Coherence-sinc(other*row)) < math.Abs(c.Coherence-sinc(f*row))
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// settle narrows the frequency down over stretches that double in length until
// they hold all events, or until the grid no longer holds so long. It gives the
// events' bundles of the first stretches.
func (c *Comb) settle(events iter.Seq[float64], f, length, whole float64) bundles {
	first := c.bundles(events, f, length/combBundles)
	b := first
	f, top := b.best(f, length)
	for length < whole {
		next, s := b.best(f, 2*length)
		if s < combHolds*top {
			break
		}
		b = b.joined(next, 2*length/combBundles)
		f, top, length = next, s, 2*length
	}
	c.Frequency, c.length, c.Coherence = f, length, math.Sqrt(top)
	return first
}

// bound corrects the frequency by the slope of the blocks' phases, gives it an
// interval and keeps the phases. It is false for too few blocks. Where comb and
// rows keep step, half a row over the whole time is added to what is not known.
//
// A grid that wanders is up to half a cycle off over the length in which it holds,
// so phases are told in quarters of it, and those of a block are followed before
// they are averaged.
func (c *Comb) bound(b bundles, whole, row float64) bool {
	block := whole / combBlocks
	blocks := averaged(b.phases(c.Frequency, math.Min(c.length/4, block), c.length), block)
	if len(blocks) < combLeast {
		return false
	}
	slope, half, ok := slopeOf(blocks)
	if !ok {
		return false
	}
	c.Frequency -= slope
	if inStep(c.Frequency*row, whole/row) {
		half = math.Max(half, c.Frequency*row/whole/2)
	}
	c.Low, c.High = c.Frequency-half, c.Frequency+half
	c.phases = b.phases(c.Frequency, c.length/4, c.length)
	return len(c.phases) > 0
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

// late is how late the grid is at a time, in cycles: straight between the stretches,
// and as late as in the nearest where nothing was seen of it for longer.
func (c Comb) late(at float64) float64 {
	i := sort.Search(len(c.phases), func(i int) bool { return c.phases[i].at > at })
	if i == 0 {
		return c.phases[0].late
	}
	before := c.phases[i-1]
	if i == len(c.phases) {
		return before.late
	}
	after := c.phases[i]
	share := (at - before.at) / (after.at - before.at)
	if after.at-before.at > 2*c.length {
		share = math.Round(share)
	}
	return before.late + share*(after.late-before.late)
}

// Cycles is how many moments of the comb have passed at time t, seconds; the
// last one passed where it is whole.
func (c Comb) Cycles(t float64) float64 {
	at := t - c.start
	return at*c.Frequency - c.late(at)
}
