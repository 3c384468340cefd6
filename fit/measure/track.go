package measure

import (
	"iter"
	"sort"

	"halfstick/input"
)

// gapSeconds is the longest pause between two rows that still counts as one
// segment.
const gapSeconds = input.PauseUS * 1e-6

// track is the rows of a recording as its axes share them.
type track struct {
	rec     *input.Recording
	rowTime float64 // median time between rows, seconds
	pauses  []int   // rows that come more than gapSeconds after the one before
	// guided are the times of the rows of each guided stretch, seconds, which all
	// axes share; nil for the others, see loose.
	guided [][]float64
}

func newTrack(rec *input.Recording) *track {
	k := &track{rec: rec, rowTime: rowTime(rec), guided: make([][]float64, len(rec.Stretches))}
	before := 0.0
	for i, us := range rec.Times.All() {
		t := float64(us) * 1e-6
		if i > 0 && t-before > gapSeconds {
			k.pauses = append(k.pauses, i)
		}
		before = t
	}
	for i, s := range rec.Stretches {
		if !loose(s) {
			k.guided[i] = k.times(s.From, s.To)
		}
	}
	return k
}

// loose tells whether the rows of a stretch are left where they lie: flights and
// unlabelled rows may be hours.
func loose(s input.Stretch) bool {
	return s.Phase.Kind == input.Flight || s.Phase.Kind == input.NoPhase
}

// seconds is the time of row i.
func (k *track) seconds(i int) float64 { return float64(k.rec.Times.At(i)) * 1e-6 }

// goneOnWith are the first rows of the parts with which a recording that had been
// broken off was gone on with: what time lies before them is not known.
func (k *track) goneOnWith() []int {
	var rows []int
	for _, i := range k.pauses {
		if k.rec.Times.At(i)-k.rec.Times.At(i-1) == input.AppendGapUS {
			rows = append(rows, i)
		}
	}
	return rows
}

// unbroken gives the runs of rows from one to another without a pause.
func (k *track) unbroken(from, to int) iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		for _, p := range k.pauses {
			if p <= from {
				continue
			}
			if p >= to {
				break
			}
			if !yield(from, p) {
				return
			}
			from = p
		}
		if from < to {
			yield(from, to)
		}
	}
}

// runs gives the runs of rows from one to another in which the axis of a column
// is there, without a pause.
func (k *track) runs(c *input.Column, from, to int) iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		for a, b := range k.unbroken(from, to) {
			for i, j := range c.Present(a, b) {
				if !yield(i, j) {
					return
				}
			}
		}
	}
}

// times are the times of rows, seconds.
func (k *track) times(from, to int) []float64 {
	t := make([]float64, to-from)
	for i := range t {
		t[i] = k.seconds(from + i)
	}
	return t
}

// counts are the counts of a column in rows from one to another.
func counts(c *input.Column, from, to int) []float64 {
	x := make([]float64, to-from)
	next := 0
	for i, v := range c.Changes(from, to) {
		for ; next < i-from; next++ {
			x[next] = x[next-1]
		}
		x[next] = float64(v)
		next++
	}
	for ; next < len(x); next++ {
		x[next] = x[next-1]
	}
	return x
}

// clockFlight is how many seconds of flight are looked at for the reports'
// clock, all flights together: an hour says no more of it than ten minutes.
const clockFlight = 600.0

// clockRows are the rows that are looked at for the reports' clock.
func (k *track) clockRows() iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		left := clockFlight
		for _, s := range k.rec.Stretches {
			from, to := s.From, s.To
			if s.Phase.Kind == input.Flight && from < to {
				start := k.seconds(from)
				to = from + sort.Search(to-from, func(i int) bool { return k.seconds(from+i)-start >= left })
				left -= k.seconds(to-1) - start
			}
			if from < to && !yield(from, to) {
				return
			}
		}
	}
}

// changed gives the rows that are looked at for the clock, and whether any of the
// columns changed in them; both that row and the one before must be there.
func (k *track) changed(cols []int) iter.Seq2[int, bool] {
	const batch = 4096
	return func(yield func(int, bool) bool) {
		var marks [batch]bool
		for begin, end := range k.clockRows() {
			for from := max(1, begin); from < end; from += batch {
				to := min(end, from+batch)
				clear(marks[:])
				for _, col := range cols {
					c := &k.rec.Columns[col]
					for a, b := range c.Present(from-1, to) {
						for i := range c.Changes(a, b) {
							if i > a {
								marks[i-from] = true
							}
						}
					}
				}
				for i := from; i < to; i++ {
					if !yield(i, marks[i-from]) {
						return
					}
				}
			}
		}
	}
}
