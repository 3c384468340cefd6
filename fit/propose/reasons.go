package propose

import (
	"fmt"
	"math"

	"halfstick/curves"
	"halfstick/fit/measure"
)

// describe fills in what the response does, and why it is as it is.
func (p *AxisProposal) describe(r curves.Response, opts Options, recordings int, missing string) {
	straight := straightOf(r)
	p.ResolutionBefore = resolutionShare(&straight, opts.Normal)
	p.ResolutionAfter = resolutionShare(&r, opts.Normal)
	if missing != "" {
		p.Reasons = []string{fmt.Sprintf("straight, without deadband: the %s could not be measured%s", missing, noted(p.Measured))}
		return
	}
	if q := p.Measured.NoiseFreeLevels; q != nil {
		p.LevelsBefore, p.LevelsAfter = q.Value*p.ResolutionBefore, q.Value*p.ResolutionAfter
	}
	p.Jitter = jitters(p.Measured, r, opts.Normal)
	p.addEffects(r, opts.Normal)
	p.say("%s", p.resolutionSays(r, opts.Normal))
	p.say("%s", p.shapeSays(r.Kind, opts))
	for _, s := range p.Sides {
		p.say("%s", s.says(p.Chosen))
	}
	p.say("%s", p.demandSays(r.Kind))
	if p.Demand.Source == "flight" && p.Chosen != familyStraight {
		p.say("%s", intervalSays(p.chosen().Interval))
	}
	for _, h := range p.Demand.Holds {
		p.say("%s", h.says(recordings))
	}
	if r.Kind == curves.OneSided {
		p.say("deadband at the idle stop: %s", p.Deadband.Low.Says)
	} else {
		p.say("deadband, low side: %s", p.Deadband.Low.Says)
		p.say("deadband, high side: %s", p.Deadband.High.Says)
	}
	if p.Deadband.Spikes != "" {
		p.say("deadband: %s", p.Deadband.Spikes)
	}
	p.addStops(r)
	p.say("%s", p.costSays(r))
}

func (p *AxisProposal) say(format string, args ...any) {
	p.Reasons = append(p.Reasons, fmt.Sprintf(format, args...))
}

func noted(a *measure.Axis) string {
	if len(a.Notes) == 0 {
		return ""
	}
	return " (" + a.Notes[0] + ")"
}

// ShareSays tells which share of the throw the commands of normal flight get, as
// the end of a sentence about them.
func (p *AxisProposal) ShareSays() string {
	before, after := percent(p.ResolutionBefore), percent(p.ResolutionAfter)
	switch {
	case after == before:
		return fmt.Sprintf("keep %s of the throw", after)
	case p.ResolutionAfter < p.ResolutionBefore:
		return fmt.Sprintf("get %s of the throw, %s without the deadband", after, before)
	}
	return fmt.Sprintf("get %s of the throw instead of %s", after, before)
}

func (p *AxisProposal) resolutionSays(r curves.Response, normal float64) string {
	s := fmt.Sprintf("the commands of normal flight, up to %s of full, %s", percent(normal), p.ShareSays())
	if p.LevelsBefore > 0 {
		after, before := number(p.LevelsAfter), number(p.LevelsBefore)
		s += fmt.Sprintf(": %s noise-free levels", after)
		if after != before {
			s += " instead of " + before
		}
		if r.Kind == curves.TwoSided {
			s += " on both sides together"
		}
	}
	return s
}

func (p *AxisProposal) shapeSays(kind curves.Kind, opts Options) string {
	chosen := p.chosen()
	limit := fmt.Sprintf("under a largest slope of %g and a smallest of %g", opts.MaxSlope, opts.MinSlope)
	bound := p.Fits[len(p.Fits)-1]
	if p.Chosen == familyStraight {
		if kind == curves.OneSided {
			return "straight: a one-sided axis has no centre about which commands are finer, and nothing flown asks for a shape"
		}
		return fmt.Sprintf("straight: the demand asks for no shape %s", limit)
	}
	together := ""
	if len(p.Sides) > 0 {
		together = "both sides together: "
	}
	return fmt.Sprintf("%s%s: %s of the possible gain %s; in normal flight noise of the position comes through %.2f times as large (RMS), straight %.2f times, at best %.2f times",
		together, chosen.says(), percent(chosen.Gain), limit, chosen.Jitter, p.Fits[0].Jitter, bound.Jitter)
}

// says names the shape, with the interval of its parameter.
func (f Fit) says() string {
	var s string
	switch f.Family {
	case familyPower:
		s = fmt.Sprintf("exponent %.2f", f.Parameter)
	case familyBlend:
		s = fmt.Sprintf("cubic blend of %.2f", f.Parameter)
	case familyPoints:
		s = fmt.Sprintf("%.0f points", f.Parameter)
	default:
		s = f.Family
	}
	if i := f.Interval; i != nil {
		s += fmt.Sprintf(", %.2f to %.2f from %.0f minutes of flight", i.Low, i.High, i.Minutes)
	}
	return s
}

func (p *AxisProposal) chosen() Fit { return chosenOf(p.Fits, p.Chosen) }

// says is what a side gets, and how it was flown.
func (s SideProposal) says(family string) string {
	fit := chosenOf(s.Fits, family)
	flown := "not flown, so the default demand"
	if s.Demand.Source == "flight" {
		flown = fmt.Sprintf("%.1f minutes of flight weigh %.0f %% of the demand", s.Demand.Minutes, 100*s.Demand.Weight)
	}
	return fmt.Sprintf("%s side by itself: %s: %s of its possible gain; %s, RMS command %s",
		s.Side, fit.says(), percent(fit.Gain), flown, percent(s.Demand.SigmaY))
}

func (p *AxisProposal) demandSays(kind curves.Kind) string {
	def := "a bell curve about the centre"
	if kind == curves.OneSided {
		def = "every command equally often"
	}
	d := p.Demand
	if d.Source == "default" {
		return fmt.Sprintf("no flight recorded, so the demand is the default: %s, RMS command %s", def, percent(d.SigmaY))
	}
	return fmt.Sprintf("%.1f minutes of flight weigh %.0f %% of the demand, the default (%s) the rest; %.0f minutes would weigh half; RMS command %s",
		d.Minutes, 100*d.Weight, def, halfWeightMinutes, percent(d.SigmaY))
}

// intervalSays says where an interval comes from, or why there is none.
func intervalSays(i *Interval) string {
	if i == nil {
		return fmt.Sprintf("how sure the shape is cannot be said: that takes a power or blend and %.0f minutes of flight at the controls", leastBlocks*blockSeconds/60)
	}
	return fmt.Sprintf("the interval on the shape is where more of the same flying would most likely put it (%.0f %%, from %d flights resampled in blocks of %.0f s on the mean); the default's weight is held",
		100*i.Level, resamples, i.BlockSeconds)
}

// says gives the hold's times, in whole seconds as a watch shows them, since
// the start of its recording.
func (h Hold) says(recordings int) string {
	what := "left out of the demand, as the take-off roll and the like ask for no finer commands"
	if h.Kept {
		what = "kept in the demand"
	}
	from := "from the start"
	if recordings > 1 {
		from += fmt.Sprintf(" of recording %d", h.Recording+1)
	}
	return fmt.Sprintf("held at %s from %.0f s to %.0f s %s: %s", percent(h.Command), h.From, h.To, from, what)
}

// costSays is what the deadband costs: throw, and the smallest step of command.
func (p *AxisProposal) costSays(r curves.Response) string {
	taken := r.Deadband.Low
	per := scaleOf(r)
	counts := per.low
	if r.Kind == curves.TwoSided {
		taken = (r.Deadband.Low + r.Deadband.High) / 2
		counts = math.Min(per.low, per.high)
	}
	s := fmt.Sprintf("the deadband takes %s of the throw", percent(taken))
	u := r.Deadband.High
	if r.Kind == curves.OneSided {
		u = r.Deadband.Low
	}
	if step := stepOf(p.Measured) / counts; step > 0 {
		before, after := step, r.Command(u+step)
		s += fmt.Sprintf("; the smallest step out of it commands %s of full, straight %s", percent(after), percent(before))
	}
	return s
}
