package measure

import (
	"iter"
	"sort"

	"halfstick/fit/parallel"
	"halfstick/input"
)

// gapSeconds is the longest pause between two rows that still counts as one
// segment.
const gapSeconds = input.PauseUS * 1e-6

// track is the rows of a recording as its axes share them.
type track struct {
	rec     *input.Recording
	rowTime float64 // median time between rows, seconds
	widest  []int64 // microseconds: the longest time from the row before to one of each piece
	pauses  []int   // rows that come more than input.PauseUS after the one before
	// guided are the times of the rows of each guided stretch, seconds, which all
	// axes share; nil for the others, see loose.
	guided [][]float64
}

func newTrack(rec *input.Recording) *track {
	rows := rec.Rows()
	k := &track{rec: rec, rowTime: rowTime(rec), widest: make([]int64, (rows+pieceRows-1)/pieceRows), guided: make([][]float64, len(rec.Stretches))}
	parallel.Each(len(k.widest), func(i int) {
		k.widest[i] = rec.Times.Widest(max(0, i*pieceRows-1), min(rows, (i+1)*pieceRows))
	})
	for i, us := range k.widest {
		if us > input.PauseUS {
			k.pauses = append(k.pauses, pausesIn(&rec.Times, i*pieceRows, min(rows, (i+1)*pieceRows))...)
		}
	}
	parallel.Each(len(rec.Stretches), func(i int) {
		if s := rec.Stretches[i]; !loose(s) {
			k.guided[i] = k.times(s.From, s.To)
		}
	})
	return k
}

// pausesIn lists the rows from one to another that come after a pause.
func pausesIn(times *input.Times, from, to int) []int {
	var rows []int
	for i := max(1, from); i < to; i++ {
		if times.At(i)-times.At(i-1) > input.PauseUS {
			rows = append(rows, i)
		}
	}
	return rows
}

// pieceRows is of how many rows a piece of a recording is.
const pieceRows = 4096

// pieces cuts rows where pieces of the recording end.
func pieces(from, to int) iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		for from < to {
			end := min(to, (from/pieceRows+1)*pieceRows)
			if !yield(from, end) {
				return
			}
			from = end
		}
	}
}

// rowsOf is the least number of rows that a wait may take that is longer than so
// many microseconds and ends in the piece with row i.
func (k *track) rowsOf(us int64, i int) int {
	piece := i / pieceRows
	widest := max(1, k.widest[piece])
	if piece > 0 {
		widest = max(widest, k.widest[piece-1])
	}
	// A wait that began more than a piece before may have rows that are wider.
	return int(min(us/widest+1, pieceRows))
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
