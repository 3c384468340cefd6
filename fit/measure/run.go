package measure

import (
	"iter"
	"sort"

	"halfstick/input"
)

// run is rows from one to another of an axis, without an absence or a pause, that
// are left where they lie.
type run struct {
	series   *series
	from, to int
}

// period is a time from one moment to before another, seconds.
type period struct{ from, to float64 }

// looseRuns gives the runs of the rows that are left where they lie, each with
// the phase it is of.
func (s *series) looseRuns() iter.Seq2[input.Phase, run] {
	return func(yield func(input.Phase, run) bool) {
		for _, l := range s.loose {
			for from, to := range s.track.runs(s.column, l.From, l.To) {
				if !yield(l.Phase, run{s, from, to}) {
					return
				}
			}
		}
	}
}

// unlabelled are the runs of rows without a phase.
func (s *series) unlabelled() []run {
	var out []run
	for phase, r := range s.looseRuns() {
		if phase.Kind == input.NoPhase {
			out = append(out, r)
		}
	}
	return out
}

// cut is the part of a run in a period.
func (r run) cut(p period) segment {
	from := r.rowAt(r.from, p.from)
	return r.segment(from, r.rowAt(from, p.to))
}

// segment is some rows of the run.
func (r run) segment(from, to int) segment {
	return segment{t: r.series.track.times(from, to), x: counts(r.series.column, from, to)}
}

// rowAt is the first row of the run, from one on, that is not before a time.
func (r run) rowAt(from int, seconds float64) int {
	return from + sort.Search(r.to-from, func(i int) bool { return r.series.track.seconds(from+i) >= seconds })
}
