package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
)

const (
	nearEnd = 0.01     // of the throw: an axis that rests so near to a band's end may rest on either side
	hidden  = 1.0 / 64 // of the rounding's variance: a noise that is quieter is hidden by it
	told    = 1.0 / 4  // of the rounding's variance, or of all the noise in motion: motion alone does not tell less
)

// bounded is a variance with its interval, counts².
type bounded struct{ v, low, high float64 }

// varianceOf is a variance from so many independent values.
func varianceOf(sd, n float64) bounded {
	low, high := stats.SigmaInterval(sd, n, 0.95)
	return bounded{sd * sd, low * low, high * high}
}

// less takes a variance off that is known to lie within bounds.
func (b bounded) less(o bounded) bounded {
	return bounded{b.v - o.v, b.low - o.high, b.high - o.low}
}

func (b bounded) times(k float64) bounded { return bounded{k * b.v, k * b.low, k * b.high} }

// atLeast holds a variance and its bounds above a least.
func (b bounded) atLeast(least float64) bounded {
	return bounded{math.Max(least, b.v), math.Max(least, b.low), math.Max(least, b.high)}
}

// restLevel is the variance that the running fit leaves of the noise at rest,
// rounding taken off, and where along the throw the axis rests. Below half a
// step the rounding is no even noise, and the likelihood's σ stands in, less what
// the fit follows of all that is there; how much of that is rounding is not known,
// but of a noise below quietNoise it is nearly all, as drift carries the mean slowly
// from code to code.
func (a *analysis) restLevel() (variance bounded, at float64, ok bool) {
	q := a.out.Rest.Sigma
	if q == nil || !a.hasRestResidual || a.restMean == nil {
		return bounded{}, 0, false
	}
	all := q.Value * q.Value
	left := a.restResidual - a.step*a.step/12
	switch {
	case q.Value < quietNoise*a.step:
		left = all
	case q.Value <= 0.5*a.step:
		left = all - math.Max(0, a.restFollowed)
	}
	share := math.Max(0, left) / math.Max(1e-18, all)
	low, high := edge(q, -1), edge(q, 1)
	variance = bounded{share * all, share * low * low, share * high * high}
	if q.Value <= 0.5*a.step {
		variance.high = high * high
	}
	return variance, a.position(a.restMean.Value), true
}

// levels are the variances that tell how much noisier a band is: in motion inside
// and outside of it, and at rest, rounding taken off each.
type levels struct {
	in, out, rest bounded
	round         float64 // variance of the rounding
	pace          float64 // the square of the speed inside over that outside
	rests         where
}

// where an axis rests, as seen from a worn band.
type where int

const (
	restsUnknown where = iota
	restsInside
	restsOutside
)

// apart gives the noise of the band and the noise elsewhere. In motion both have
// more of it, with the square of the speed, from reports at uneven times. The
// noise at rest has not, and so tells how much that is, on the side of the band's
// ends where the axis rests.
func (l levels) apart() (band, calm bounded) {
	band, calm = l.in, l.out.atLeast(told*l.round)
	switch {
	case l.rests == restsInside:
		// How much motion adds is a small difference of two loud noises, and
		// weighs much in the quiet one.
		uneven := l.in.less(l.rest).atLeast(0)
		band = l.rest
		least := told * math.Max(l.round, calm.v)
		calm = calm.less(uneven.times(1 / l.pace))
		calm.v = math.Max(least, calm.v)
	case l.rests == restsOutside && l.rest.v < calm.v:
		uneven := l.pace * (calm.v - l.rest.v)
		band = l.in.less(bounded{uneven, uneven, uneven})
		calm = l.rest
	}
	return band.atLeast(told * told * l.round), calm.atLeast(hidden * l.round)
}

// restsWhere tells on which side of the band's ends the axis rests. So near to an
// end that the place does not tell, the noise does: in motion there can be only
// more of it than at rest.
func (a *analysis) restsWhere(f *wornFit, at float64, l levels) where {
	margin := nearEnd * (1 - a.leastU())
	louder := math.Abs(math.Log(l.rest.v/l.in.v)) < math.Abs(math.Log(l.rest.v/l.out.v))
	switch {
	case at < f.from-margin || at > f.to+margin:
		return restsOutside
	case louder:
		return restsInside
	case at < f.from+margin || at > f.to-margin:
		return restsOutside
	}
	return restsUnknown // it rests within the band, and is quiet
}

// wornRatio is the band's noise over the noise elsewhere, rounding taken off
// both, and what reports at uneven times add in motion.
func (a *analysis) wornRatio(res []residual, f *wornFit) *Quantity {
	var in, half, out []residual
	for _, r := range res {
		switch s := f.inside(r.u, math.Abs(r.v)/a.halfThrow(r.u > 0)); {
		case s >= 0.9:
			in, half = append(in, r), append(half, r)
		case s >= 0.5:
			half = append(half, r)
		case s < 0.01:
			out = append(out, r)
		}
	}
	if len(in) < leastInBand {
		in = half
	}
	var bands []float64
	for _, b := range a.inBands(out) {
		if len(b) >= leastInBand {
			sd, _ := trimmed(deviationsOf(b))
			bands = append(bands, sd*sd)
		}
	}
	if len(in) < 10 || len(bands) < 3 {
		return nil
	}
	sd, n := trimmed(deviationsOf(in))
	l := levels{pace: meanSquareSpeed(in) / math.Max(1e-12, meanSquareSpeed(out))}
	if a.hasGrid {
		l.round = a.step * a.step / 12
	}
	round := bounded{l.round, l.round, l.round}
	_, freeIn := stats.EffectiveN(deviationsOf(in))
	_, freeOut := stats.EffectiveN(deviationsOf(out))
	l.in = varianceOf(sd, freeIn*(1-3/float64(a.window()))).less(round).atLeast(hidden * l.round)
	l.out = varianceOf(math.Sqrt(stats.Median(bands)), 0.64*freeOut).less(round).atLeast(hidden * l.round) // 0.64: a median's efficiency
	total := 0.0                                                                                           // noise at rest, what is slower than the fit's window included
	if rest, at, ok := a.restLevel(); ok {
		l.rest = rest.atLeast(told * told * l.round)
		if l.rests = a.restsWhere(f, at, l); l.rests == restsOutside {
			total = a.out.Rest.Sigma.Value
		}
	}
	band, calm := l.apart()
	ratio := math.Sqrt(band.v / calm.v)
	a.wornSigma = math.Max(math.Sqrt(band.v), ratio*total)
	apart := func(x, y float64) float64 { return math.Log(x/y) / 2 }
	low := math.Hypot(apart(band.v, band.low), apart(calm.high, calm.v))
	high := math.Hypot(apart(band.high, band.v), apart(calm.v, calm.low))
	return within(ratio, ratio*math.Exp(-low), ratio*math.Exp(high), unitRatio, n+len(out),
		fmt.Sprintf("deviation inside over the median of %d bands outside, or over that at rest where uneven times of the reports add to it in motion; rounding and what they add taken off; interval from the independent residuals of both", len(bands)))
}
