package stats

import "math"

// GoldenMax returns where the unimodal f is largest on [lo, hi], by golden
// section; each of the steps narrows the bracket to 0.618 of itself.
func GoldenMax(f func(float64) float64, lo, hi float64, steps int) float64 {
	const g = 0.6180339887498949
	a, b := hi-g*(hi-lo), lo+g*(hi-lo)
	fa, fb := f(a), f(b)
	for range steps {
		if fa > fb {
			hi, b, fb = b, a, fa
			a = hi - g*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + g*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}

// edge returns where the deviance of a positive parameter, near 0 at from,
// reaches limit: it steps out by factors, then closes in by regula falsi
// (Illinois variant) on the root of the deviance over the parameter's
// logarithm, which is nearly a straight line.
func edge(deviance func(float64) float64, limit, from, factor float64) float64 {
	over := func(logX float64) float64 {
		return math.Sqrt(math.Max(0, deviance(math.Exp(logX)))) - math.Sqrt(limit)
	}
	step := math.Log(factor)
	a := math.Log(from)
	fa := over(a)
	b := a + step
	fb := over(b)
	for range 60 {
		if fb > 0 {
			break
		}
		a, fa, b = b, fb, b+step
		fb = over(b)
	}
	for range 40 {
		c := (a*fb - b*fa) / (fb - fa)
		fc := over(c)
		if math.Abs(fc) < 1e-9 || math.Abs(b-a) < 1e-9 {
			return math.Exp(c)
		}
		if fc*fb < 0 {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		b, fb = c, fc
	}
	return math.Exp(b)
}
