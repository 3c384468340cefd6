package propose

import (
	"errors"
	"fmt"
	"slices"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/parallel"
	"halfstick/input"
)

// leastOneSidedGain is how much of the command jitter a shape must take away
// before a one-sided axis gets one; a lever that is not straight is a surprise.
const leastOneSidedGain = 0.1

// Axes proposes a response for every axis that was measured. ms[i] is the
// measurement of recs[i]; where several recordings hold the same axis (same
// device and label), what one did not measure is taken from the next, and the
// flight phases of all count.
//
// It reports options that cannot be met, lists of different lengths, a
// recording without axes, a flown_with that is no profile, and one label on two
// different devices.
func Axes(recs []*input.Recording, ms []*measure.Measurement, opts Options) (*Proposal, error) {
	if err := opts.Check(); err != nil {
		return nil, err
	}
	if len(recs) != len(ms) {
		return nil, fmt.Errorf("%d recordings but %d measurements; measure each recording once", len(recs), len(ms))
	}
	found, err := gather(recs, ms)
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, errors.New("no axis was measured; record at least one")
	}
	flown := flightsOf(recs)
	p := &Proposal{Axes: make([]AxisProposal, len(found))}
	errs := make([]error, len(found))
	parallel.Each(len(found), func(i int) {
		a, err := found[i].propose(flown, opts)
		if err != nil {
			errs[i] = fmt.Errorf("axis %s: %w", found[i].measured.Label, err)
			return
		}
		p.Axes[i] = *a
	})
	for _, err := range errs {
		if err != nil {
			return nil, err // that of the first axis, whichever was done first
		}
	}
	return p, nil
}

// Profile returns the proposed responses as a profile.
func (p *Proposal) Profile() *curves.Profile {
	out := &curves.Profile{}
	for _, a := range p.Axes {
		out.Axes = append(out.Axes, a.Profile)
	}
	return out
}

// foundAxis is one axis with what all recordings measured of it.
type foundAxis struct {
	measured measure.Axis
	device   curves.DeviceRef
}

func gather(recs []*input.Recording, ms []*measure.Measurement) ([]*foundAxis, error) {
	var found []*foundAxis
	byLabel := map[string]*foundAxis{}
	for i, m := range ms {
		for _, a := range m.Axes {
			device := deviceOf(recs[i], a)
			f := byLabel[a.Label]
			if f == nil {
				f = &foundAxis{measured: a, device: device}
				byLabel[a.Label] = f
				found = append(found, f)
				continue
			}
			if f.device != device {
				return nil, fmt.Errorf("axis label %q belongs to %q in one recording and to %q in another; give the axes different labels", a.Label, f.device.Name, device.Name)
			}
			f.add(a)
		}
	}
	return found, nil
}

func deviceOf(rec *input.Recording, a measure.Axis) curves.DeviceRef {
	for _, d := range rec.Header.Devices {
		if d.ID == a.Device {
			return curves.DeviceRef{Name: d.Name, GUID: d.GUID}
		}
	}
	return curves.DeviceRef{Name: a.Device}
}

// add fills what is missing, part by part, so that numbers that belong together
// stay together.
func (f *foundAxis) add(b measure.Axis) {
	a := &f.measured
	if !hasTravel(a) && hasTravel(&b) {
		a.Travel, a.Sweep = b.Travel, b.Sweep
	}
	if a.Rest.Sigma == nil {
		a.Rest, a.Plots, a.NoiseFreeLevels, a.EffectiveBits = b.Rest, b.Plots, b.NoiseFreeLevels, b.EffectiveBits
	} else {
		a.Plots.SettledSpikes = slices.Concat(a.Plots.SettledSpikes, b.Plots.SettledSpikes)
		a.Plots.SettledSeconds += b.Plots.SettledSeconds
	}
	if a.Return.FromLow == nil && a.Return.FromHigh == nil {
		a.Return = b.Return
	}
	if a.Step == nil {
		a.Step = b.Step
	}
	if a.Timing.ReportHz == nil {
		a.Timing = b.Timing
	}
}

func hasTravel(a *measure.Axis) bool { return a.Travel.Low != nil && a.Travel.High != nil }

// propose builds the proposal of one axis.
func (f *foundAxis) propose(flown flights, opts Options) (*AxisProposal, error) {
	m := &f.measured
	p := &AxisProposal{Measured: m}
	r, missing := calibrated(m)
	if missing == "" && m.Rest.Sigma == nil {
		missing = "rest noise"
	}
	if missing == "" {
		p.Deadband = deadbands(m, r, opts.FalseMotions)
		r.Deadband = curves.Sides{Low: p.Deadband.Low.HalfWidth, High: p.Deadband.High.HalfWidth}
		perU := scaleOf(r)
		r.EndMargin.High = endMargin(m, m.Travel.High, perU.high)
		if r.Kind == curves.TwoSided {
			r.EndMargin.Low = endMargin(m, m.Travel.Low, perU.low)
		}
	}
	flight, err := flown.of(m.Label, r, opts)
	if err != nil {
		return nil, err
	}
	fallback := fallbackDemand(r.Kind, opts.Normal)
	both := flight.tally(bothTogether)
	p.Demand = both.demand(fallback)
	p.Demand.Holds = flight.holds
	best := newFitter(&p.Demand, reachOf(r, opts))
	p.Fits = best.all()
	addIntervals(p.Fits, best, both.seconds, fallback)
	chosen := choose(p, r.Kind, opts.Shape)
	if missing != "" {
		chosen = p.Fits[0]
	}
	p.Chosen = chosen.Family
	r.Low, r.High = chosen.Shape, chosen.Shape
	if r.Kind == curves.OneSided {
		r.Low = curves.Straight{}
	} else if opts.Sides == SidesApart && missing == "" {
		p.Sides = sidesApart(flight, fallback, r, opts)
		r.Low, r.High = chosenOf(p.Sides[0].Fits, p.Chosen).Shape, chosenOf(p.Sides[1].Fits, p.Chosen).Shape
	}
	if err := r.Check(); err != nil {
		return nil, fmt.Errorf("its measurements give no usable response: %w", err)
	}
	p.describe(r, opts, len(flown.recs), missing)
	p.Profile = curves.ProfileAxis{
		Device: f.device, Index: m.Index, Label: m.Label, Response: r, Reasons: p.Reasons,
	}
	return p, nil
}

// calibrated is the response with the measured stops and centre, straight. What
// is missing for it is named, and the stops are then those of all counts.
func calibrated(m *measure.Axis) (r curves.Response, missing string) {
	kind := curves.Kind(m.Kind)
	r = curves.StraightThrough(kind)
	if !hasTravel(m) {
		return r, "travel"
	}
	c := curves.Calibration{Low: m.Travel.Low.Value, High: m.Travel.High.Value}
	if kind == curves.TwoSided {
		if m.Travel.Centre == nil {
			return r, "centre"
		}
		c.Centre = m.Travel.Centre.Value
	}
	r.Calibration = c
	if r.Check() != nil {
		return curves.StraightThrough(kind), "usable travel (its stops and centre are not in order)"
	}
	return r, ""
}

func fallbackDemand(kind curves.Kind, normal float64) Demand {
	if kind == curves.OneSided {
		return evenDemand()
	}
	return DefaultDemand(normal)
}

func reachOf(r curves.Response, opts Options) reach {
	lim := limits{opts.MaxSlope, opts.MinSlope}
	if r.Kind == curves.OneSided {
		return newReach(lim, r.Deadband.Low+r.EndMargin.High)
	}
	return newReach(lim, r.Deadband.Low+r.EndMargin.Low, r.Deadband.High+r.EndMargin.High)
}

// sidesApart fits the demand of each side by itself, under the same limits.
func sidesApart(flight flownAxis, fallback Demand, r curves.Response, opts Options) []SideProposal {
	out := []SideProposal{{Side: "low"}, {Side: "high"}}
	taken := []float64{r.Deadband.Low + r.EndMargin.Low, r.Deadband.High + r.EndMargin.High}
	for i, of := range []side{lowSide, highSide} {
		s, flown := &out[i], flight.tally(of)
		s.Demand = flown.demand(fallback)
		best := newFitter(&s.Demand, newReach(limits{opts.MaxSlope, opts.MinSlope}, taken[i]))
		s.Fits = best.all()
		addIntervals(s.Fits, best, flown.seconds, fallback)
	}
	return out
}

// chosenOf returns the fit of a family.
func chosenOf(fits []Fit, family string) Fit {
	i := slices.IndexFunc(fits, func(f Fit) bool { return f.Family == family })
	return fits[max(i, 0)]
}

// choose takes the family that was asked for, else the better of power and
// blend. A one-sided axis gets a shape only if at least half of its demand was
// flown and a shape takes away a tenth of the command jitter.
func choose(p *AxisProposal, kind curves.Kind, family string) Fit {
	straight, power, blend := p.Fits[0], p.Fits[1], p.Fits[2]
	if family != "" {
		return chosenOf(p.Fits, family)
	}
	best := blend
	if power.Gain > blend.Gain {
		best = power
	}
	if best.Gain <= 0 {
		return straight
	}
	if kind == curves.OneSided && (p.Demand.Weight < 0.5 || best.Jitter > (1-leastOneSidedGain)*straight.Jitter) {
		return straight
	}
	return best
}
