package translate

import "math"

// Family is a one-parameter family of shapes from [0,1] to [0,1]: straight at
// a = 0, finer around the centre above it and coarser below.
type Family struct {
	Name    string  // a few words, for people
	Formula string  // y of v and a, for people
	Low     float64 // least a at which the shape is still one: it never falls
	High    float64 // largest a
	inside  func(a, v float64) float64
}

// At returns the command y for the position v of the shaped stretch, clamped to
// [0,1], with the parameter a of Low…High.
func (f *Family) At(a, v float64) float64 {
	switch {
	case v <= 0:
		return 0
	case v >= 1:
		return 1
	case math.Abs(a) < straightBelow:
		return v
	}
	return f.inside(a, v)
}

// straightBelow keeps the quotients of two vanishing numbers out; the shapes
// differ from straight by less than a there.
const straightBelow = 1e-9

// Exponents beyond these make a switch rather than a control.
const (
	leastExponent, largestExponent = 0.2, 8.0
	largestRate                    = 10.0 // exp(10): slope at the stop 10
	largestLogistic                = 4.0  // slope at the stop sinh(8)/8 = 186
)

// Families are all the families that are tried, in the order in which equally
// good ones are listed.
var Families = []*Family{
	{
		Name: "power with exponent linear in the setting", Formula: "v^(1+a)",
		Low: leastExponent - 1, High: largestExponent - 1,
		inside: func(a, v float64) float64 { return math.Pow(v, 1+a) },
	},
	{
		Name: "power with exponent exponential in the setting", Formula: "v^exp(a)",
		Low: math.Log(leastExponent), High: math.Log(largestExponent),
		inside: func(a, v float64) float64 { return math.Pow(v, math.Exp(a)) },
	},
	{
		Name: "blend of linear and cubic", Formula: "(1 − a)·v + a·v^3",
		Low: -0.5, High: 1,
		inside: func(a, v float64) float64 { return v * ((1 - a) + a*v*v) },
	},
	{
		Name: "blend of linear and quadratic", Formula: "(1 − a)·v + a·v^2",
		Low: -1, High: 1,
		inside: func(a, v float64) float64 { return v * ((1 - a) + a*v) },
	},
	{
		Name: "exponential", Formula: "(exp(a·v) − 1)/(exp(a) − 1)",
		Low: -largestRate, High: largestRate,
		inside: func(a, v float64) float64 { return math.Expm1(a*v) / math.Expm1(a) },
	},
	{
		Name: "sine", Formula: "1 − sin(a·(1 − v))/sin(a), or for a below 0 sin(a·v)/sin(a)",
		Low: -math.Pi / 2, High: math.Pi / 2,
		inside: bothWays(
			func(a, v float64) float64 { return 1 - math.Sin(a*(1-v))/math.Sin(a) },
			func(a, v float64) float64 { return math.Sin(a*v) / math.Sin(a) }),
	},
	{
		Name: "logistic about the centre", Formula: "artanh(v·tanh(a))/a, or for a below 0 its inverse with |a|",
		Low: -largestLogistic, High: largestLogistic,
		inside: bothWays(logit, logistic),
	},
	{
		Name: "logistic about half of the throw", Formula: "1/2 + tanh(a·(2·v − 1))/(2·tanh(a)), or for a below 0 its inverse with |a|",
		Low: -largestLogistic, High: largestLogistic,
		inside: bothWays(
			func(a, v float64) float64 { return 0.5 + logistic(a, 2*v-1)/2 },
			func(a, v float64) float64 { return 0.5 + logit(a, 2*v-1)/2 }),
	},
}

// bothWays joins two shapes of |a|: one for a above 0, one for a below.
func bothWays(above, below func(a, v float64) float64) func(a, v float64) float64 {
	return func(a, v float64) float64 {
		if a < 0 {
			return below(-a, v)
		}
		return above(a, v)
	}
}

// logistic is 2/(1+exp(−2av))−1, scaled to reach ±1 at v = ±1; logit is its
// inverse.
func logistic(a, v float64) float64 { return math.Tanh(a*v) / math.Tanh(a) }
func logit(a, v float64) float64    { return math.Atanh(v*math.Tanh(a)) / a }

// scales returns the scales with which every one of the settings, given as
// distances from the straight setting and not all 0, has a parameter in range.
func (f *Family) scales(distances []float64) (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	for _, d := range distances {
		switch {
		case d > 0:
			low, high = math.Max(low, f.Low/d), math.Min(high, f.High/d)
		case d < 0:
			low, high = math.Max(low, f.High/d), math.Min(high, f.Low/d)
		}
	}
	return low, high
}
