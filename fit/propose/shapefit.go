package propose

import (
	"math"

	"halfstick/curves"
	"halfstick/fit/stats"
)

// The families of shapes that are fitted; the first four are kinds of the
// profile file.
const (
	familyStraight = "straight"
	familyPower    = "power"
	familyBlend    = "blend"
	familyPoints   = "points"
	familyBound    = "bound"
)

// centreShare is the stretch of the shaped throw next to the centre over which
// the slope at centre is averaged; see the package documentation.
const centreShare = 0.05

// Fit is one family's best shape under the limits.
type Fit struct {
	Family string `json:"family"`
	// Parameter is the exponent or the share of the blend, the number of points
	// of points, 0 else.
	Parameter float64      `json:"parameter"`
	Shape     curves.Shape `json:"-"`
	// Gain is the share of the possible gain, (J_straight − J)/(J_straight −
	// J_bound); 0 where straight is already the best.
	Gain float64 `json:"share_of_possible_gain"`
	// CentreSlope is dy/du at the centre, for power the mean over the first 5 %
	// of the shaped throw. MaxSlope is the largest dy/du.
	CentreSlope float64 `json:"centre_slope"`
	MaxSlope    float64 `json:"largest_slope"`
	Jitter      float64 `json:"jitter"` // sqrt(J/σ²): RMS slope dy/du over demand
	// Interval is that of Parameter, nil for other families than power and
	// blend and where too little was flown.
	Interval *Interval `json:"interval,omitempty"`
	// ResolutionShare and CommandJitter are as ResolutionAfter and Jitter of the
	// axis, were this shape the proposed one; set for both sides together, where
	// the rest noise is known.
	ResolutionShare float64    `json:"resolution_share,omitempty"`
	CommandJitter   []JitterAt `json:"command_jitter,omitempty"`
}

// reach says what deadband and end margin leave of the throw for the shape.
type reach struct {
	perThrow float64 // dy/du for dy/dv = 1: 1/(1 − deadband − end margin)
	shape    limits  // of dy/dv
}

// newReach turns limits of dy/du into limits of dy/dv, for sides of which
// deadband and end margin take the given shares. One shape serves all of them:
// the largest slope is limited by the widest share, the smallest by the
// narrowest. Where even the straight shape breaks a limit, straight is allowed.
func newReach(slope limits, taken ...float64) reach {
	least, most := 1.0, 1.0
	for i, t := range taken {
		left := 1 - t
		if i == 0 {
			least, most = left, left
		}
		least, most = math.Min(least, left), math.Max(most, left)
	}
	return reach{
		perThrow: 1 / least,
		shape:    limits{math.Max(1, slope.largest*least), math.Min(1, slope.smallest*most)},
	}
}

// meanSquareSlope returns J/σ² = ∫ p(y) f′² dy of the shape f on the whole
// throw, slopes below floor counted as floor. With y = f(v) it is
// ∫ p(f(v)) max(f′(v), floor)² f′(v) dv, by the midpoint rule.
func meanSquareSlope(d *Demand, f curves.Shape, floor float64) float64 {
	return meanSquareSlopeBy(fineSteps, d, f, floor)
}

// fineSteps is into how many parts of the throw an integral is cut that counts,
// roughSteps one that only shows where to look.
const fineSteps, roughSteps = 2 * cells, cells / 4

func meanSquareSlopeBy(steps int, d *Demand, f curves.Shape, floor float64) float64 {
	sum := 0.0
	for i := range steps {
		y, slope := along(f, (float64(i)+0.5)/float64(steps))
		counted := max(slope, floor)
		sum += d.At(y) * counted * counted * slope
	}
	return sum / float64(steps)
}

// along returns a shape's command and slope at v, above 0 and below 1. A power
// is most of the work of a search, and its slope comes with its command.
func along(f curves.Shape, v float64) (y, slope float64) {
	if p, ok := f.(curves.Power); ok {
		y = p.At(v)
		return y, p.Exponent * y / v
	}
	return f.At(v), f.Slope(v)
}

// Fits returns the best shape of each family for a demand, under the limits of
// opts: straight, power, blend, points and bound, in this order. r says what
// deadband and end margin leave of the throw; its shapes do not matter.
func Fits(d Demand, r curves.Response, opts Options) []Fit {
	return newFitter(&d, reachOf(r, opts)).all()
}

// fitter finds the best shape of each family for a demand.
type fitter struct {
	demand   *Demand
	reach    reach
	straight float64 // J/σ² of the straight shape
	bound    bounded
}

func newFitter(d *Demand, r reach) *fitter {
	return &fitter{
		demand: d, reach: r,
		straight: meanSquareSlope(d, curves.Straight{}, r.shape.smallest),
		bound:    bestUnder(d, r.shape),
	}
}

// leastGain is the share of J_straight below which nothing is to be gained: a
// hundredth of J is half a percent of the RMS jitter, which nobody notices (common
// practice, no source).
const leastGain = 1e-2

// gain returns the share of the possible gain of a mean square slope.
func (f *fitter) gain(square float64) float64 {
	possible := f.straight - f.bound.square
	if possible < leastGain*f.straight {
		return 0
	}
	return (f.straight - square) / possible
}

func (f *fitter) square(s curves.Shape) float64 {
	return meanSquareSlope(f.demand, s, f.reach.shape.smallest)
}

// describe works out what a shape does.
func (f *fitter) describe(family string, parameter float64, s curves.Shape) Fit {
	square := f.square(s)
	centre := s.Slope(0)
	if family == familyPower && parameter != 1 {
		centre = s.At(centreShare) / centreShare
	}
	largest := 0.0
	for i := range cells + 1 {
		largest = math.Max(largest, s.Slope(float64(i)/cells))
	}
	return Fit{
		Family: family, Parameter: parameter, Shape: s, Gain: f.gain(square),
		CentreSlope: centre * f.reach.perThrow, MaxSlope: largest * f.reach.perThrow,
		Jitter: math.Sqrt(square) * f.reach.perThrow,
	}
}

// all returns straight, power, blend, points and bound, in this order.
func (f *fitter) all() []Fit {
	return []Fit{
		f.describe(familyStraight, 0, curves.Straight{}),
		f.power(), f.blend(), f.points(),
		boundFit(f.demand, f.reach),
	}
}

func powerOf(exponent float64) curves.Shape { return curves.Power{Exponent: exponent} }

func blendOf(share float64) curves.Shape { return curves.Blend{Share: share} }

// power returns the best exponent.
func (f *fitter) power() Fit { return f.bestOf(familyPower, powerOf, 1, f.largestExponent()) }

// blend returns the best share k.
func (f *fitter) blend() Fit { return f.bestOf(familyBlend, blendOf, 0, f.largestShare()) }

func (f *fitter) bestOf(family string, shape func(float64) curves.Shape, lo, top float64) Fit {
	by := func(steps int) func(float64) float64 {
		return func(x float64) float64 {
			return meanSquareSlopeBy(steps, f.demand, shape(x), f.reach.shape.smallest)
		}
	}
	best := leastAt(by(roughSteps), by(fineSteps), lo, top)
	return f.describe(family, best, shape(best))
}

// largestExponent is the largest that the limits allow: the largest slope is
// the exponent p itself, the mean slope over the first 5 % is 0.05^(p−1).
func (f *fitter) largestExponent() float64 {
	lim := f.reach.shape
	top := math.Min(lim.largest, curves.MaxExponent)
	if lim.smallest > 0 {
		top = math.Min(top, 1+math.Log(lim.smallest)/math.Log(centreShare))
	}
	return top
}

// largestShare is the largest that the limits allow: the slope of the blend
// runs from 1−k to 1+2k.
func (f *fitter) largestShare() float64 {
	lim := f.reach.shape
	return math.Min(math.Min((lim.largest-1)/2, 1-lim.smallest), curves.MaxShare)
}

// leastAt returns where f is least on [lo,hi], to about 1e-5 of the way: the best of a
// coarse grid, in case there are several minima, refined by golden section.
// rough is about f, for the grid.
func leastAt(rough, f func(float64) float64, lo, hi float64) float64 {
	const steps = 24
	if !(hi > lo) {
		return lo
	}
	best, least := 0, math.Inf(1)
	at := func(i int) float64 { return lo + (hi-lo)*float64(i)/steps }
	for i := range steps + 1 {
		if y := rough(at(i)); y < least {
			best, least = i, y
		}
	}
	x := golden(f, at(max(0, best-1)), at(min(steps, best+1)))
	if f(x) <= f(at(best)) {
		return x
	}
	return at(best)
}

// golden returns where f is least between lo and hi, to within 1e-4 of their
// distance, if f has one minimum there.
func golden(f func(float64) float64, lo, hi float64) float64 {
	const steps = 20 // 0.618^20 is 7e-5
	return stats.GoldenMax(func(x float64) float64 { return -f(x) }, lo, hi, steps)
}
