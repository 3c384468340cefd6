package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
)

// clock is what the times of change say about a device's reports.
type clock struct {
	period    float64 // seconds; 0 if unknown
	low, high float64 // interval of the period
	n         int     // report intervals used
	atLeast   bool    // the recorder sampled too slowly to tell
	from      string  // label of the axis that it was read from
}

// activity is a stretch of change times in which an axis moves.
const (
	windowSeconds = 0.5 // long enough for 30 reports at 60 Hz
	leastChanges  = 12  // in a window
	leastWindows  = 6
)

// changeClock estimates the report interval from the times of change. A quiet
// axis changes rarely, so only the busiest quarter of windows counts: there
// the axis moves and nearly every report differs from the one before. The
// intervals between changes are whole numbers of report intervals; dividing
// each by the nearest number removes the reports that changed nothing.
func (s *series) changeClock() clock {
	windows := s.busyWindows()
	if len(windows) < leastWindows {
		return clock{}
	}
	period := 0.0
	{
		var means []float64
		for _, w := range windows {
			means = append(means, (w[len(w)-1]-w[0])/float64(len(w)-1))
		}
		period = stats.Quantile7(means, 0.25)
	}
	if period < 1.25*s.rowTime {
		return s.fastClock(windows)
	}
	var per []float64
	n := 0
	for range 8 {
		per, n = per[:0], 0
		sum, reports := 0.0, 0.0
		for _, w := range windows {
			span, k := countReports(w, period)
			if k > 0 {
				per = append(per, span/k)
			}
			sum += span
			reports += k
			n += int(k)
		}
		if reports == 0 {
			return clock{}
		}
		period = sum / reports
	}
	_, low, high := stats.MeanInterval(per, 0.95)
	mean := (low + high) / 2
	return clock{period: period, low: low + period - mean, high: high + period - mean, n: n, from: s.label()}
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

func (s *series) fastClock(windows [][]float64) clock {
	var rate []float64
	n := 0
	for _, w := range windows {
		rate = append(rate, float64(len(w)-1)/(w[len(w)-1]-w[0]))
		n += len(w)
	}
	return clock{period: 1 / stats.Quantile7(rate, 0.9), n: n, atLeast: true, from: s.label()}
}

// busyWindows lists the change times of the windows with the most changes.
func (s *series) busyWindows() [][]float64 {
	var all [][]float64
	most := 0
	for _, g := range s.segments {
		for _, w := range g.changeWindows() {
			if len(w) >= leastChanges {
				all = append(all, w)
				most = max(most, len(w))
			}
		}
	}
	var busy [][]float64
	for _, w := range all {
		if 4*len(w) >= 3*most {
			busy = append(busy, w)
		}
	}
	return busy
}

// changeWindows cuts a segment's times of change into windows.
func (s segment) changeWindows() [][]float64 {
	var out [][]float64
	var w []float64
	start := math.Inf(-1)
	for i := 1; i < len(s.t); i++ {
		if s.t[i]-start >= windowSeconds {
			if len(w) > 0 {
				out = append(out, w)
			}
			w, start = nil, s.t[i]
		}
		if s.x[i] != s.x[i-1] {
			w = append(w, s.t[i])
		}
	}
	if len(w) > 0 {
		out = append(out, w)
	}
	return out
}

// deviceClock gives each axis a clock: its own where it moved enough, else
// that of the axis of the same device that moved most, since a device sends
// its axes together.
func deviceClock(all []*series, own []clock, i int) clock {
	if own[i].period > 0 {
		return own[i]
	}
	best := clock{}
	for j, s := range all {
		if s.device.ID == all[i].device.ID && own[j].n > best.n {
			best = own[j]
		}
	}
	return best
}

func (a *analysis) timing() {
	c := a.clock
	switch {
	case c.period == 0:
		a.note("report rate: no axis of the device moved long enough; sweep one for at least 5 s")
	case c.atLeast:
		a.out.Timing.ReportHz = bare(1/c.period, unitHz, c.n,
			"lower bound: the counts change at nearly every sample, so the device reports at least as fast as it was sampled; no interval")
	default:
		a.out.Timing.ReportHz = within(1/c.period, 1/c.high, 1/c.low, unitHz, c.n, c.method(a.series.label()))
	}
	a.out.Timing.LostSamples = bare(float64(a.series.absent), unitSamples, a.series.rows,
		fmt.Sprintf("rows without the axis after its first present row, longest %.0f ms; a count of what was seen, no interval", 1000*a.series.longest))
	a.out.Timing.LongestStallMS = a.longestStall()
}

func (c clock) method(label string) string {
	m := "from the times of change while the axis moves, each divided by its whole number of report intervals; interval from the scatter of half-second windows"
	if c.from != label {
		m += "; read from " + c.from + ", which the same device reports"
	}
	return m
}

// longestStall is the longest time without a change while the axis moved: the
// reading must go on after it from where the motion would have led.
func (a *analysis) longestStall() *Quantity {
	if a.clock.period == 0 {
		return nil
	}
	longest, n := 0.0, 0
	for _, g := range a.series.segments {
		if g.phase.Kind == "rest" {
			continue
		}
		l, k := g.longestWait(a.clock.period, a.step)
		longest = math.Max(longest, l)
		n += k
	}
	if n == 0 {
		return nil
	}
	return bare(1000*longest, unitMS, n,
		"longest time without a change that the reading made up for at once, as moving on unseen does; n is the number of changes looked at; no interval, since a longer one may come")
}

// longestWait looks for waits in one segment.
func (s segment) longestWait(period, step float64) (longest float64, n int) {
	last := -1 // row of the last change
	look := int(math.Max(3, math.Ceil(0.05/math.Max(1e-4, (s.t[len(s.t)-1]-s.t[0])/float64(max(1, len(s.t)-1))))))
	for i := 1; i < len(s.t); i++ {
		if s.x[i] == s.x[i-1] {
			continue
		}
		if last >= look && i+look < len(s.t) {
			n++
			wait := s.t[i] - s.t[last]
			if wait > longest && s.movedOn(last, i, look, period, step) {
				longest = wait
			}
		}
		last = i
	}
	return longest, n
}

// movedOn tells whether the jump at row i makes up for the wait since row
// last: at least half of what the speed before and after would have covered.
func (s segment) movedOn(last, i, look int, period, step float64) bool {
	wait := s.t[i] - s.t[last]
	if wait < 1.5*period {
		return true // an ordinary report interval
	}
	before := (s.x[last] - s.x[last-look]) / (s.t[last] - s.t[last-look])
	after := (s.x[i+look] - s.x[i]) / (s.t[i+look] - s.t[i])
	if before*after <= 0 {
		return false
	}
	speed := math.Copysign(math.Min(math.Abs(before), math.Abs(after)), before)
	jump := s.x[i] - s.x[last]
	// Slow motion and noise make waits of their own; only a jump well above
	// the step and in the direction of motion is one that was held back.
	return jump*speed > 0 && math.Abs(jump) >= 0.5*math.Abs(speed)*wait && math.Abs(jump) > 4*step
}
