package propose

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
	"halfstick/curves"
	"halfstick/fit/measure"
)

const (
	sessionMinutes = 60.0  // over which drift counts
	mostDrift      = 0.02  // u; a minute's drift cannot be stretched to an hour at will
	releaseShare   = 0.975 // of the releases from a side the resting place covers
	liveable       = 0.12  // u; wider deadbands cost too much control (common practice, no source)
	widest         = 0.5   // u; beyond this nothing usable is left
)

// scale turns counts into u on the two sides of an axis.
type scale struct{ low, high float64 } // counts per u

func scaleOf(r curves.Response) scale {
	c := r.Calibration
	if r.Kind == curves.OneSided {
		return scale{c.High - c.Low, c.High - c.Low}
	}
	return scale{c.Centre - c.Low, c.High - c.Centre}
}

// restingPlace is how far from the centre towards one side (direction 1 high,
// −1 low) the axis may come to rest, in counts: the farther of the two returns
// with its scatter, so that 95 % of the releases lie inside, and the drift of a
// session. A two-sided axis without releases has no known return. A one-sided
// axis rests at its idle stop, whose place has an interval of its own.
func restingPlace(a *measure.Axis, zero, direction, perU float64) (counts float64, says []string) {
	far := 0.0
	for _, side := range returnsOf(a.Return) {
		far = math.Max(far, direction*(side.mean-zero)+side.scatter())
	}
	if far > 0 {
		says = append(says, fmt.Sprintf("return and its scatter %s", percent(far/perU)))
	}
	if off := stopSlack(a); off > 0 {
		far += off
		says = append(says, fmt.Sprintf("the idle stop's own place is known to %s", percent(off/perU)))
	}
	if drift, note := driftTowards(driftOf(a.Rest), direction, perU); drift > 0 {
		far += drift
		says = append(says, note)
	}
	return far, says
}

// stopSlack is how far above its measured place, in counts, the idle stop of a
// one-sided axis may be: there is its zero, and there it rests.
func stopSlack(a *measure.Axis) float64 {
	q := a.Travel.Low
	if a.Kind != string(curves.OneSided) || q == nil || q.High == nil {
		return 0
	}
	return *q.High - q.Value
}

// driftOf is the drift as far as it is known: over the whole recording or, where
// that says less or nothing, at rest.
func driftOf(r measure.Rest) *measure.Quantity {
	rest, all := r.DriftPerMinute, r.DriftOverallPerMinute
	if all == nil || all.Low == nil || rest != nil && rest.Low != nil && *rest.High-*rest.Low < *all.High-*all.Low {
		return rest
	}
	return all
}

// driftTowards is how far the drift of a session may go in a direction, in
// counts: as far as its interval allows, up to mostDrift. A rest too short to
// tell the drift leaves room for it both ways.
func driftTowards(q *measure.Quantity, direction, perU float64) (counts float64, says string) {
	if q == nil || q.Low == nil || q.High == nil {
		return 0, ""
	}
	fastest := math.Max(direction**q.Low, direction**q.High)
	hour := fastest * sessionMinutes
	counts = math.Min(hour, mostDrift*perU)
	switch sure := *q.Low**q.High > 0; {
	case counts <= 0:
		return 0, ""
	case !sure:
		says = fmt.Sprintf("drift %s, which so short a recording cannot rule out; rest longer to know", percent(counts/perU))
	case counts < hour:
		says = fmt.Sprintf("drift %s of the %s that an hour would bring, so let it warm up and set the centre again", percent(counts/perU), percent(math.Abs(q.Value)*sessionMinutes/perU))
	default:
		says = fmt.Sprintf("drift %s", percent(counts/perU))
	}
	return counts, says
}

// returning is where releases from one side end, in counts.
type returning struct {
	mean, spread float64
	n            int // releases that the mean is of
	free         int // degrees of freedom of the spread
}

// returnsOf gives the returns from the sides that were measured. So few
// releases hardly show a spread, so that both sides' are taken together unless
// they differ for certain (F test, 95 % both ways).
func returnsOf(r measure.Return) []returning {
	var out []returning
	for _, side := range []*measure.ReturnSide{r.FromLow, r.FromHigh} {
		if side == nil || side.Mean == nil {
			continue
		}
		one := returning{mean: side.Mean.Value, n: side.Mean.N}
		if side.Spread != nil && side.Mean.N > 1 {
			one.spread, one.free = side.Spread.Value, side.Mean.N-1
		}
		out = append(out, one)
	}
	if len(out) == 2 && out[0].free > 0 && out[1].free > 0 && alike(out[0], out[1]) {
		free := out[0].free + out[1].free
		square := float64(out[0].free)*out[0].spread*out[0].spread + float64(out[1].free)*out[1].spread*out[1].spread
		for i := range out {
			out[i].spread, out[i].free = math.Sqrt(square/float64(free)), free
		}
	}
	return out
}

// alike tells whether two spreads may be one.
func alike(a, b returning) bool {
	if a.spread < b.spread {
		a, b = b, a
	}
	f := distuv.F{D1: float64(a.free), D2: float64(b.free)}
	return a.spread*a.spread <= f.Quantile(0.975)*b.spread*b.spread
}

// scatter is how far beyond the mean the next release stays with releaseShare
// probability: t·√(1+1/n) spreads.
func (r returning) scatter() float64 {
	if r.free == 0 {
		return 0
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(r.free)}
	return t.Quantile(releaseShare) * math.Sqrt(1+1/float64(r.n)) * r.spread
}

// deadbands works out both sides of a measured axis; r has its calibration.
func deadbands(a *measure.Axis, r curves.Response, perMinute float64) DeadbandReasons {
	out := DeadbandReasons{FalseMotionsPerMinute: perMinute, Spikes: unseenSpikes(a.Rest.SpikesPerMinute, perMinute)}
	perU := scaleOf(r)
	if r.Kind == curves.OneSided {
		// Only the way up from the idle stop leaves the deadband: half of the
		// motions of a two-sided band of the same half-width.
		out.Low = restingSide(a, r.Calibration.Low, 1, perU.low)
		e := noiseExcursion(a, 2*perMinute).settled([]float64{out.Low.Resting}, []float64{perU.low})
		out.widen(e, perU)
		out.High = DeadbandSide{Says: "a one-sided axis has a deadband at its idle stop only"}
		return out
	}
	out.Low = restingSide(a, r.Calibration.Centre, -1, perU.low)
	out.High = restingSide(a, r.Calibration.Centre, 1, perU.high)
	e := noiseExcursion(a, perMinute).settled([]float64{out.Low.Resting, out.High.Resting}, []float64{perU.low, perU.high})
	out.widen(e, perU)
	return out
}

// widen adds the excursion to both sides, and what it leaves out.
func (d *DeadbandReasons) widen(e excursion, perU scale) {
	d.Low.widen(e, perU.low, d.FalseMotionsPerMinute)
	d.High.widen(e, perU.high, d.FalseMotionsPerMinute)
	if e.short != "" {
		d.Spikes = e.short
	}
}

// restingSide is where the axis may come to rest on one side, and says why.
func restingSide(a *measure.Axis, zero, direction, perU float64) DeadbandSide {
	rest, says := restingPlace(a, zero, direction, perU)
	s := DeadbandSide{Resting: rest / perU}
	s.Says = fmt.Sprintf("it may rest %s away", percent(s.Resting))
	if len(says) > 0 {
		s.Says += " (" + join(says) + ")"
	}
	if a.Return.FromLow == nil && a.Return.FromHigh == nil && a.Kind == string(curves.TwoSided) {
		s.Says += "; no releases were recorded, so where it comes to rest is not known and not counted"
	}
	return s
}

// widen adds the excursion.
func (s *DeadbandSide) widen(e excursion, perU, perMinute float64) {
	s.Excursion, s.ExcursionSigma = e.counts/perU, e.sigmas
	s.HalfWidth = roundUp(math.Min(s.Resting+s.Excursion, widest))
	s.Says = fmt.Sprintf("half-width %s: %s, and the noise reaches %s further %s", percent(s.HalfWidth), s.Says, percent(s.Excursion), often(perMinute))
	if !e.wider {
		s.Says += fmt.Sprintf(" (%.2f σ and half a sensor step, a step at least)", e.sigmas)
	}
	if e.tail != "" {
		s.Says += "; " + e.tail
	}
	s.FallsShort = e.short != ""
	if s.Resting+s.Excursion > widest {
		s.FallsShort = true
		s.Says += fmt.Sprintf("; it is held at %s, so that there will be more false motions than that", percent(widest))
	}
	if s.Resting+s.Excursion > liveable {
		s.Says += fmt.Sprintf("; that is wider than a person can live with (%s, common practice): repair the sensor or the spring rather than hide it", percent(liveable))
	}
}

// roundUp keeps half-widths to a hundredth of a percent, never narrower.
func roundUp(u float64) float64 { return math.Ceil(u*1e4-1e-9) / 1e4 }
