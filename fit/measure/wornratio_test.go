package measure

import (
	"math"
	"testing"
)

func sure5(v float64) bounded { return bounded{v, v / 1.05, v * 1.05} }

// A noise of 2 counts elsewhere and 10 in the band, to which motion adds a
// variance of 5, and of 10 where it is √2 times as fast.
func TestBandApartFromUnevenTimes(t *testing.T) {
	for name, c := range map[string]struct {
		l          levels
		band, calm float64
	}{
		"rests outside":       {levels{in: sure5(105), out: sure5(9), rest: sure5(4), pace: 1, rests: restsOutside}, 100, 4},
		"faster in the band":  {levels{in: sure5(110), out: sure5(9), rest: sure5(4), pace: 2, rests: restsOutside}, 100, 4},
		"louder rest":         {levels{in: sure5(105), out: sure5(9), rest: sure5(10), pace: 1, rests: restsOutside}, 105, 9},
		"rests in the band":   {levels{in: sure5(105), out: sure5(9), rest: sure5(100), pace: 1, rests: restsInside}, 100, 4},
		"and faster there":    {levels{in: sure5(110), out: sure5(9), rest: sure5(100), pace: 2, rests: restsInside}, 100, 4},
		"no word of the rest": {levels{in: sure5(105), out: sure5(9), rest: sure5(100), pace: 1}, 105, 9},
	} {
		band, calm := c.l.apart()
		if math.Abs(band.v-c.band) > 1e-9 || math.Abs(calm.v-c.calm) > 1e-9 {
			t.Errorf("%s: %.3f in the band and %.3f elsewhere, want %v and %v", name, band.v, calm.v, c.band, c.calm)
		}
	}
}

// Where the axis rests in the band, what motion adds is a difference of two loud
// noises. The quiet noise may be all that is seen in motion, or next to nothing.
func TestCalmIsUnsureWhereTheAxisRestsInTheBand(t *testing.T) {
	l := levels{in: sure5(105), out: sure5(9), rest: sure5(100), round: 1.0 / 12, pace: 1, rests: restsInside}
	_, calm := l.apart()
	if calm.high < 9 || calm.low > 0.01 {
		t.Errorf("between %.3f and %.3f, want from next to nothing to 9", calm.low, calm.high)
	}
	l.rest, l.in = bounded{100, 99.99, 100.01}, bounded{105, 104.99, 105.01}
	if _, calm = l.apart(); calm.high > 4.6 || calm.low < 3.4 {
		t.Errorf("between %.3f and %.3f where both loud noises are known, want 3.55 to 4.47", calm.low, calm.high)
	}
}

// Near an end of the band the noise at rest tells on which side of it the axis
// rests, away from the ends the place does, and a quiet rest within the band tells
// nothing.
func TestRestsWhere(t *testing.T) {
	a := throwAnalysis()
	f := &wornFit{from: 0.2, to: 0.4}
	for _, c := range []struct {
		at, rest float64
		want     where
	}{
		{0.19, 4, restsOutside}, {0.21, 4, restsOutside}, {0.39, 4, restsOutside}, {0.41, 4, restsOutside},
		{0.19, 90, restsInside}, {0.41, 90, restsInside}, {0.3, 90, restsInside},
		{0.3, 4, restsUnknown}, {0, 90, restsOutside}, {0.5, 90, restsOutside},
	} {
		l := levels{in: sure5(100), out: sure5(9), rest: sure5(c.rest)}
		if got := a.restsWhere(f, c.at, l); got != c.want {
			t.Errorf("at %v with a variance of %v: %v, want %v", c.at, c.rest, got, c.want)
		}
	}
}

// What the running fit follows of a slow noise below half a step is no part of
// what it leaves of it, but may be: so the upper end allows for all of it.
func TestRestLevelBelowHalfAStep(t *testing.T) {
	a := throwAnalysis()
	a.restMean, a.hasRestResidual = bare(0, unitCounts, 1, ""), true
	a.out.Rest.Sigma = within(0.4, 0.39, 0.41, unitCounts, 1000, "")
	a.restFollowed = 0.1
	got, _, ok := a.restLevel()
	if !ok || math.Abs(got.v-0.06) > 1e-9 || math.Abs(got.high-0.1681) > 1e-9 || math.Abs(got.low-0.06*0.39*0.39/0.16) > 1e-9 {
		t.Errorf("%+v, want 0.06 from 0.057 to 0.168", got)
	}
}

// In a noise far below the step the fit follows the rounding of a drifting mean,
// which is no noise.
func TestRestLevelOfAQuietAxis(t *testing.T) {
	a := throwAnalysis()
	a.restMean, a.hasRestResidual = bare(0, unitCounts, 1, ""), true
	a.out.Rest.Sigma = within(0.05, 0.03, 0.09, unitCounts, 1000, "")
	a.restFollowed, a.restResidual = 0.078, 0.008
	if got, _, ok := a.restLevel(); !ok || math.Abs(got.v-0.0025) > 1e-9 {
		t.Errorf("%+v, want σ² of 0.0025", got)
	}
}

// The fit follows a slow swing, and leaves white noise of the same power.
func TestRestFollowed(t *testing.T) {
	for slow, want := range map[bool]float64{true: 2, false: 0} {
		a := throwAnalysis()
		noise := newScatter(7)
		var p restPart
		for i := range 4000 {
			x := noise()
			if slow {
				x = 0.1*noise() + 2*math.Sin(2*math.Pi*float64(i)/400)
			}
			p.t, p.clean, p.resid = append(p.t, 0.004*float64(i)), append(p.clean, x), append(p.resid, x)
		}
		a.restVariance([]restPart{p})
		if math.Abs(a.restFollowed-want) > 0.1 {
			t.Errorf("slow %v: the fit follows %.3f counts², want %v", slow, a.restFollowed, want)
		}
	}
}
