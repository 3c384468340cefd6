package propose

import (
	"fmt"
	"math"

	"halfstick/curves"
	"halfstick/fit/stats"
	"halfstick/input"
)

// Effect is what a response does to one axis's own noise and flight.
type Effect struct {
	// Gain is the share of the possible gain, as that of a Fit, of both sides on
	// the mean; below 0 where the response calms less than straight does.
	Gain float64
	// MaxSlope is the largest dy/du, infinite for an exponent below 1, and
	// CentreSlope the least of the sides' slopes at the centre; see Fit.
	MaxSlope, CentreSlope float64
	// Jitter is as that of a proposal, nil where the rest noise is not known.
	Jitter []JitterAt
	// ResolutionAfter and LevelsAfter are as those of a proposal.
	ResolutionAfter, LevelsAfter float64
	// FalseMotionsPerMinute is how often the noise leaves the deadband when the
	// axis rests as far off as the deadband's reasons take it to, nil where the
	// rest noise is not known.
	FalseMotionsPerMinute *float64
	// FalseMotions is how often the command left 0 in the recorded rest, which
	// lasted RestMinutes.
	FalseMotions int
	RestMinutes  float64
	// Flight is the recorded ten seconds with the largest jitter, nil where
	// nothing but rest and releases was recorded.
	Flight *FlownEffect
}

// FlownEffect is a stretch of a recording as it would have been commanded
// straight and through the response: see WorstStretch.
type FlownEffect struct {
	WorstStretch
	Moving        string // what was recorded, as in ReplayedAxis
	Seconds       []float64
	Before, After []float64 // commands −1…1 or 0…1
}

// Effects works out what responses do to one axis. All that does not depend on
// the response is prepared once, so that a response takes milliseconds.
type Effects struct {
	axis   *AxisProposal
	normal float64
	limits Options // of the slopes, for the share of the possible gain

	rest      [][]float64 // positions u of the stretches at rest
	restLasts float64     // minutes
	worst     *FlownEffect
	u, hand   []float64 // of the worst stretch
	mostExits float64   // h, in σ, of the band left most often
}

// NewEffects prepares the effects on an axis of a proposal that was made with
// opts; rec is a recording of it.
func NewEffects(axis *AxisProposal, rec *input.Recording, opts Options) (*Effects, error) {
	if err := opts.Check(); err != nil {
		return nil, err
	}
	col, err := rec.Find(axis.Profile.Label)
	if err != nil {
		return nil, err
	}
	e := &Effects{axis: axis, normal: opts.Normal, limits: opts}
	straight := straightOf(axis.Profile.Response)
	replayed := replayAxis(rec, col, &straight, Smoothing{})
	e.restLasts = replayed.RestMinutes
	if replayed.Worst != nil {
		e.worst = &FlownEffect{WorstStretch: *replayed.Worst, Moving: replayed.Moving}
	}
	moving := movingKinds(rec, axis.Profile.Label)
	all := new(ReplayedAxis).command(rec, col, &straight, &straight, nil)
	for s, part := range all.stretches(rec, col) {
		if s.Phase.Label != "" && s.Phase.Label != axis.Profile.Label {
			continue
		}
		switch {
		case len(part.at) < 2:
		case s.Phase.Kind == input.Rest:
			e.rest = append(e.rest, part.u)
		case moving.has(s.Phase.Kind):
			e.keepWorst(part)
		}
	}
	_, rho := reportsOf(axis.Measured)
	e.mostExits = stats.GoldenMax(func(h float64) float64 { return stats.ExitRate(h, rho) }, 0, 3, 60)
	return e, nil
}

// keepWorst keeps the rows of the worst stretch if they lie in this part.
func (e *Effects) keepWorst(p replayedPart) {
	if e.worst == nil || p.at[0] > e.worst.From || p.at[len(p.at)-1] < e.worst.To {
		return
	}
	hands := p.hands()
	for i, at := range p.at {
		if hands != nil && at >= e.worst.From && at <= e.worst.To {
			e.worst.Seconds = append(e.worst.Seconds, at)
			e.worst.Before = append(e.worst.Before, p.before[i])
			e.u, e.hand = append(e.u, p.u[i]), append(e.hand, hands[i])
		}
	}
}

// Of works out the effect of a response, which has the kind and the calibration
// of the proposed one.
func (e *Effects) Of(r curves.Response) (*Effect, error) {
	proposed := &e.axis.Profile.Response
	if err := r.Check(); err != nil {
		return nil, err
	}
	if r.Kind != proposed.Kind || r.Calibration != proposed.Calibration {
		return nil, fmt.Errorf("the response of %s has another kind or calibration than the proposed one; change deadband, end margin and shape only", e.axis.Profile.Label)
	}
	out := &Effect{RestMinutes: e.restLasts, ResolutionAfter: resolutionShare(&r, e.normal)}
	e.addSlopes(out, r)
	for _, u := range e.rest {
		y := make([]float64, len(u))
		for i := range u {
			y[i] = r.Command(u[i])
		}
		out.FalseMotions += departures(y)
	}
	if a := e.axis.Measured; a.Rest.Sigma != nil {
		out.Jitter = jitters(a, r, e.normal)
		rate := e.falseMotions(r)
		out.FalseMotionsPerMinute = &rate
		if q := a.NoiseFreeLevels; q != nil {
			out.LevelsAfter = q.Value * out.ResolutionAfter
		}
	}
	if e.worst != nil {
		out.Flight = e.flown(&r)
	}
	return out, nil
}

// addSlopes adds what the slopes are and what they gain: each side by its own
// demand where the sides are apart.
func (e *Effects) addSlopes(out *Effect, r curves.Response) {
	demands := []*Demand{&e.axis.Demand}
	shapes := []curves.Shape{r.High}
	if r.Kind == curves.TwoSided {
		demands, shapes = []*Demand{&e.axis.Demand, &e.axis.Demand}, []curves.Shape{r.Low, r.High}
	}
	for i := range e.axis.Sides {
		demands[i] = &e.axis.Sides[i].Demand
	}
	in := reachOf(r, e.limits)
	out.CentreSlope = math.Inf(1)
	var f *fitter
	for i, s := range shapes {
		if i == 0 || demands[i] != demands[i-1] {
			f = newFitter(demands[i], in)
		}
		family, parameter := "", 0.0
		if p, isPower := s.(curves.Power); isPower {
			family, parameter = familyPower, p.Exponent
		}
		fit := f.describe(family, parameter, s)
		out.Gain += fit.Gain / float64(len(shapes))
		out.MaxSlope = math.Max(out.MaxSlope, fit.MaxSlope)
		out.CentreSlope = math.Min(out.CentreSlope, fit.CentreSlope)
	}
}

// falseMotions is the rate per minute at which the noise leaves the deadband,
// each side by half, since it is left to one side or the other: the inverse of
// what the deadband was worked out from. A deadband that does not even hold the
// resting place counts as the one that is left most often.
func (e *Effects) falseMotions(r curves.Response) float64 {
	a := e.axis.Measured
	hz, rho := reportsOf(a)
	perU := scaleOf(r)
	rate := func(halfWidth, resting, perU float64) float64 {
		beyond := (halfWidth - resting) * perU
		h := math.Max((beyond-stepOf(a)/2)/a.Rest.Sigma.Value, e.mostExits)
		return 60 * hz * stats.ExitRate(h, rho) / 2
	}
	low := rate(r.Deadband.Low, e.axis.Deadband.Low.Resting, perU.low)
	if r.Kind == curves.OneSided {
		return low
	}
	return low + rate(r.Deadband.High, e.axis.Deadband.High.Resting, perU.high)
}

// flown replays the worst stretch through the response.
func (e *Effects) flown(r *curves.Response) *FlownEffect {
	out := *e.worst
	out.After = make([]float64, len(e.u))
	out.NoiseAfter = make([]float64, len(e.u))
	var sum squares
	for i, u := range e.u {
		out.After[i] = r.Command(u)
		out.NoiseAfter[i] = out.After[i] - r.Command(e.hand[i])
		sum.add(out.NoiseBefore[i], out.NoiseAfter[i])
	}
	out.JitterRMS = *sum.rms()
	return &out
}
