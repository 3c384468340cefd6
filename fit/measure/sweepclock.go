package measure

import "math"

// lateRows is so many reports between two rows that some fell between them unseen.
const lateRows = 1.5

// sweepReports thins a segment in motion to the device's own reports, each at
// the moment of the comb at which it came: the rows tell it only to a row, which
// at the speed of a sweep is many steps. A change says which moment lies between
// two rows; a report that changed nothing repeats the count before it. At rest
// the count far from the moments is enough (see segment.reports), and safer.
func (a *analysis) sweepReports(s segment) segment {
	if a.clock.comb == nil || len(s.t) < 2 {
		return a.reports(s)
	}
	comb, p := a.clock.comb, a.clock.period
	out := segment{phase: s.phase, stretch: s.stretch}
	cycles := comb.Cycles(s.t[0])
	last := math.Floor(cycles) // the moment of the newest report
	add := func(x, at float64) {
		out.t, out.x = append(out.t, at), append(out.x, a.onLattice(x))
	}
	add(s.x[0], s.t[0]+(last-cycles)*p)
	for i := 1; i < len(s.x); i++ {
		before, now := s.x[i-1], s.x[i]
		if now == before && i < len(s.x)-1 {
			continue
		}
		mark := (s.t[i-1] + s.t[i]) / 2
		cycles = comb.Cycles(mark)
		moment := math.Round(cycles)
		unseen := s.t[i]-s.t[i-1] > lateRows*p
		if unseen || now == before {
			mark = s.t[i]
			cycles = comb.Cycles(mark)
			moment = math.Floor(cycles)
		} else if next := last + 1; math.Abs(next-cycles) <= (s.t[i]-s.t[i-1])/2/p {
			moment = next // it may be this one, so none is left out before it
		}
		if moment <= last {
			if now == before {
				break
			}
			// A report may come a little early or late; two rows running that
			// change are two reports, unless that would run ahead of the comb.
			if moment = last + 1; moment-cycles > 1 {
				out.x[len(out.x)-1] = a.onLattice(now)
				continue
			}
		}
		for last++; last < moment; last++ {
			at, x := mark+(last-cycles)*p, before
			if unseen && at > s.t[i-1] {
				x += (now - x) * (at - s.t[i-1]) / (s.t[i] - s.t[i-1])
			}
			add(x, at)
		}
		add(now, mark+(moment-cycles)*p)
	}
	return out
}
