package main

import (
	"fmt"
	"math"
	"slices"
)

// reportRate estimates how often a device reports, from the instants at which
// its counts change: while it is moved, nearly every report changes something.
// It is for looking on; measure does it better, on a recording.
type reportRate struct {
	lastUS    int64
	intervals []int64 // microseconds, the last ones
	next      int     // place of the next one, once all places are taken
}

const (
	rateIntervals = 256
	leastInterval = 40   // intervals from which on a rate is told
	shortQuantile = 0.25 // where the shortest ordinary interval is looked for
	rateRounds    = 4    // settle it
)

// add takes the instant of a change.
func (r *reportRate) add(atUS int64) {
	interval := atUS - r.lastUS
	first := r.lastUS == 0
	r.lastUS = atUS
	if first {
		return
	}
	if len(r.intervals) < rateIntervals {
		r.intervals = append(r.intervals, interval)
		return
	}
	r.intervals[r.next] = interval
	r.next = (r.next + 1) % rateIntervals
}

// hz is the rate, once enough was seen. Most intervals between changes are
// those of the reports; the others are whole multiples, where reports changed
// nothing, and pauses.
func (r *reportRate) hz() (hz float64, known bool) {
	if len(r.intervals) < leastInterval {
		return 0, false
	}
	sorted := slices.Sorted(slices.Values(r.intervals))
	period := float64(sorted[int(shortQuantile*float64(len(sorted)))])
	// From a period that is too short, as looks come unevenly, to the one that
	// the intervals agree on.
	for range rateRounds {
		var total, reports float64
		for _, interval := range r.intervals {
			if math.Round(float64(interval)/period) <= 1 {
				total += float64(interval)
				reports++
			}
		}
		if reports == 0 {
			return 0, false
		}
		period = total / reports
	}
	return math.Round(1e6 / period), true
}

func (r *reportRate) text() string {
	hz, known := r.hz()
	if !known {
		return "report rate not known until it is moved"
	}
	return fmt.Sprintf("about %.0f reports a second", hz)
}
