package measure

import (
	"fmt"
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
	k, c := a.series.track, a.series.column
	w := waits{track: k, column: c, period: period, step: a.step}
	for _, s := range k.rec.Stretches {
		if s.Phase.Kind == input.Rest {
			continue
		}
		for from, to := range k.runs(c, s.From, s.To) {
			w.look(from, to)
		}
	}
	if w.n == 0 {
		return nil
	}
	return bare(float64(w.longest)/1000, unitMS, w.n,
		"longest time without a change that the reading made up for at once, as moving on unseen does; n is the number of changes looked at; no interval, since a longer one may come")
}

// waits is the longest wait of an axis in the rows looked at so far.
type waits struct {
	track        *track
	column       *input.Column
	period, step float64 // seconds, counts
	longest      int64   // microseconds
	n            int     // changes looked at
}

// stallRows is over how many rows before and after a wait the speed is taken, in a
// run of rows: over 50 ms.
func stallRows(k *track, from, to int) int {
	rowTime := (k.seconds(to-1) - k.seconds(from)) / float64(max(1, to-from-1))
	return int(math.Max(3, math.Ceil(0.05/math.Max(1e-4, rowTime))))
}

// look looks for waits in a run of rows. Hours have millions of changes: only those
// are looked at that so many rows came before as a wait longer than the longest
// would take.
func (w *waits) look(from, to int) {
	k := w.track
	side := stallRows(k, from, to)
	// The first change with room before it ends no wait that was seen to begin.
	w.n += max(0, w.column.Changed(from+side, to-side)-1)
	for a, b := range pieces(from+side, to-side) {
		for i, last := range w.column.Waits(a, b, k.rowsOf(w.longest, a)) {
			if last < from+side {
				continue
			}
			if wait := k.rec.Times.At(i) - k.rec.Times.At(last); wait > w.longest && w.movedOn(last, i, side) {
				w.longest = wait
			}
		}
	}
}

// movedOn tells whether the jump at row i makes up for the wait since row last:
// at least heldBack of what the speed before or after would have covered.
func (w *waits) movedOn(last, i, side int) bool {
	t := w.track.seconds
	x := func(i int) float64 { return float64(w.column.At(i)) }
	wait := t(i) - t(last)
	if wait < 1.5*w.period {
		return true // an ordinary report interval
	}
	// Slow motion and noise make waits of their own; only a jump well above
	// the step and in the direction of motion is one that was held back.
	jump := x(i) - x(last)
	if math.Abs(jump) <= 4*w.step {
		return false
	}
	before := (x(last) - x(last-side)) / (t(last) - t(last-side))
	after := (x(i+side) - x(i)) / (t(i+side) - t(i))
	if before*after <= 0 {
		return false
	}
	// The faster of the two: a control that is taken up after it has crept to
	// rest starts with a small step, not with all that the wait held back.
	speed := math.Copysign(math.Max(math.Abs(before), math.Abs(after)), before)
	return jump*speed > 0 && math.Abs(jump) >= heldBack*math.Abs(speed)*wait
}
