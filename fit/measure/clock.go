package measure

import (
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

// clock is what the times of change say about a device's reports.
type clock struct {
	period    float64 // seconds; 0 if unknown
	low, high float64 // interval of the period
	n         int     // changes used
	atLeast   bool    // a lower bound of the rate only
	how       string
}

const (
	windowSeconds = 0.5  // long enough for 30 reports at 60 Hz
	leastChanges  = 12   // in a window
	leastWindows  = 6    // a scatter of fewer says nothing
	busyShare     = 0.75 // of the most changes: such windows count
	fastRows      = 1.5  // rows a report: below, a report that missed its row looks like a slower device
	clearRows     = 2.5  // rows a report: above, a missed change can be told
	fullShare     = 0.97 // of the upper rates: a window short of it holds repeats
	missedShare   = 0.008
	movingSteps   = 3.0 // steps a change: above, no report repeats a count
)

// window is half a second of a device's changes.
type window struct {
	times []float64 // seconds, of the rows in which any axis changed
	moved float64   // median of the changes' largest size, steps
	ones  float64   // share of changes by a single step
}

// deviceClock estimates a device's report interval from the times at which any
// of its axes changes, as a device sends its axes together. A quiet axis
// changes rarely, so only the busiest windows count.
//
// Where a report lasts several rows, the intervals between changes are whole
// numbers of report intervals, and dividing each by the nearest number takes
// out the reports that changed nothing. Where it lasts hardly two rows, the
// grid of the rows blurs one interval into two; there the changes are counted
// in windows that move so fast that every report differs.
func deviceClock(rec *input.Recording, cols []int, step []float64, rowTime float64) clock {
	all := changeWindows(rec, cols, step)
	busy := busiest(all)
	if len(busy) < leastWindows || rowTime <= 0 {
		return clock{}
	}
	rates := make([]float64, len(busy))
	for i, w := range busy {
		rates[i] = w.rate()
	}
	period := 1 / stats.Quantile7(rates, 0.75)
	switch {
	case period < fastRows*rowTime:
		return clock{period: period, n: changes(busy), atLeast: true,
			how: "lower bound: the counts change at nearly every sample, so the device reports at least as fast as it was sampled; no interval"}
	case period < clearRows*rowTime:
		return countedClock(busy, movedAxes(rec, cols))
	}
	return dividedClock(busy, period)
}

// movedAxes counts the columns that change at all.
func movedAxes(rec *input.Recording, cols []int) int {
	n := 0
	for _, c := range cols {
		if len(distinct(rec.Columns[c])) > 1 {
			n++
		}
	}
	return max(1, n)
}

func (w window) rate() float64 {
	return float64(len(w.times)-1) / (w.times[len(w.times)-1] - w.times[0])
}

func changes(windows []window) int {
	n := 0
	for _, w := range windows {
		n += len(w.times)
	}
	return n
}

// changeWindows cuts the rows in which the device changed into windows.
// Absences and pauses end a window.
func changeWindows(rec *input.Recording, cols []int, step []float64) []window {
	var out []window
	var w window
	var size []float64
	start := math.Inf(-1)
	flush := func() {
		if len(w.times) >= leastChanges {
			w.moved = stats.Median(size)
			for _, v := range size {
				if v < 1.5 {
					w.ones += 1 / float64(len(size))
				}
			}
			out = append(out, w)
		}
		w, size = window{}, nil
	}
	for i := 1; i < len(rec.TimesUS); i++ {
		t := float64(rec.TimesUS[i]) * 1e-6
		pause := t-float64(rec.TimesUS[i-1])*1e-6 > gapSeconds
		if t-start >= windowSeconds || pause {
			flush()
			start = t
		}
		most := 0.0
		for k, c := range cols {
			col := rec.Columns[c]
			if col.PresentAt(i) && col.PresentAt(i-1) {
				most = math.Max(most, math.Abs(float64(col.Counts[i])-float64(col.Counts[i-1]))/step[k])
			}
		}
		if most > 0 && !pause {
			w.times = append(w.times, t)
			size = append(size, most)
		}
	}
	flush()
	return out
}

// busiest are the windows with nearly as many changes as the fullest.
func busiest(all []window) []window {
	counts := make([]float64, len(all))
	for i, w := range all {
		counts[i] = float64(len(w.times))
	}
	most := stats.Quantile7(counts, 0.98) // one odd window must not set the mark
	var busy []window
	for _, w := range all {
		if float64(len(w.times)) >= busyShare*most {
			busy = append(busy, w)
		}
	}
	return busy
}

// countedClock counts changes where motion makes nearly every report differ.
// Of those that do not, there is about one for every 3ᵏ−1 whose largest change
// over k axes is a single step up or down, as the density of changes is flat
// over so few steps.
func countedClock(busy []window, axes int) clock {
	var rates []float64
	n := 0
	all := make([]float64, len(busy))
	for i, w := range busy {
		all[i] = w.rate()
	}
	repeats := 1 / (math.Pow(3, float64(axes)) - 1)
	full := fullShare * stats.Quantile7(all, 0.75)
	for _, w := range busy {
		if w.moved >= movingSteps && w.rate() >= full {
			rates = append(rates, w.rate()*(1+w.ones*repeats))
			n += len(w.times)
		}
	}
	if len(rates) < leastWindows {
		for _, w := range busy {
			rates = append(rates, w.rate())
		}
		return clock{period: 1 / stats.Quantile7(rates, 0.9), n: changes(busy), atLeast: true,
			how: "lower bound: reports that repeat a count cannot be told at this sampling rate; no interval"}
	}
	mean, low, high := stats.MeanInterval(rates, 0.95)
	// Some reports fall between two rows, others repeat a count: neither share
	// is known to better than this.
	low, high = low-missedShare*mean, high+missedShare*mean
	return clock{period: 1 / mean, low: 1 / high, high: 1 / low, n: n,
		how: "changes of any axis of the device per second, in half seconds that move by three steps or more a report, a share of the single steps added for reports that repeat; interval from their scatter, and 0.8 % for reports that fell between two samples"}
}

// dividedClock divides the intervals between changes by whole numbers.
func dividedClock(busy []window, period float64) clock {
	var per []float64
	for range 8 {
		per = per[:0]
		sum, reports := 0.0, 0.0
		for _, w := range busy {
			span, k := countReports(w.times, period)
			if k > 0 {
				per = append(per, span/k)
			}
			sum += span
			reports += k
		}
		if reports == 0 {
			return clock{}
		}
		period = sum / reports
	}
	mean, low, high := stats.MeanInterval(per, 0.95)
	return clock{period: period, low: low + period - mean, high: high + period - mean, n: changes(busy),
		how: "from the times of change of any axis of the device, each interval divided by its whole number of report intervals; interval from the scatter of half seconds"}
}

// countReports sums the intervals of up to 2½ periods in a window, and how
// many report intervals they hold.
func countReports(changes []float64, period float64) (span, reports float64) {
	for i := 1; i < len(changes); i++ {
		d := changes[i] - changes[i-1]
		if d > 2.5*period {
			continue
		}
		span += d
		reports += math.Max(1, math.Round(d/period))
	}
	return span, reports
}
