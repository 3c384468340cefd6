package propose

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"halfstick/curves"
)

const (
	slopesOnLine   = 40 // points of a family's line
	slopesOnPoints = 8  // of the line of points, which is a search each
)

// Frontier is what command jitter every family reaches for what largest slope,
// against one axis's demand and with its deadband and end margins.
type Frontier struct {
	Label        string           `json:"label"`
	LargestSlope float64          `json:"largest_slope_allowed"`
	Families     []FrontierFamily `json:"families"` // power, blend, points, bound
}

// FrontierFamily is the line of one family, from straight to steep.
type FrontierFamily struct {
	Family string          `json:"family"`
	Points []FrontierPoint `json:"points"`
}

// FrontierPoint is a curve on the frontier's plane.
type FrontierPoint struct {
	MaxSlope float64 `json:"largest_slope"` // dy/du; infinite for an exponent below 1
	Jitter   float64 `json:"jitter"`        // RMS slope dy/du over demand, as Fit.Jitter
}

// Frontier works out the lines up to twice the largest slope of opts, at most
// 20. Power and blend run as far as the smallest slope allows, past their best.
// Points and the bound are the best for each largest slope.
func (p *AxisProposal) Frontier(opts Options) Frontier {
	steepest := math.Min(20, math.Max(2, 2*opts.MaxSlope))
	within := opts
	within.MaxSlope = steepest
	r := p.Profile.Response
	widest := newFitter(&p.Demand, reachOf(r, within))
	out := Frontier{Label: p.Profile.Label, LargestSlope: opts.MaxSlope}
	add := func(family string, points []FrontierPoint) {
		out.Families = append(out.Families, FrontierFamily{family, points})
	}
	add(familyPower, widest.line(familyPower, powerOf, 1, widest.largestExponent()))
	add(familyBlend, widest.line(familyBlend, blendOf, 0, widest.largestShare()))
	best := func(n int, fit func(*fitter) Fit) []FrontierPoint {
		var points []FrontierPoint
		limits := floats.LogSpan(make([]float64, n), widest.reach.perThrow, steepest)
		limits = append(limits, math.Max(opts.MaxSlope, limits[0]))
		slices.Sort(limits)
		for _, s := range limits {
			within.MaxSlope = s
			f := fit(newFitter(&p.Demand, reachOf(r, within)))
			if n := len(points); n > 0 && f.MaxSlope < points[n-1].MaxSlope {
				continue // the limit is above what helps, and the search ended a little lower
			}
			points = append(points, FrontierPoint{f.MaxSlope, f.Jitter})
		}
		return points
	}
	add(familyPoints, best(slopesOnPoints, (*fitter).points))
	add(familyBound, best(slopesOnLine, func(f *fitter) Fit { return boundFit(f.demand, f.reach) }))
	return out
}

// line follows a family from one parameter to another.
func (f *fitter) line(family string, shape func(float64) curves.Shape, lo, top float64) []FrontierPoint {
	var points []FrontierPoint
	for _, x := range floats.Span(make([]float64, slopesOnLine), lo, math.Max(lo, top)) {
		fit := f.describe(family, x, shape(x))
		points = append(points, FrontierPoint{fit.MaxSlope, fit.Jitter})
	}
	return points
}

// OnFrontier places any response of the axis's kind on the plane: its RMS slope
// over the axis's demand, both sides on the mean. minSlope is the slope below
// which slopes count as it, as for the fits.
func (p *AxisProposal) OnFrontier(r curves.Response, minSlope float64) FrontierPoint {
	in := reachOf(r, Options{MaxSlope: 20, MinSlope: minSlope})
	demands := []*Demand{&p.Demand}
	shapes := []curves.Shape{r.High}
	if r.Kind == curves.TwoSided {
		demands, shapes = []*Demand{&p.Demand, &p.Demand}, []curves.Shape{r.Low, r.High}
	}
	for i := range p.Sides {
		demands[i] = &p.Sides[i].Demand
	}
	square, largest := 0.0, 0.0
	for i, s := range shapes {
		f := newFitter(demands[i], in).describe("", 0, s)
		square += f.Jitter * f.Jitter / float64(len(shapes))
		largest = math.Max(largest, f.MaxSlope)
	}
	return FrontierPoint{largest, math.Sqrt(square)}
}
