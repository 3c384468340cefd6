package measure

import (
	"iter"
	"math"
	"math/bits"
)

// changes are the rows in which any axis of a device changed, of those that are
// looked at for its clock: a bit a row, as hours without labels have millions of
// them.
type changes struct {
	track *track
	marks []uint64
}

const markBits = 64

// changesOf marks the rows in which any of the columns changed. Both that row and
// the one before must be there, without a pause between them.
func (k *track) changesOf(cols []int) changes {
	marks := make([]uint64, k.rec.Rows()/markBits+1)
	for from, to := range k.clockRows() {
		for _, col := range cols {
			c := &k.rec.Columns[col]
			for a, b := range c.Present(max(0, from-1), to) {
				for i := range c.Changes(a, b) {
					if i > a {
						marks[i/markBits] |= 1 << (i % markBits)
					}
				}
			}
		}
	}
	for _, i := range k.pauses {
		marks[i/markBits] &^= 1 << (i % markBits)
	}
	return changes{k, marks}
}

// count is the number of changed rows.
func (c changes) count() int {
	n := 0
	for _, marks := range c.marks {
		n += bits.OnesCount64(marks)
	}
	return n
}

// rows gives the changed rows.
func (c changes) rows() iter.Seq[int] {
	return func(yield func(int) bool) {
		for k, marks := range c.marks {
			for ; marks != 0; marks &= marks - 1 {
				if !yield(k*markBits + bits.TrailingZeros64(marks)) {
					return
				}
			}
		}
	}
}

// moments gives the middle of each changed row, seconds: the change came between
// the row before it and that row.
func (c changes) moments() iter.Seq[float64] {
	return func(yield func(float64) bool) {
		for i := range c.rows() {
			if !yield((c.track.seconds(i-1) + c.track.seconds(i)) / 2) {
				return
			}
		}
	}
}

// windows gives the times of the changed rows of each half second, from one of
// them on, that has so many or more. The slice is used again for the next.
func (c changes) windows(least float64) iter.Seq[[]float64] {
	return func(yield func([]float64) bool) {
		var times []float64
		for i := range c.rows() {
			t := c.track.seconds(i)
			if len(times) > 0 && t-times[0] >= windowSeconds {
				if float64(len(times)) >= least && !yield(times) {
					return
				}
				times = times[:0]
			}
			times = append(times, t)
		}
		if len(times) > 0 && float64(len(times)) >= least {
			yield(times)
		}
	}
}

// window is what is kept of half a second of a device's changes.
type window struct {
	changes     int
	first, last float64 // seconds, of the rows of the first and of the last
}

func (w window) rate() float64 { return float64(w.changes-1) / (w.last - w.first) }

// longestGap is so many rows between changes that longer gaps count as that.
const longestGap = 1000

// pace sums up the windows, and gives the gap between changes in them, in rows,
// that only one in a hundred is shorter than.
func (c changes) pace() (all []window, gap float64) {
	var gaps [longestGap + 1]int
	n := 0
	for times := range c.windows(leastChanges) {
		for i := 1; i < len(times); i++ {
			rows := math.Round((times[i] - times[i-1]) / c.track.rowTime)
			gaps[int(math.Min(rows, longestGap))]++
		}
		n += len(times) - 1
		all = append(all, window{changes: len(times), first: times[0], last: times[len(times)-1]})
	}
	rows, seen := 0, gaps[0]
	for 100*seen < n {
		rows++
		seen += gaps[rows]
	}
	return all, float64(rows)
}
