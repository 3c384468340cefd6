package rig

import (
	"math"
	"testing"

	"halfstick/input"
)

// bare is an axis without friction, noise or play.
func bare() AxisSpec {
	return AxisSpec{
		Label: "test", Kind: input.TwoSided, Spring: Spring{Low: 20, High: 20}, Mass: 0.2,
		Bits: 16, Travel: Travel{0, 1},
	}
}

// letGo returns the position at every step after a release at x.
func letGo(s AxisSpec, x, seconds float64) []float64 {
	a := newAxis(s, 1, 0)
	a.x, a.sensed = x, x
	var path []float64
	for range int(seconds / step) {
		a.advance(0, false)
		path = append(path, a.x)
	}
	return path
}

// The free response of m·x″ + c·x′ + k·x = 0 from x0 at rest, in closed form
// (any text on vibrations): with ω = √(k/m) and ζ = c/(2√(km)).
func TestReleaseFollowsTheDampedOscillator(t *testing.T) {
	const x0 = 0.7
	for _, zeta := range []float64{0, 0.1, 0.5, 0.9, 1.5} {
		s := bare()
		omega := math.Sqrt(s.Spring.Low / s.Mass)
		s.Damping = 2 * zeta * math.Sqrt(s.Spring.Low*s.Mass)
		exact := func(t float64) float64 {
			if zeta < 1 {
				wd := omega * math.Sqrt(1-zeta*zeta)
				return x0 * math.Exp(-zeta*omega*t) * (math.Cos(wd*t) + zeta*omega/wd*math.Sin(wd*t))
			}
			r := omega * math.Sqrt(zeta*zeta-1)
			return x0 * math.Exp(-zeta*omega*t) * (math.Cosh(r*t) + zeta*omega/r*math.Sinh(r*t))
		}
		worst := 0.0
		for i, x := range letGo(s, x0, 3) {
			worst = math.Max(worst, math.Abs(x-exact(float64(i+1)*step)))
		}
		// A first-order method is off by about ω·step/2 of the amplitude.
		if most := 1.5 * omega * step * x0; worst > most {
			t.Errorf("ζ = %g: %.2g off the closed form at worst, want at most %.2g", zeta, worst, most)
		}
	}
}

// Without damping or friction the energy stays, within the method's first-order
// ripple, over a hundred periods.
func TestEnergyStays(t *testing.T) {
	s := bare()
	a := newAxis(s, 1, 0)
	a.x = 0.5
	energy := func() float64 { return s.Spring.Low*a.x*a.x/2 + s.Mass*a.v*a.v/2 }
	start, omega := energy(), math.Sqrt(s.Spring.Low/s.Mass)
	for range int(100 * 2 * math.Pi / omega / step) {
		a.advance(0, false)
		if off := math.Abs(energy()/start - 1); off > omega*step {
			t.Fatalf("energy is %.2g off, want at most %.2g", off, omega*step)
		}
	}
}

// Dry friction alone takes 2F/k off the amplitude in every half-cycle, whatever
// the amplitude (decay under Coulomb friction; any text on vibrations).
func TestDryFrictionTakesTheSameFromEveryHalfCycle(t *testing.T) {
	s := bare()
	s.Friction = 0.5
	loss := 2 * s.Friction / s.Spring.Low
	path := letGo(s, 0.8, 20)
	var peaks []float64
	way := -1.0
	for i := 1; i < len(path); i++ {
		if d := path[i] - path[i-1]; d*way < 0 {
			peaks = append(peaks, math.Abs(path[i-1]))
			way = -way
		}
	}
	if len(peaks) < 10 {
		t.Fatalf("%d turns, want more than ten", len(peaks))
	}
	for i, p := range peaks {
		if want := 0.8 - float64(i+1)*loss; math.Abs(p-want) > 0.03*loss*float64(i+2) {
			t.Errorf("turn %d at %.4f, want %.4f", i+1, p, want)
		}
	}
	if end, band := math.Abs(path[len(path)-1]), s.Friction/s.Spring.Low; end > band {
		t.Errorf("stopped %.4f from the centre, want within F/k = %.4f", end, band)
	}
}

// Let go with damping above critical, a control creeps home until the spring is
// as weak as the friction: it stops at F/k, on the side it came from.
func TestReturnDependsOnTheSide(t *testing.T) {
	s := bare()
	s.Spring = Spring{Low: 40, High: 12, Centre: 0.02}
	s.Friction, s.Damping, s.Mass = 0.5, 4.2, 0.1
	for _, c := range []struct{ from, want float64 }{
		{-1, 0.02 - 0.5/40}, {1, 0.02 + 0.5/12},
	} {
		if got := s.restingFrom(c.from); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("from %v: rests at %.4f, want %.4f", c.from, got, c.want)
		}
	}
	// Inside the friction's band it does not move at all.
	if got := s.restingFrom(0.05); got != 0.05 {
		t.Errorf("let go inside the friction band at 0.05, rests at %v", got)
	}
}

func TestStopsHold(t *testing.T) {
	for _, kind := range []input.Kind{input.TwoSided, input.OneSided} {
		s := bare()
		s.Kind = kind
		a := newAxis(s, 1, 0)
		low, high := s.stops()
		for i := range 20000 {
			target := 3.0
			if i > 10000 {
				target = -3
			}
			a.advance(target, true)
			if a.x < low || a.x > high {
				t.Fatalf("%s axis at %v, stops are %v and %v", kind, a.x, low, high)
			}
			if i == 10000 && a.x != high {
				t.Errorf("%s axis pressed to the high stop is at %v", kind, a.x)
			}
		}
		if a.x != low {
			t.Errorf("%s axis pressed to the low stop is at %v", kind, a.x)
		}
	}
}

// The sensor follows half the play behind the grip, on either way.
func TestPlay(t *testing.T) {
	s := bare()
	s.Play, s.Damping = 0.06, 40
	s.Spring = Spring{}
	a := newAxis(s, 1, 0)
	for i, c := range []struct{ target, want float64 }{{0.5, 0.47}, {-0.5, -0.47}, {-0.45, -0.47}} {
		for range 20000 {
			a.advance(c.target, true)
		}
		if math.Abs(a.sensed-c.want) > 0.002 {
			t.Errorf("move %d to %v: the sensor is at %.4f, want %.4f", i, c.target, a.sensed, c.want)
		}
	}
}

// A hand holds a control against its spring where the two forces balance.
func TestHandBalancesTheSpring(t *testing.T) {
	a := newAxis(bare(), 1, 0)
	for range 20000 {
		a.advance(0.5, true)
	}
	if want := 0.5 * handStiffness / (handStiffness + 20); math.Abs(a.x-want) > 1e-6 {
		t.Errorf("held at %.6f, want %.6f", a.x, want)
	}
}

// Under a steady force a damped control slides at (force − friction)/damping,
// however strong the damping.
func TestTerminalSpeed(t *testing.T) {
	s := bare()
	s.Spring = Spring{Low: 1e-4, High: 1e-4, Centre: 1e5} // 10 N everywhere
	s.Friction, s.Damping, s.Mass = 5, 50, 0.1
	a := newAxis(s, 1, 0)
	a.x = -1
	for range int(5 / step) {
		a.advance(0, false)
	}
	if want := (10 - 5.0) / 50; math.Abs(a.v/want-1) > 1e-3 {
		t.Errorf("slides at %.5f, want %.5f", a.v, want)
	}
}

// Friction that differs from movement to movement scatters the returns: by its
// share times F/k.
func TestFrictionScattersReturns(t *testing.T) {
	s := bare()
	s.Friction, s.FrictionSpread, s.Damping = 1, 0.2, 6
	a := newAxis(s, 5, 0)
	const n = 200
	var sum, square float64
	for range n {
		for range 600 {
			a.advance(1.04, true)
		}
		for range 4000 {
			a.advance(0, false)
		}
		sum += a.x
		square += a.x * a.x
	}
	mean := sum / n
	sd := math.Sqrt(square/n - mean*mean)
	band := s.Friction / s.Spring.High
	// Standard errors: 0.2/√200 of the band and 1/√400 of the spread.
	if math.Abs(mean/band-1) > 0.06 {
		t.Errorf("mean return %.4f, want %.4f", mean, band)
	}
	if math.Abs(sd/(0.2*band)-1) > 0.2 {
		t.Errorf("returns scatter by %.5f, want %.5f", sd, 0.2*band)
	}
}
