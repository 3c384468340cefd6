package measure

import (
	"fmt"
	"iter"
	"math"

	"halfstick/input"
)

func (a *analysis) timing() {
	c := a.clock
	switch {
	case c.period == 0:
		a.note("report rate: no axis of the device moved long enough; sweep one for at least 5 s")
	case c.atLeast:
		a.out.Timing.ReportHz = bare(1/c.period, unitHz, c.n,
			c.how)
	default:
		a.out.Timing.ReportHz = within(1/c.period, 1/c.high, 1/c.low, unitHz, c.n, c.how)
	}
	a.out.Timing.LostSamples = bare(float64(a.series.absent), unitSamples, a.series.rows,
		fmt.Sprintf("rows without the axis after its first present row, longest %.0f ms; a count of what was seen, no interval", 1000*a.series.longest))
	a.out.Timing.LongestStallMS = a.longestStall()
}

// heldBack is the least share of the way that a stall must make up for at once.
const heldBack = 0.4

// longestStall is the longest time without a change while the axis moved: the
// reading must go on after it from where the motion would have led.
func (a *analysis) longestStall() *Quantity {
	// Where the counts changed too seldom for a report rate, as where they are
	// coarse or often stalled, a report may be as short as a row.
	period := a.clock.period
	if period == 0 {
		period = a.series.rowTime
	}
	longest, n := 0.0, 0
	look := func(r readings) {
		l, k := r.longestWait(period, a.step)
		longest = math.Max(longest, l)
		n += k
	}
	for _, g := range a.series.segments {
		if g.phase.Kind != input.Rest {
			look(g.readings())
		}
	}
	for _, r := range a.series.looseRuns() {
		look(r.readings())
	}
	if n == 0 {
		return nil
	}
	return bare(1000*longest, unitMS, n,
		"longest time without a change that the reading made up for at once, as moving on unseen does; n is the number of changes looked at; no interval, since a longer one may come")
}

// readings are a run of rows in which waits are looked for: the rows in which the
// counts change, and any row's time and counts, without holding them all.
type readings struct {
	n       int
	changes iter.Seq[int]
	t, x    func(i int) float64
}

func (s segment) readings() readings {
	return readings{
		n: len(s.t),
		changes: func(yield func(int) bool) {
			for i := 1; i < len(s.x); i++ {
				if s.x[i] != s.x[i-1] && !yield(i) {
					return
				}
			}
		},
		t: func(i int) float64 { return s.t[i] },
		x: func(i int) float64 { return s.x[i] },
	}
}

func (r run) readings() readings {
	c := r.series.column
	return readings{
		n: r.to - r.from,
		changes: func(yield func(int) bool) {
			for i := range c.Changes(r.from, r.to) {
				if i > r.from && !yield(i-r.from) {
					return
				}
			}
		},
		t: func(i int) float64 { return r.series.track.seconds(r.from + i) },
		x: func(i int) float64 { return float64(c.At(r.from + i)) },
	}
}

// longestWait looks for waits in one run of rows.
func (r readings) longestWait(period, step float64) (longest float64, n int) {
	last, lastAt := -1, 0.0 // row and time of the last change
	look := int(math.Max(3, math.Ceil(0.05/math.Max(1e-4, (r.t(r.n-1)-r.t(0))/float64(max(1, r.n-1))))))
	for i := range r.changes {
		at := r.t(i)
		if last >= look && i+look < r.n {
			n++
			if wait := at - lastAt; wait > longest && r.movedOn(last, i, look, period, step) {
				longest = wait
			}
		}
		last, lastAt = i, at
	}
	return longest, n
}

// movedOn tells whether the jump at row i makes up for the wait since row
// last: at least heldBack of what the speed before or after would have covered.
func (r readings) movedOn(last, i, look int, period, step float64) bool {
	wait := r.t(i) - r.t(last)
	if wait < 1.5*period {
		return true // an ordinary report interval
	}
	before := (r.x(last) - r.x(last-look)) / (r.t(last) - r.t(last-look))
	after := (r.x(i+look) - r.x(i)) / (r.t(i+look) - r.t(i))
	if before*after <= 0 {
		return false
	}
	// The faster of the two: a control that is taken up after it has crept to
	// rest starts with a small step, not with all that the wait held back.
	speed := math.Copysign(math.Max(math.Abs(before), math.Abs(after)), before)
	jump := r.x(i) - r.x(last)
	// Slow motion and noise make waits of their own; only a jump well above
	// the step and in the direction of motion is one that was held back.
	return jump*speed > 0 && math.Abs(jump) >= heldBack*math.Abs(speed)*wait && math.Abs(jump) > 4*step
}
