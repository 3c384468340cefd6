package measure

import (
	"iter"
	"math"

	"halfstick/fit/stats"
)

// clock is what the times of change say about a device's reports.
type clock struct {
	period    float64 // seconds; 0 if unknown
	low, high float64 // interval of the period
	n         int     // changes used
	atLeast   bool    // a lower bound of the rate only
	comb      *stats.Comb
	how       string
}

// thins tells whether the reports are so much slower than the rows that some
// stand in more than one.
func (c clock) thins(rowTime float64) bool {
	return c.period > 0 && !c.atLeast && (c.comb != nil || c.period > 1.3*rowTime)
}

const (
	windowSeconds = 0.5  // long enough for 30 reports at 60 Hz
	leastChanges  = 12   // in a window
	leastWindows  = 6    // a scatter of fewer says nothing
	busyShare     = 0.75 // of the most changes: such windows count
	clearRows     = 2.5  // rows a report: above, a missed change can be told
	mostRows      = 0.93 // reports a row: nearer to 1 there is no grid to be seen
	mostGap       = 1.12 // reports may come so much late
)

// deviceClock estimates a device's report interval from the times at which any
// of its axes changes, as a device sends its axes together. Reports come on a
// regular grid, so that even few changes, and rows hardly shorter than a
// report, show its frequency. Where no grid is found, intervals between changes
// are divided by the nearest whole number of reports, which takes rows well
// shorter than a report; a quiet axis changes rarely, so only the busiest
// windows count there.
func deviceClock(k *track, cols []int) clock {
	rowTime := k.rowTime
	if rowTime <= 0 {
		return clock{}
	}
	changed := k.changesOf(cols)
	all, gap := changed.pace()
	least := busyFrom(all)
	var rates []float64 // of the busy ones
	for _, w := range all {
		if float64(w.changes) >= least {
			rates = append(rates, w.rate())
		}
	}
	if len(rates) < leastWindows {
		return clock{}
	}
	if c := combClock(changed.moments(), all, gap, rowTime); c.period > 0 {
		c.n = changed.count()
		return c
	}
	period := 1 / stats.Quantile7(rates, 0.75)
	if period < clearRows*rowTime {
		return clock{period: period, n: changed.count(), atLeast: true,
			how: "lower bound: the counts change so often that the device reports about as fast as it was sampled, or faster; no interval"}
	}
	return dividedClock(changed.windows(least), period)
}

// busyFrom is how many changes a busy window has: nearly as many as the fullest.
func busyFrom(all []window) float64 {
	counts := make([]float64, len(all))
	for i, w := range all {
		counts[i] = float64(w.changes)
	}
	return busyShare * stats.Quantile7(counts, 0.98) // one odd window must not set the mark
}

// combClock finds the grid on which the changes fall. The lowest frequency that
// is asked for is that of the changes in the fullest windows, and of the
// shortest gap between changes, in rows: else every other report, or the alias
// between reports and rows, would do as well.
func combClock(moments iter.Seq[float64], all []window, gap, rowTime float64) clock {
	rates := make([]float64, len(all))
	for i, w := range all {
		rates[i] = w.rate()
	}
	least := math.Max(0.95*stats.Quantile7(rates, 0.98), 1/(mostGap*rowTime*(gap+1)))
	comb, ok := stats.FindComb(moments, rowTime, least, mostRows/rowTime)
	if !ok {
		// Reports that come every second row, just as it is read, are seen now
		// in that row and now in the next, which are half a report apart: no
		// grid is left. But where two rows running bring a change, the row
		// between lies in the middle of a report.
		comb, ok = stats.FindComb(runs(moments, rowTime), rowTime, math.Max(least, 0.48/rowTime), 0.52/rowTime)
	}
	if !ok {
		return clock{}
	}
	return clock{period: 1 / comb.Frequency, low: 1 / comb.High, high: 1 / comb.Low, comb: &comb,
		how: "frequency of the regular grid on which the changes of any axis of the device fall; interval from the scatter of the grid's phase"}
}

// runs are the moments half a report after the middles of changes in two rows
// running, for a report of two rows.
func runs(moments iter.Seq[float64], rowTime float64) iter.Seq[float64] {
	return func(yield func(float64) bool) {
		before := math.Inf(-1)
		for at := range moments {
			if at-before < 1.5*rowTime && !yield((at+before)/2+rowTime) {
				return
			}
			before = at
		}
	}
}

// dividedClock divides the intervals between changes by whole numbers.
func dividedClock(busy iter.Seq[[]float64], period float64) clock {
	var per []float64
	n := 0
	for range 8 {
		per, n = per[:0], 0
		sum, reports := 0.0, 0.0
		for times := range busy {
			n += len(times)
			span, k := countReports(times, period)
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
	return clock{period: period, low: low + period - mean, high: high + period - mean, n: n,
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
