package main

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"halfstick/fit/measure"
	"halfstick/input"
	"halfstick/input/rig"
)

// A fault is clear from twice the threshold on, and a device is sound where it
// stays within half of every threshold. Between the two, either answer is
// right. The threshold of a finding is where it first asks for something:
// compensate, or repair where there is no compensate.
const (
	clearFault = 2.0
	soundShare = 0.5
)

// A fault must be in the recording to be found there. Of expectedSpikes, by the
// rate and the time that an axis stands still, two hardly ever fail to come, nor
// half of them: where fewer are expected, or where they do not stand clearly out
// of the noise, either answer is right.
const (
	expectedSpikes = 8.0
	clearSpike     = 2.7 // times what is a spike: the least are three quarters of the typical
)

// leastWays is how many whole ways from stop to stop show a plateau: a hand may
// pause twice in one place.
const leastWays = 3

// spikesShow tells whether an axis's spikes stand clearly out of its noise of
// sigma steps: of 6 σ and 2.5 steps.
func spikesShow(a rig.AxisSpec, sigma float64) bool {
	return a.SpikeSteps > clearSpike*math.Max(6*sigma, 2.5)
}

// times is a value as a multiple of a finding's threshold.
func times(code string, value float64) float64 { return value / measure.ActingThreshold(code) }

// halves are the counts from the centre to the low and to the high stop; of a
// one-sided axis, its whole throw.
func halves(t rig.Truth) (low, high float64) {
	if t.Kind == input.OneSided {
		return t.HighCounts - t.LowCounts, t.HighCounts - t.LowCounts
	}
	return t.CentreCounts - t.LowCounts, t.HighCounts - t.CentreCounts
}

// causes gives, by finding, how many times its threshold the axis's fault is,
// as far as it follows from how the axis is built. A dead side has no double:
// its multiple is how many times less is left of the side than at the
// threshold.
func causes(a rig.AxisSpec, t rig.Truth) map[string]float64 {
	lowHalf, highHalf := halves(t)
	half := math.Min(lowHalf, highHalf)
	out := map[string]float64{
		"rest-noise":  times("rest-noise", 660*t.SigmaCounts/half),
		"spikes":      times("spikes", t.SpikesPerMinute),
		"drift":       times("drift", 100*math.Abs(t.DriftCountsPerMinute)/half),
		"worn-band":   times("worn-band", a.Worn.Times),
		"plateau":     times("plateau", 100*(a.Stuck.To-a.Stuck.From)),
		"coarse-step": times("coarse-step", 100*t.StepCounts/half),
	}
	if show := 660 * t.SigmaCounts * a.Worn.Times / half; show < 0.5 && out["worn-band"] > soundShare {
		out["worn-band"] = (soundShare + clearFault) / 2 // too quiet to matter; either answer is right
	}
	noise := t.SigmaCounts
	if a.Stuck.From < a.Worn.To && a.Stuck.To > a.Worn.From {
		noise *= math.Max(1, a.Worn.Times)
	}
	if 6*noise > (a.Stuck.To-a.Stuck.From)*half && out["plateau"] > soundShare {
		out["plateau"] = (soundShare + clearFault) / 2 // noise blurs it over more than its width
	}
	side := func(name string, lost float64) {
		dead := (1 - measure.ActingThreshold("dead-side")/100) / (1 - lost)
		out["dead-side-"+name] = dead
		if dead < 1 {
			out["short-travel-"+name] = times("short-travel", 100*lost)
		}
	}
	room := 65535.0
	if t.Kind == input.TwoSided {
		room /= 2
		out["off-centre"] = times("off-centre", 100*math.Abs(t.CentreCounts)/32767)
	}
	side("low", (t.LowCounts+32768)/room)
	side("high", (32767-t.HighCounts)/room)
	onSide := "dead-side-low"
	if t.Kind == input.OneSided || a.Stuck.From+a.Stuck.To > 0 {
		onSide = "dead-side-high"
	}
	if out[onSide] >= 1 && out["plateau"] > soundShare {
		out["plateau"] = (soundShare + clearFault) / 2 // the whole side hardly moves
	}
	if t.ReturnLow != nil {
		scatter := math.Max(1, 2*t.ReturnSpread)
		// A release that swings through the centre rests on the other side, and
		// is a share of that side's throw.
		share := func(at float64) float64 {
			if at < t.CentreCounts {
				return (t.CentreCounts - at) / lowHalf
			}
			return (at - t.CentreCounts) / highHalf
		}
		for name, at := range map[string]float64{"low": *t.ReturnLow, "high": *t.ReturnHigh} {
			code := "poor-return-" + name
			out[code] = times("poor-return", 100*scatter*share(at))
			// Releases show where they end, not where between them the spring is
			// slack. Of a few counts of a dead side that makes any share.
			if out["dead-side-"+name] >= 1 && out[code] > soundShare {
				out[code] = (soundShare + clearFault) / 2
			}
		}
	}
	return out
}

// expected is what a perfect measurement of one axis would give. Positions are
// counts at the mean time at which they could be seen, drift included.
type expected struct {
	rig.Truth
	spec      rig.AxisSpec
	low, high float64
	half      float64 // counts of the smaller half-throw
	sigma     float64 // at rest, counts
	atEdge    bool    // it rests so near to a worn band's end that σ is neither
	returns   [2]*landing
	drifted   [2]float64 // counts, until the releases of either side
	inWorn    float64    // reports of the sweeps within the worn band
	causes    map[string]float64
}

// landing is the law of where releases from one side end, counts.
type landing struct{ mean, sd float64 }

// manyReturns are simulated to know where releases end; so many that their own
// chance adds a hundredth to that of the three to five that are recorded.
const manyReturns = 400

// truthOf collects what one axis of a recorded device really is.
func truthOf(d device, r *recorded, i int) expected {
	t := r.rig.Truth()[i]
	spec, s := d.spec.Axes[i], r.axes[i]
	e := expected{Truth: t, spec: spec, sigma: t.SigmaCounts, causes: causes(spec, t)}
	e.low, e.high = e.stop(t.LowCounts, s.stops[0]), e.stop(t.HighCounts, s.stops[1])
	lowHalf, highHalf := halves(t)
	e.half = math.Min(lowHalf, highHalf)
	if w := spec.Worn; w.Times != 0 {
		near := spec.Play/2 + 1e-3
		in := s.restX > w.From+near && s.restX < w.To-near
		out := s.restX < w.From-near || s.restX > w.To+near
		if in {
			e.sigma *= w.Times
		}
		e.atEdge = !in && !out
	}
	if t.GapCounts != nil {
		for side := range 2 {
			x := r.rig.SimulateReturns(i, side == 1, manyReturns, d.plan.Settle-0.5)
			mean, sd := stat.MeanStdDev(x, nil)
			e.drifted[side] = t.DriftCountsPerMinute * s.releases[side].minutes()
			e.returns[side] = &landing{mean + e.drifted[side], sd}
		}
	}
	e.inWorn = s.wornFor * math.Min(d.spec.ReportHz, d.rateHz)
	e.deviceCauses(d, r, i)
	expect := t.SpikesPerMinute * (s.restFor + s.stillFor) / 60
	if e.causes["spikes"] > soundShare && (expect < expectedSpikes || !spikesShow(spec, e.sigma/e.StepCounts)) {
		e.causes["spikes"] = (soundShare + clearFault) / 2
	}
	// Noise may hide a drift from any estimate: the best that there can be scatters
	// by driftLimit, so that its interval excludes the threshold for sure only
	// where the drift is 1.96 of that above, and two more for chance.
	above := 1 - 1/e.causes["drift"]
	if e.causes["drift"] > soundShare && above*math.Abs(t.DriftCountsPerMinute) < clearDrift*driftLimit(d, e, e.restOnScale(s)-0.5) {
		e.causes["drift"] = (soundShare + clearFault) / 2
	}
	return e
}

// clearDrift is how many standard errors of the best estimate a clear drift is
// above its threshold: 1.96 of the interval, two for chance.
const clearDrift = 4.0

// clearWorn is the expected evidence of a clear worn band, as the logarithm of a
// likelihood ratio: 20 stand out of chance at a hundred thousand places and widths,
// and half of what is expected hardly ever fails to come.
const clearWorn = 40.0

// wornEvidence is what an estimator that knew the motion could expect of the
// sweeps within the worn band: of n reports whose variance is v times that
// elsewhere, n/2·(v − 1 − ln v), rounding counted as noise. A report that changes
// nothing but noise far below a step says nothing of the band.
func (e expected) wornEvidence() float64 {
	round := e.StepCounts * e.StepCounts / 12
	quiet := e.SigmaCounts * e.SigmaCounts
	v := (quiet*e.spec.Worn.Times*e.spec.Worn.Times + round) / (quiet + round)
	return e.inWorn / 2 * (v - 1 - math.Log(v))
}

// onScale is how many deviations a reading must be inside of the ends of the
// scale for its noise to be seen whole.
const onScale = 2.0

// restOnScale is for how many seconds of its rest an axis reads on the scale: one
// that drifts beyond the converter's end shows no drift from there on. Only a
// one-sided axis rests so near to an end.
func (e expected) restOnScale(s seen) float64 {
	drift := e.DriftCountsPerMinute / 60
	if e.Kind != input.OneSided || drift == 0 {
		return s.restFor
	}
	at := e.LowCounts + s.restX*(e.HighCounts-e.LowCounts) + drift*s.restFrom
	room := 32767 - at
	if drift < 0 {
		room = at + 32768
	}
	return math.Max(0, math.Min(s.restFor, (room-onScale*e.sigma)/math.Abs(drift)))
}

// driftLimit is the Cramér–Rao limit of a drift's standard error, counts a
// minute, from so many seconds of rest. Of n even reports of a Gaussian of known
// σ it is √(12σ²/(n·t²)), rounding counted as noise. Far below a step rounding is
// no noise: the reports say where the line is only while it passes between two
// codes, and how steep it is only by two such passages or by the σ that they
// share; so the information of the rounded Gaussian about level, slope and σ is
// summed along the line, for the level that tells least. Of wander, fewer reports
// are independent.
func driftLimit(d device, e expected, seconds float64) float64 {
	if seconds <= 0 {
		return math.Inf(1)
	}
	if e.sigma < 0.5*e.StepCounts {
		return roundedDriftLimit(d, e, seconds)
	}
	n := seconds * e.independentReports(d)
	variance := e.sigma*e.sigma + e.StepCounts*e.StepCounts/12
	return 60 * math.Sqrt(12*variance/n) / seconds
}

// roundedDriftLimit is driftLimit for a σ below half a step; what is quieter than
// leastSigma of a step counts as that.
func roundedDriftLimit(d device, e expected, seconds float64) float64 {
	const levels, times, leastSigma = 8, 400, 0.02
	s, n := math.Max(leastSigma, e.sigma/e.StepCounts), seconds*e.independentReports(d)
	slope := e.DriftCountsPerMinute / 60 / e.StepCounts
	worst := 0.0
	for l := range levels {
		info := mat.NewSymDense(3, []float64{1e-9, 0, 0, 0, 1e-9, 0, 0, 0, 1e-9})
		for k := range times {
			t := ((float64(k)+0.5)/times - 0.5) * seconds
			mm, ms, ss := roundedInformation(float64(l)/levels+slope*t, s)
			w := n / times
			for _, v := range []struct {
				i, j int
				v    float64
			}{{0, 0, mm}, {0, 1, mm * t}, {1, 1, mm * t * t}, {0, 2, ms}, {1, 2, ms * t}, {2, 2, ss}} {
				info.SetSym(v.i, v.j, info.At(v.i, v.j)+w*v.v)
			}
		}
		var chol mat.Cholesky
		var inverse mat.SymDense
		if !chol.Factorize(info) || chol.InverseTo(&inverse) != nil {
			return math.Inf(1)
		}
		worst = math.Max(worst, inverse.At(1, 1))
	}
	return 60 * e.StepCounts * math.Sqrt(worst)
}

// independentReports is how many independent reports a second of rest is worth
// for a mean.
func (e expected) independentReports(d device) float64 {
	reports := math.Min(d.spec.ReportHz, d.rateHz)
	if w := e.spec.Wander * e.spec.Wander; w > 0 {
		rho := e.spec.WanderCorrelation
		reports /= 1 + w/(w+e.spec.White*e.spec.White)*2*rho/(1-rho)
	}
	return reports
}

// stop is the mean reading at a stop over the stays there: a drift or noise
// that would carry it off the scale is held at the scale's end.
func (e *expected) stop(counts float64, stays visits) float64 {
	sum := 0.0
	for _, t := range stays.times {
		sum += heldReading(counts+e.DriftCountsPerMinute*t/60, e.SigmaCounts)
	}
	return sum / math.Max(1, float64(len(stays.times)))
}

// heldReading is the mean of a Gaussian reading of mean m and deviation sigma
// that the ends of the scale hold.
func heldReading(m, sigma float64) float64 {
	const low, high = -32768.0, 32767.0
	if sigma == 0 {
		return math.Min(high, math.Max(low, m))
	}
	// E[max(low, x)] = m + σ·L((low−m)/σ), L the unit normal's loss.
	loss := func(z float64) float64 { return density(z) - z*math.Erfc(z/math.Sqrt2)/2 }
	return m + sigma*(loss((m-low)/sigma)-loss((high-m)/sigma))
}

// deviceCauses adds what the whole device does, as far as it happened.
func (e *expected) deviceCauses(d device, r *recorded, i int) {
	if e.sigma > e.SigmaCounts {
		e.causes["rest-noise"] *= e.sigma / e.SigmaCounts
	}
	// Reports at uneven times make noise of motion, most where one lasts hardly
	// longer than a row of the recording; a band quieter than that is hidden.
	rows := math.Max(1, d.rateHz/d.spec.ReportHz)
	motion := (e.HighCounts - e.LowCounts) / d.plan.SweepSeconds / math.Min(d.spec.ReportHz, d.rateHz)
	hidden := e.SigmaCounts*e.spec.Worn.Times < (0.05+0.1/(rows*rows))*motion
	if e.causes["worn-band"] > soundShare && (hidden || e.wornEvidence() < clearWorn) {
		e.causes["worn-band"] = (soundShare + clearFault) / 2
	}
	if e.causes["plateau"] > soundShare && r.axes[i].ways < leastWays {
		e.causes["plateau"] = (soundShare + clearFault) / 2
	}
	e.causes["stalls"] = times("stalls", 1000*r.axes[i].stalled(r.rig.Stalls(0)))
	e.causes["dropouts"] = times("dropouts", 1000*r.gone)
	e.causes["coupling"] = 0
	for _, share := range e.Leaks {
		e.causes["coupling"] = math.Max(e.causes["coupling"], times("coupling", 100*math.Abs(share)))
	}
}
