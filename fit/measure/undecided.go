package measure

import (
	"fmt"
	"math"
)

// undecided notes each quantity whose interval is too wide for what hangs on
// it: one end asks for nothing, or for a compensation, and the other for more.
// It says how much more data halves the interval. What is decided either way,
// however roughly, is not noted.
func (a *analysis) undecided() {
	r := a.out.Rest
	percent := "% " + a.ofThrow()
	if q := r.Sigma; q != nil && q.Low != nil {
		a.undecidedAbout("rest-noise", "rest noise (6.6 σ)", a.share(6.6**q.Low), a.share(6.6**q.High), percent, a.moreRest(3))
	}
	if q := r.DriftPerMinute; q != nil && q.Low != nil {
		low, high := magnitudes(q)
		// The error of a slope falls with the time to the power of 3/2.
		a.undecidedAbout("drift", "drift", a.share(low), a.share(high), percent+" a minute", a.moreRest(math.Pow(2, 2.0/3)-1))
	}
	if q := r.SpikesPerMinute; q != nil && q.Value > 0 && q.Low != nil {
		a.undecidedAbout("spikes", "spikes", *q.Low, *q.High, "a minute", a.moreRest(3))
	}
	a.undecidedReturns(percent)
	for i, stop := range []*Quantity{a.out.Travel.Low, a.out.Travel.High} {
		if stop == nil || stop.Low == nil {
			continue
		}
		low, high := a.unused(i, edge(stop, 1)), a.unused(i, edge(stop, -1))
		a.undecidedAbout("short-travel", sideName(i)+" stop", math.Min(low, high), math.Max(low, high), "% of the range unused",
			counted(releasesToHalve(stop.N), "sweep")+" more there and back")
	}
	if q := a.out.Sweep.WornRatio; q != nil && q.Low != nil {
		a.undecidedAbout("worn-band", "worn band", *q.Low, *q.High, "times the noise elsewhere", counted((3*a.traversed+1)/2, "sweep")+" more there and back")
	}
}

func (a *analysis) undecidedReturns(percent string) {
	c := a.out.Travel.Centre
	for i, side := range []*ReturnSide{a.out.Return.FromLow, a.out.Return.FromHigh} {
		if c == nil || side == nil || side.Mean.Low == nil || side.Spread == nil || side.Spread.Low == nil {
			continue
		}
		near, far := math.Abs(c.Value-*side.Mean.Low), math.Abs(c.Value-*side.Mean.High)
		near, far = math.Min(near, far), math.Max(near, far)
		if *side.Mean.Low < c.Value && c.Value < *side.Mean.High {
			near = 0
		}
		low, high := math.Max(near, 2**side.Spread.Low), math.Max(far, 2**side.Spread.High)
		if high < 2*a.step {
			continue // within the sensor's own steps
		}
		a.undecidedAbout("poor-return", "return from the "+sideName(i)+" side", a.share(low), a.share(high), percent,
			fmt.Sprintf("%s more from the %s side", counted(releasesToHalve(side.Mean.N), "release"), sideName(i)))
	}
}

// undecidedAbout notes one quantity that may be low or high, in the unit of its
// threshold, if the two ends are of different severity beyond watch.
func (a *analysis) undecidedAbout(code, what string, low, high float64, unit, more string) {
	l := limits[code]
	if acting(l.grade(low)) == acting(l.grade(high)) {
		return
	}
	limit := l.compensate
	if limit > high || limit <= low {
		limit = l.repair
	}
	a.note("%s: between %.2g and %.2g %s, so it may or may not reach the %.2g from which more is to be done; %s would halve that interval", what, low, high, unit, limit, more)
}

// acting is a severity that asks for something, or none.
func acting(s Severity) Severity {
	if s == Watch {
		return ""
	}
	return s
}

// moreRest is so many times the rest that there is.
func (a *analysis) moreRest(times float64) string {
	return fmt.Sprintf("%.0f s more of rest", math.Ceil(times*a.restSeconds))
}

// magnitudes are the least and the greatest size that an interval allows.
func magnitudes(q *Quantity) (low, high float64) {
	low, high = math.Min(math.Abs(*q.Low), math.Abs(*q.High)), math.Max(math.Abs(*q.Low), math.Abs(*q.High))
	if *q.Low <= 0 && *q.High >= 0 {
		low = 0
	}
	return low, high
}

// unused is how much of a side's range lies beyond a stop, in percent.
func (a *analysis) unused(side int, stop float64) float64 {
	room := fullSpan
	if !a.oneSided() {
		room /= 2
	}
	if side == 0 {
		return 100 * (stop + 32768) / room
	}
	return 100 * (32767 - stop) / room
}
