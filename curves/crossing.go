package curves

import "math"

// crossing returns a place between lo and hi where f changes sign, to within
// tolerance; f has opposite signs at the two. The method is that of
// T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding
// the zero of a nonlinear function without using derivatives", Advances in
// Engineering Software 28 (1997) 145-149: inverse quadratic interpolation where
// it is safe, bisection elsewhere (citation from memory). Infinite values lead to
// bisection.
func crossing(f func(float64) float64, lo, hi, tolerance float64) float64 {
	a, b := hi, lo // b is the newest place, a the one across the sign change
	fa, fb := f(a), f(b)
	t := 0.5
	for {
		x := a + t*(b-a)
		fx := f(x)
		c, fc := a, fa // the place that is left
		if (fx > 0) == (fa > 0) {
			a, fa = x, fx
		} else {
			c, fc = b, fb
			b, fb = a, fa
			a, fa = x, fx
		}
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		width := math.Abs(b - a)
		limit := (2*epsilon*math.Abs(best) + tolerance) / width
		if limit > 0.5 || fa == 0 || fb == 0 {
			return best
		}
		t = 0.5
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		t = clamp(t, limit, 1-limit)
	}
}

// epsilon is the distance from 1 to the next float64.
const epsilon = 0x1p-52
