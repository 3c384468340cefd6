package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// flights is how long the flights are that stand for endless ones, and that the
// proposals of one device in so many are looked at; 0 for none.
type flights struct {
	hours float64
	every int
}

// flightStream sets the draws of flights apart from the device's.
const flightStream = 1 << 40

// proposed is what was proposed for one axis from one flight.
type proposed struct {
	kind    input.Kind
	how     string  // it was flown
	minutes float64 // of flight that counted
	apart   bool    // the sides are
	fits    []gained
	// chosen is the family that was proposed, worse whether it calms the demand
	// less than straight does, and worseOn and fresh whether it does so, and its
	// share of the possible gain, in flight that goes on for hours as it began.
	chosen         string
	worse, worseOn bool
	fresh          float64
	broken         []string // limits that a family's curve does not keep
}

// gained is one family of one axis.
type gained struct {
	family   string
	possible bool    // there is something to be gained
	share    float64 // of the possible gain
	// interval is that of the parameter, and endless what flight without an end
	// gives, at the same weight against the default demand.
	interval *propose.Interval
	endless  float64
}

// proposes flies a device's axes and holds what is proposed against its limits,
// against straight, and against what hours of the same flying ask for.
func proposes(d device, r *recorded, m *measure.Measurement, f flights) ([]proposed, error) {
	c := chance{rand.New(rand.NewPCG(d.seed, flightStream))}
	truths := r.rig.Truth()
	pilots := make([]pilot, len(truths))
	short, long := make([][]float64, len(truths)), make([][]float64, len(truths))
	minutes := c.spread(1, 120)
	for i, t := range truths {
		pilots[i] = drawPilot(c, t.Kind)
		short[i], long[i] = pilots[i].fly(c, minutes), pilots[i].fly(c, 60*f.hours)
	}
	opts := drawOptions(c)
	after := func(commands [][]float64) (*propose.Proposal, error) {
		flown, err := recordFlight(c, r.rec.Header, truths, commands)
		if err != nil {
			return nil, err
		}
		return propose.Axes([]*input.Recording{r.rec, flown}, []*measure.Measurement{m, {}}, opts)
	}
	now, err := after(short)
	if err != nil {
		return nil, err
	}
	endless, err := after(long)
	if err != nil {
		return nil, err
	}
	var out []proposed
	for i := range now.Axes {
		a := &now.Axes[i]
		if a.Deadband.Low.HalfWidth == 0 || a.Demand.Source != "flight" {
			continue // something could not be measured, or hands were off all the time
		}
		p := proposed{kind: truths[i].Kind, how: pilots[i].how, minutes: a.Demand.Minutes, apart: len(a.Sides) > 0}
		p.judge(a, flownOnly(&endless.Axes[i].Demand, fallback(p.kind, opts)), opts)
		out = append(out, p)
	}
	return out, nil
}

// drawOptions draws limits, as often as not the usual ones, and a normal
// deflection; a third of the proposals has its sides apart.
func drawOptions(c chance) propose.Options {
	opts := propose.Defaults()
	opts.Normal = c.between(0.2, 0.8)
	if c.one(0.5) {
		opts.MaxSlope, opts.MinSlope = c.spread(1.15, 8), c.between(0.05, 0.9)
	}
	if c.one(1.0 / 3) {
		opts.Sides = propose.SidesApart
	}
	return opts
}

// fallback is the demand that little flight shrinks to.
func fallback(kind input.Kind, opts propose.Options) propose.Demand {
	if kind == input.OneSided {
		return propose.NewDemand(func(float64) float64 { return 1 })
	}
	return propose.DefaultDemand(opts.Normal)
}

// flownOnly takes the default's part out of a demand.
func flownOnly(d *propose.Demand, fallback propose.Demand) propose.Demand {
	return propose.NewDemand(func(y float64) float64 {
		return math.Max(0, d.At(y)-(1-d.Weight)*fallback.At(y))
	})
}

// judge looks at all that was proposed for an axis. endless is the demand of
// flight that goes on.
func (p *proposed) judge(a *propose.AxisProposal, endless propose.Demand, opts propose.Options) {
	r := a.Profile.Response
	base := fallback(p.kind, opts)
	mixed := propose.NewDemand(func(y float64) float64 {
		return a.Demand.Weight*endless.At(y) + (1-a.Demand.Weight)*base.At(y)
	})
	truth := propose.Fits(mixed, r, opts)
	floor := dead(r, opts)
	straight, bound := meanSquare(&a.Demand, curves.Straight{}, floor), meanSquare(&a.Demand, a.Fits[len(a.Fits)-1].Shape, floor)
	for i, fit := range a.Fits {
		if fit.Family == "straight" || fit.Family == "bound" {
			continue
		}
		g := gained{family: fit.Family, interval: fit.Interval, endless: truth[i].Parameter}
		if g.possible = straight-bound > leastGain*straight; g.possible {
			g.share = (straight - meanSquare(&a.Demand, fit.Shape, floor)) / (straight - bound)
		}
		p.fits = append(p.fits, g)
		p.keeps(r, fit, fit, opts)
	}
	for i := range fitsOf(a.Sides) {
		p.keeps(r, a.Sides[0].Fits[i], a.Sides[1].Fits[i], opts)
	}
	p.chosen = a.Chosen
	p.worse = worse(a, &a.Demand, r, floor)
	if len(a.Sides) == 0 {
		on := meanSquare(&endless, curves.Straight{}, floor)
		best := meanSquare(&endless, propose.Fits(endless, r, opts)[len(truth)-1].Shape, floor)
		got := meanSquare(&endless, r.High, floor)
		p.worseOn = got > on*(1+1e-6)
		p.fresh = math.NaN()
		if on-best > leastGain*on {
			p.fresh = (on - got) / (on - best)
		}
	}
}

// leastGain is the share of straight's J below which nothing is to be gained.
const leastGain = 1e-2

func fitsOf(sides []propose.SideProposal) []propose.Fit {
	if len(sides) == 0 {
		return nil
	}
	return sides[0].Fits
}

// worse tells whether the response calms its demand less than straight does:
// either side by its own where they are apart.
func worse(a *propose.AxisProposal, d *propose.Demand, r curves.Response, floor float64) bool {
	demands := []*propose.Demand{d, d}
	for i := range a.Sides {
		demands[i] = &a.Sides[i].Demand
	}
	shapes := []curves.Shape{r.Low, r.High}
	if r.Kind == curves.OneSided {
		shapes[0] = r.High
	}
	for i, s := range shapes {
		if meanSquare(demands[i], s, floor) > meanSquare(demands[i], curves.Straight{}, floor)*(1+1e-6) {
			return true
		}
	}
	return false
}

// meanSquare is J/σ² of a shape by its inverse: in each cell of the command its
// mean slope dy/dv, slopes below floor counted as floor. No shape that keeps
// the limits comes below the bound then, whatever it does within a cell.
func meanSquare(d *propose.Demand, s curves.Shape, floor float64) float64 {
	const cells = 1000
	sum, from := 0.0, 0.0
	for i := range cells {
		to := s.Inverse(float64(i+1) / cells)
		slope := math.Max(1/(cells*(to-from)), floor)
		sum += (d.P[i] + d.P[i+1]) / 2 * slope * slope / cells
		from = to
	}
	return sum
}

// left is what deadband and end margin leave of either side's throw.
func left(r curves.Response) [2]float64 {
	if r.Kind == curves.OneSided {
		all := 1 - r.Deadband.Low - r.EndMargin.High
		return [2]float64{all, all}
	}
	return [2]float64{1 - r.Deadband.Low - r.EndMargin.Low, 1 - r.Deadband.High - r.EndMargin.High}
}

// dead is the slope dy/dv below which a slope earns nothing.
func dead(r curves.Response, opts propose.Options) float64 {
	l := left(r)
	return math.Min(1, opts.MinSlope*math.Max(l[0], l[1]))
}

// keeps follows the command of a family's curves along the throw, and notes the
// limits that it breaks. No slope is asked for: by the mean value theorem a
// curve of slopes within limits has none of its chords outside of them.
func (p *proposed) keeps(r curves.Response, low, high propose.Fit, opts propose.Options) {
	if low.Family == "straight" || low.Family == "bound" {
		return
	}
	r.Low, r.High = low.Shape, high.Shape
	margins := left(r)
	sides := []float64{-1, 1}
	if r.Kind == curves.OneSided {
		sides, r.Low = sides[1:], curves.Straight{}
	}
	for _, sign := range sides {
		from, throw := r.Deadband.High, margins[1]
		if sign < 0 || r.Kind == curves.OneSided {
			from, throw = r.Deadband.Low, margins[0]
		}
		at := func(v float64) float64 { return math.Abs(r.Command(sign * (from + v*throw))) }
		p.follow(low.Family, at, throw, opts)
	}
}

// follow looks at the chords of a side's command over its shaped throw.
func (p *proposed) follow(family string, at func(v float64) float64, throw float64, opts propose.Options) {
	const (
		chords = 2000
		slack  = 1e-6 // of the steepest slope: rounding
		falls  = 2e-3 // of dy/dv, that no hand can feel
	)
	note := func(what string, slope float64) {
		p.broken = append(p.broken, fmt.Sprintf("%s: %s %.4f", family, what, slope))
	}
	// Where even straight is steeper than the limit, straight is allowed.
	most := math.Max(opts.MaxSlope, 1/throw)
	highest, y := 0.0, 0.0
	for i := range chords {
		to := at((float64(i) + 1) / chords)
		slope := (to - y) * chords / throw
		if slope > most*(1+slack) {
			note("largest slope", slope)
			return
		}
		if slope < highest-falls/throw {
			note("slope falls to", slope)
			return
		}
		highest, y = math.Max(highest, slope), to
	}
	if math.Abs(y-1) > 1e-9 {
		note("command at the end", y)
	}
	// A power has no slope at the centre itself; the first 5 % count.
	first := at(1.0/chords) * chords / throw
	if family == "power" {
		first = at(0.05) / 0.05 / throw
	}
	if first < opts.MinSlope*(1-slack)-1e-9 {
		note("centre slope", first)
	}
}
