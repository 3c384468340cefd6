package propose

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"halfstick/curves"
	"halfstick/fit/stats"
)

const (
	smoothSeconds = 0.1 // window of the short smooth fit that stands for the hand
	worstSeconds  = 10.0
)

// bandEdges part the deflection |u| into the bands jitter is given for.
var bandEdges = []float64{0, 0.1, 0.25, 0.5, 0.75, 1}

// squares sums squared jitter.
type squares struct {
	before, after, smoothed float64
	smooth                  bool
	n                       int
}

func (s *squares) add(before, after float64) {
	s.before += before * before
	s.after += after * after
	s.n++
}

// addRow adds a row of residuals, or with a sign of −1 takes it out again.
func (s *squares) addRow(r *residuals, i, sign int) {
	k := float64(sign)
	s.before += k * r.before[i] * r.before[i]
	s.after += k * r.after[i] * r.after[i]
	if s.smooth = r.smoothed != nil; s.smooth {
		s.smoothed += k * r.smoothed[i] * r.smoothed[i]
	}
	s.n += sign
}

func (s *squares) addAboutMean(before, after, smoothed []float64) {
	about := func(y []float64) float64 {
		if len(y) == 0 {
			return 0
		}
		mean, sum := stat.Mean(y, nil), 0.0
		for _, v := range y {
			sum += (v - mean) * (v - mean)
		}
		return sum
	}
	s.before += about(before)
	s.after += about(after)
	s.smoothed += about(smoothed)
	s.smooth = smoothed != nil
	s.n += len(before)
}

// rms returns percent of full command; nil for nothing.
func (s *squares) rms() *JitterRMS {
	if s.n == 0 {
		return nil
	}
	root := func(sum float64) float64 { return 100 * math.Sqrt(math.Max(0, sum)/float64(s.n)) }
	out := &JitterRMS{Before: root(s.before), After: root(s.after), Rows: s.n}
	if s.smooth {
		smoothed := root(s.smoothed)
		out.Smoothed = &smoothed
	}
	return out
}

// residuals are what is faster than a hand, row by row of the moving phases.
type residuals struct {
	at, deflection, before, after []float64
	// smoothed is what is left of after in the mean square, filtered what the
	// filter makes of it row by row; nil without smoothing.
	smoothed, filtered []float64
	breaks             []int // first rows of the stretches
}

// hands are the positions without what is faster than a hand; nil where the
// stretch is too short to tell.
func (p replayedPart) hands() []float64 {
	n := len(p.at)
	perSecond := float64(n-1) / (p.at[n-1] - p.at[0])
	window := max(7, int(smoothSeconds*perSecond)|1)
	if n < window {
		return nil
	}
	hands := stats.LocalResiduals(p.u, window)
	for i, e := range hands {
		hands[i] = p.u[i] - e
	}
	return hands
}

// add returns the hands of the part.
func (r *residuals) add(p replayedPart, straight, proposed *curves.Response) []float64 {
	hands := p.hands()
	if hands == nil {
		return nil
	}
	r.breaks = append(r.breaks, len(r.at))
	for i, hand := range hands {
		r.at = append(r.at, p.at[i])
		r.deflection = append(r.deflection, math.Abs(p.u[i]))
		r.before = append(r.before, straight.Command(p.u[i])-straight.Command(hand))
		r.after = append(r.after, proposed.Command(p.u[i])-proposed.Command(hand))
	}
	if p.alpha != nil {
		r.smooth(p, hands, proposed)
	}
	return hands
}

// smooth works out what smoothing leaves of the noise. The residual lacks what is
// slower than its window, which is what a filter lets through, so filtering it
// would promise too much. Instead the noise of different reports is taken as
// independent: a filter of weight a, run once a report, leaves a/(2−a) of its
// mean square.
func (r *residuals) smooth(p replayedPart, hands []float64, proposed *curves.Response) {
	from, report := len(r.smoothed), reportInterval(p)
	noise := slices.Clone(p.u)
	floats.Sub(noise, hands)
	for i, e := range stats.Smooth(noise, p.alpha) {
		kept := 1.0
		if i > 0 {
			a := report / (report + (p.at[i]-p.at[i-1])*stats.FirstOrderLag(p.alpha[i]))
			kept = a / (2 - a)
		}
		r.smoothed = append(r.smoothed, math.Sqrt(kept)*r.after[from+i])
		r.filtered = append(r.filtered, proposed.Command(p.smoothU[i])-proposed.Command(p.smoothU[i]-e))
	}
}

// reportInterval is the median time between changes of the position, s: the
// device's own reports, which stand in several rows each.
func reportInterval(p replayedPart) float64 {
	var gaps []float64
	last := p.at[0]
	for i := 1; i < len(p.at); i++ {
		if p.u[i] != p.u[i-1] {
			gaps = append(gaps, p.at[i]-last)
			last = p.at[i]
		}
	}
	if len(gaps) == 0 {
		return (p.at[len(p.at)-1] - p.at[0]) / float64(len(p.at)-1)
	}
	return median(gaps)
}

// bands returns the jitter of the bands that have rows.
func (r *residuals) bands() []BandJitter {
	sums := make([]squares, len(bandEdges)-1)
	for i, d := range r.deflection {
		b := 0
		for b+1 < len(sums) && d >= bandEdges[b+1] {
			b++
		}
		sums[b].addRow(r, i, 1)
	}
	var out []BandJitter
	for i := range sums {
		if j := sums[i].rms(); j != nil {
			out = append(out, BandJitter{From: bandEdges[i], To: bandEdges[i+1], JitterRMS: *j})
		}
	}
	return out
}

// worst returns the ten seconds within one stretch with the largest mean square
// jitter before; where no stretch lasts so long, the whole of the worst one.
func (r *residuals) worst() *WorstStretch {
	var best *WorstStretch
	lasts := false
	for k, from := range r.breaks {
		to := len(r.at)
		if k+1 < len(r.breaks) {
			to = r.breaks[k+1]
		}
		long := r.at[to-1]-r.at[from] >= worstSeconds
		if lasts && !long {
			continue
		}
		if w := r.worstOf(from, to); best == nil || long && !lasts || w.Before > best.Before {
			best, lasts = w, long
		}
	}
	return best
}

// worstOf slides ten seconds over the rows of one stretch.
func (r *residuals) worstOf(from, to int) *WorstStretch {
	var sum, best squares
	start, bestFrom, bestTo := from, from, to
	for i := from; i < to; i++ {
		sum.addRow(r, i, 1)
		if i+1 < to && r.at[i+1]-r.at[start] <= worstSeconds {
			continue // not yet full, and not yet the end
		}
		if best.n == 0 || sum.before*float64(best.n) > best.before*float64(sum.n) {
			best, bestFrom, bestTo = sum, start, i+1
		}
		for start < i && i+1 < to && r.at[i+1]-r.at[start] > worstSeconds {
			sum.addRow(r, start, -1)
			start++
		}
	}
	w := &WorstStretch{
		From: r.at[bestFrom], To: r.at[bestTo-1], JitterRMS: *best.rms(),
		NoiseBefore: r.before[bestFrom:bestTo:bestTo], NoiseAfter: r.after[bestFrom:bestTo:bestTo],
	}
	if r.smoothed != nil {
		w.NoiseSmoothed = scaledTo(*w.Smoothed/100, r.filtered[bestFrom:bestTo])
	}
	return w
}

// scaledTo returns x with the given RMS; a constant 0 stays.
func scaledTo(rms float64, x []float64) []float64 {
	out := slices.Clone(x)
	if now := floats.Norm(x, 2) / math.Sqrt(float64(len(x))); now > 0 {
		floats.Scale(rms/now, out)
	}
	return out
}
