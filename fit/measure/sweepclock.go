package measure

import (
	"math"

	"halfstick/fit/stats"
)

const (
	followedRows  = 1.02 // rows a report: below, every row is a report of its own
	followedSteps = 2.0  // steps a report: slower motion repeats counts
	followStray   = 0.1  // of a period: how far a report may come early or late
	followGain    = 0.2  // of what a change is off its due time goes into the clock
	speedSeconds  = 0.1
)

// followReports decides whether the sweeps are thinned by following the
// device's reports from change to change, which needs motion in which nearly
// every report changes the count. It sets sweepPeriod, 0 where not.
func (a *analysis) followReports(segs []segment) {
	p := a.clock.period
	if p < followedRows*a.series.rowTime || p == 0 {
		return
	}
	var moved []float64
	for _, g := range segs {
		rows := max(1, int(speedSeconds/a.series.rowTime))
		for i := rows; i < len(g.x); i += rows {
			if d := g.t[i] - g.t[i-rows]; d > 0 {
				moved = append(moved, math.Abs(g.x[i]-g.x[i-rows])/d*p)
			}
		}
	}
	if stats.Quantile7(moved, 0.7) >= followedSteps*a.step {
		a.sweepPeriod = p
	}
}

// sweepReports thins a segment in motion to the device's own reports, evenly
// spaced as the device sends them. A change says that a report came since the
// row before; a report that was due and changed nothing repeats its count. The
// rows alone would place a report wrongly by up to a row, which at the speed of
// a sweep is many steps.
func (a *analysis) sweepReports(s segment) segment {
	if a.sweepPeriod == 0 {
		return a.reports(s)
	}
	out := segment{phase: s.phase}
	add := func(t, x float64) {
		if a.hasGrid && a.step != 1 {
			x = a.lattice.anchor + a.step*a.lattice.steps(x)
		}
		out.t, out.x = append(out.t, t), append(out.x, x)
	}
	p, due := a.sweepPeriod, 0.0
	for i := 1; i < len(s.x); i++ {
		before, now := s.t[i-1], s.t[i]
		if s.x[i] == s.x[i-1] {
			continue
		}
		if len(out.t) == 0 {
			due = (before + now) / 2
			add(due, s.x[i])
			continue
		}
		for due+p <= before-followStray*p {
			due += p
			add(due, s.x[i-1])
		}
		due += p
		if due < before-p/2 { // two reports fell into one row
			add(due, (s.x[i-1]+s.x[i])/2)
			due += p
		}
		switch {
		case due > now:
			due += followGain * (now - due)
		case due < before:
			due += followGain * (before - due)
		}
		add(due, s.x[i])
	}
	return out
}

// sweepSeconds is the time between the samples that sweepReports returns.
func (a *analysis) sweepSeconds() float64 {
	if a.sweepPeriod > 0 {
		return a.sweepPeriod
	}
	return a.reportSeconds()
}
