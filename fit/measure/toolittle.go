package measure

import (
	"fmt"
	"math"
	"strings"
)

// findTooLittle tells what is missing. An axis that was recorded only beside
// those that the person was led through, to show coupling, misses nothing.
func (a *analysis) findTooLittle() []Finding {
	if a.series.device.Beside(a.series.axis) {
		return nil
	}
	var missing []string
	if a.series.rows == 0 {
		missing = append(missing, "the axis never reported")
	}
	if need := least.restSeconds - a.restSeconds; need > 0 {
		missing = append(missing, fmt.Sprintf("%.0f s more of rest", math.Ceil(need)))
	}
	if a.oneSided() {
		a.releases = [2]int{least.releases, least.releases}
	}
	for i, n := range a.releases {
		if n < least.releases {
			missing = append(missing, fmt.Sprintf("%s more from the %s side", counted(least.releases-n, "release"), sideName(i)))
		}
	}
	sweeps := (least.ways - a.traversed + 1) / 2
	loose := a.looseStops()
	for _, s := range loose {
		sweeps = max(sweeps, s.sweeps)
	}
	if sweeps > 0 {
		missing = append(missing, fmt.Sprintf("%s more there and back", counted(sweeps, "sweep")))
	}
	if len(missing) == 0 {
		return nil
	}
	says := "Missing for a full measurement: " + strings.Join(missing, ", ") + "."
	for _, s := range loose {
		says += " " + s.says
	}
	evidence := map[string]*Quantity{
		"rest_seconds": bare(a.restSeconds, unitSeconds, a.restReports, "length of the rests used; a sum, no interval"),
		"ways":         bare(float64(a.traversed), "ways", a.traversed, "ways from stop to stop; a count, no interval"),
	}
	for _, s := range loose {
		evidence[s.side+"_stop"] = s.stop
	}
	return finding("too-little-data", Watch, says,
		"Record these and measure again. What could not be measured is left empty, not guessed."+a.halving(evidence), evidence)
}

// looseStop is a stop that is not known well enough to calibrate on.
type looseStop struct {
	side   string
	stop   *Quantity
	sweeps int // there and back, that settle it
	says   string
}

// StopSlack is by how much of a half-throw of so many counts a stop may lie either
// way of where it was measured, and whether that is too loose to calibrate on. A stop
// that was reached once only has no interval: it may be where a sweep stopped
// short, which no slack says, so that it is loose and the slack 0.
func StopSlack(stop *Quantity, halfThrow float64) (slack float64, loose bool) {
	if stop.Low == nil || stop.High == nil {
		return 0, true
	}
	slack = (*stop.High - *stop.Low) / 2 / halfThrow
	return slack, slack > least.stop
}

// looseStops are the stops that are too loose to calibrate on.
func (a *analysis) looseStops() []looseStop {
	if !a.hasTravel {
		return nil
	}
	var out []looseStop
	half := math.Min(a.halfThrow(true), a.halfThrow(false))
	for i, q := range []*Quantity{a.out.Travel.Low, a.out.Travel.High} {
		s := looseStop{side: sideName(i), stop: q}
		slack, loose := StopSlack(q, half)
		switch {
		case !loose:
			continue
		case q.Low == nil:
			s.sweeps = max(1, least.visits-q.N)
			s.says = fmt.Sprintf("The %s stop, at %s counts, was reached once only, so that it may be where a sweep stopped short, and a calibration on it may give full command too early.",
				s.side, show(q))
		default:
			s.sweeps = moreTo(q.N, least.stop/slack)
			s.says = fmt.Sprintf("The %s stop is known only to ±%.2g %% %s from %d visits.", s.side, 100*slack, a.ofThrow(), q.N)
		}
		out = append(out, s)
	}
	return out
}
