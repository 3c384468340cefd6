package measure

import (
	"math"
	"testing"
)

// deadTrack is a track that stands at 2600 over a width of positions, the rest
// of it as steep as elsewhere.
func deadTrack(width float64) func(v float64) float64 {
	return func(v float64) float64 {
		return v - math.Min(math.Max(v-2600, 0), width)
	}
}

// along bends what a sweep reads.
func along(s part, track func(v float64) float64) part {
	base := s.at
	s.at = func(t float64) float64 { return track(base(t)) }
	return s
}

// At 60 reports a second a plateau of 3.2 % of half-throw lasts two reports. One of
// six and a half deviations of the noise heaps up readings no more than three times
// over a window that holds all of them; its width comes from all of them.
func TestPlateauWidth(t *testing.T) {
	for _, c := range []struct {
		hz, sigma   float64
		passes      int
		codes, half float64 // width, and the half-throw
		off         float64 // share of the width
	}{{60, 0.3, 3, 62, 1920, 0.2}, {125, 14, 20, 91, 1950, 0.08}} {
		d := usual()
		d.reportHz, d.sigma = c.hz, c.sigma
		s := along(sweeping(100, 4000, 2.5, c.passes), deadTrack(c.codes))
		a := d.measure(t, pause(0.5, 2047), s, pause(0.5, 2047), resting(10, 2047))
		want := c.codes / c.half
		if p := a.Sweep.Plateaus; len(p) != 1 || math.Abs(p[0].To-p[0].From-want) > c.off*want {
			t.Errorf("%g reports a second: plateaus %+v, want one %.3f wide", c.hz, p, want)
		}
	}
}

// A drift that carries the plateau's reading along hides nothing.
func TestPlateauUnderDrift(t *testing.T) {
	d := usual()
	d.sigma = 0.3
	s := along(sweeping(100, 4000, 2.5, 3), deadTrack(62))
	drifting := func(p part, from float64) part {
		base := p.at
		p.at = func(t float64) float64 { return base(t) + 40*(from+t)/60 }
		return p
	}
	a := d.measure(t, pause(0.5, 2047), drifting(s, 0.5), pause(0.5, 2058), drifting(resting(20, 2047), 16))
	if p := a.Sweep.Plateaus; len(p) != 1 {
		t.Errorf("plateaus %+v, want one", p)
	}
}

// A hand that stops once, and a side whose reading hardly moves at all, are no
// plateaus.
func TestNoPlateau(t *testing.T) {
	d := usual()
	d.sigma = 0.3
	s := sweeping(100, 4000, 2.5, 3)
	once := s
	base := s.at
	once.at = func(t float64) float64 { // stops for 0.2 s in the second way
		if t > 3.6 {
			t = math.Max(3.6, t-0.2)
		}
		return base(t)
	}
	dead := along(s, func(v float64) float64 { return math.Min(v, 2047) + 0.05*math.Max(0, v-2047) })
	for name, s := range map[string]part{"a pause": once, "a dead side": dead} {
		a := d.measure(t, pause(0.5, 2047), s, pause(0.5, 2047), resting(10, 2047))
		if p := a.Sweep.Plateaus; len(p) != 0 {
			t.Errorf("%s: plateaus %+v", name, p)
		}
	}
}

// Few reports of a loud axis heap up somewhere by chance.
func TestNoPlateauOfFewReports(t *testing.T) {
	for _, sigma := range []float64{8, 12, 20} {
		d := usual()
		d.reportHz, d.sigma = 60, sigma
		a := d.measure(t, pause(0.5, 2047), sweeping(100, 4000, 2, 2), pause(0.5, 2047), resting(10, 2047))
		if p := a.Sweep.Plateaus; len(p) != 0 {
			t.Errorf("σ %v: plateaus %+v", sigma, p)
		}
	}
}

// Three times as many reports as the pace beside brings are sure where they are
// many: of n, n·(1/3 − 1 + ln 3) in the logarithm of the likelihoods.
func TestHeap(t *testing.T) {
	all := []pass{{x: 1}, {x: 2}, {x: 2}, {x: 3}, {x: 4}}
	if got, want := heap(all, 2, 3, 1.0/3), 3*(math.Log(3)-2.0/3); math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, want %v", got, want)
	}
}
