package rig

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"halfstick/input"
)

// still is a noise-free axis that stands at x untouched.
func still(label string, x float64) AxisSpec {
	s := bare()
	s.Label, s.Bits, s.Spring.Centre = label, 12, x
	return s
}

func reading(t *testing.T, s AxisSpec) float64 {
	t.Helper()
	return codes(oneAxis(t, s, 100, 1), 1)[0]
}

// A bridged piece of track: one reading over the stretch, equal slopes on both
// sides of it, and the ends of the range where they were.
func TestStuckStretch(t *testing.T) {
	at := func(x float64) float64 {
		s := still("axis", x)
		s.Travel, s.Stuck = Travel{0.1, 0.9}, Stretch{0.2, 0.4}
		return reading(t, s)
	}
	low, high := math.Round(0.1*4095), math.Round(0.9*4095)
	if at(-1) != low || at(1) != high {
		t.Errorf("ends at %v and %v, want %v and %v", at(-1), at(1), low, high)
	}
	// 1.2 of the 1.8 that are left lie below the stretch.
	want := math.Round((0.1 + 0.8*1.2/1.8) * 4095)
	for _, x := range []float64{0.2, 0.3, 0.4} {
		if got := at(x); got != want {
			t.Errorf("at %v: code %v, want %v", x, got, want)
		}
	}
	slope := 0.8 * 4095 / 1.8
	if got := at(0.1) - at(-0.1); math.Abs(got-0.2*slope) > 1 {
		t.Errorf("below the stretch 0.2 of x is %v steps, want %.1f", got, 0.2*slope)
	}
	if got := at(0.7) - at(0.5); math.Abs(got-0.2*slope) > 1 {
		t.Errorf("above the stretch 0.2 of x is %v steps, want %.1f", got, 0.2*slope)
	}
}

func TestJumpAndLostSides(t *testing.T) {
	s := still("axis", 0)
	s.Jump = Jump{At: 0.25, Steps: 50}
	for _, c := range []struct{ x, more float64 }{{0.24, 0}, {0.25, 50}, {0.9, 50}} {
		s.Spring.Centre = c.x
		if got, want := reading(t, s), math.Round((1+c.x)/2*4095+c.more); got != want {
			t.Errorf("at %v: code %v, want %v", c.x, got, want)
		}
	}
	s = still("axis", 0)
	s.Lost = Lost{Low: 0.5, High: 0.9}
	for _, c := range []struct{ x, want float64 }{{-1, -0.5}, {-0.5, -0.25}, {0, 0}, {0.5, 0.05}, {1, 0.1}} {
		s.Spring.Centre = c.x
		if got, want := reading(t, s), math.Round((1+c.want)/2*4095); got != want {
			t.Errorf("at %v: code %v, want %v", c.x, got, want)
		}
	}
	truth := oneAxis(t, s, 100, 1).Truth()[0]
	if want := 0.05*65535 - 0.5; math.Abs(truth.HighCounts-want) > 20 || math.Abs(truth.UsedShare-0.3) > 1e-12 {
		t.Errorf("truth: high stop %v counts, %v used; want about %.0f and 0.3", truth.HighCounts, truth.UsedShare, want)
	}
}

// Pushed to a stop, the sensor stays behind by half the play; so says Truth.
func TestStopsBehindPlay(t *testing.T) {
	s := still("axis", 0)
	s.Play = 0.1
	d := DeviceSpec{ID: "test", Name: "Example", ReportHz: 100, Axes: []AxisSpec{s}}
	r, err := New([]DeviceSpec{d}, 1)
	if err != nil {
		t.Fatal(err)
	}
	push := func(at float64) (float64, bool) { return 1.2, true }
	if err := r.SetScript(NewScript(Step{Length: duration(3), Hands: []Hand{push}})); err != nil {
		t.Fatal(err)
	}
	r.Advance(duration(2.5))
	var c [1]int16
	r.Counts(c[:])
	truth := r.Truth()[0]
	if math.Abs(float64(c[0])-truth.HighCounts) > truth.StepCounts {
		t.Errorf("pushed to the stop it reads %d, truth says %.0f", c[0], truth.HighCounts)
	}
	if math.Abs(truth.UsedShare-0.95) > 1e-9 {
		t.Errorf("%v of the scale used, want 0.95", truth.UsedShare)
	}
}

// swinging is a device of two axes of which a hand swings the first.
func swinging(t *testing.T, d DeviceSpec, seconds float64) *Rig {
	t.Helper()
	r, err := New([]DeviceSpec{d}, 5)
	if err != nil {
		t.Fatal(err)
	}
	hand := func(at float64) (float64, bool) { return 0.9 * math.Sin(at), true }
	if err := r.SetScript(NewScript(Step{Length: duration(seconds), Hands: []Hand{hand}})); err != nil {
		t.Fatal(err)
	}
	return r
}

func twoAxes() DeviceSpec {
	return DeviceSpec{ID: "test", Name: "Example", ReportHz: 200, Axes: []AxisSpec{still("moved", 0), still("left", 0)}}
}

// A whole travel of one axis moves the other's reading by the share of the
// other's travel, and nothing of that comes back.
func TestLeak(t *testing.T) {
	d := twoAxes()
	d.Axes[1].Travel = Travel{0.25, 0.75}
	d.Leaks = []Leak{{From: "moved", To: "left", Share: 0.2}}
	r := swinging(t, d, 20)
	var x, y []float64
	var c [2]int16
	for at := 0.0; at < 20; at += 0.005 {
		r.Advance(duration(at))
		r.Counts(c[:])
		x, y = append(x, float64(c[0])), append(y, float64(c[1]))
	}
	if stat.StdDev(x, nil) < 15000 {
		t.Fatal("the hand moved nothing")
	}
	_, slope := stat.LinearRegression(x, y, nil, false)
	if math.Abs(slope-0.2*0.5) > 0.001 {
		t.Errorf("the other axis moves by %.4f counts a count, want 0.1", slope)
	}
	truth := r.Truth()
	if truth[0].Leaks["left"] != 0.2 || len(truth[1].Leaks) != 0 {
		t.Errorf("truth: %v and %v", truth[0].Leaks, truth[1].Leaks)
	}
}

// In a stall the counts stand still, in a dropout the axes are gone; both come
// as often and last as long as stated, and nothing else stops.
func TestOutages(t *testing.T) {
	const seconds, every = 600.0, 0.005
	for _, c := range []struct{ stalls, dropouts Outages }{
		{stalls: Outages{6, 0.5}}, {dropouts: Outages{6, 0.5}}, {},
	} {
		d := twoAxes()
		d.Stalls, d.Dropouts = c.stalls, c.dropouts
		r := swinging(t, d, seconds)
		var now, last [2]int16
		var there [2]bool
		stood, gone, waits, leaves := 0.0, 0.0, 0, 0
		wait, was := 0.0, true
		for at := 0.0; at < seconds; at += every {
			r.Advance(duration(at))
			r.Counts(now[:])
			if n := r.Present(there[:]); n != 2 || there[0] != there[1] {
				t.Fatalf("%d presences: %v", n, there)
			}
			if !there[0] {
				gone += every
				if was {
					leaves++
				}
			}
			was = there[0]
			wait += every
			if now != last {
				if wait > 0.3 && was { // longer than the swing stands at its ends
					stood += wait
					waits++
				}
				wait = 0
			}
			last = now
		}
		// A Poisson count of 60, its lengths ±25 %.
		check := func(what string, o Outages, n int, total float64, past []Interval) {
			want := o.PerMinute * seconds / 60
			if math.Abs(float64(n)-want) > 4*math.Sqrt(want) || math.Abs(total-float64(n)*o.Seconds) > 0.2*float64(n)*o.Seconds {
				t.Errorf("%s %+v: %d of %.1f s together", what, o, n, total)
			}
			listed := 0.0
			for _, p := range past {
				listed += p.To - p.From
			}
			if math.Abs(listed-total) > 0.1*listed+0.01 {
				t.Errorf("%s: listed %.2f s, seen %.2f s", what, listed, total)
			}
		}
		if c.dropouts.PerMinute == 0 {
			check("stalls", c.stalls, waits, stood, r.Stalls(0))
		}
		check("dropouts", c.dropouts, leaves, gone, r.Dropouts(0))
	}
}

// Without overshoot a release with mean friction ends where Truth says; with
// friction that varies, releases scatter about it in proportion.
func TestSimulateReturns(t *testing.T) {
	s := still("axis", 0)
	s.Spring, s.Friction, s.Damping = Spring{Low: 20, High: 20}, 0.4, 4
	r := oneAxis(t, s, 100, 2)
	truth := r.Truth()[0]
	for _, v := range r.SimulateReturns(0, true, 3, 10) {
		if math.Abs(v-*truth.ReturnHigh) > 1e-6 {
			t.Errorf("comes to rest at %v, truth says %v", v, *truth.ReturnHigh)
		}
	}
	s.FrictionSpread = 0.2
	r = oneAxis(t, s, 100, 2)
	x := r.SimulateReturns(0, false, 400, 5)
	away := *truth.ReturnLow - truth.CentreCounts
	if sd := stat.StdDev(x, nil); math.Abs(sd/math.Abs(0.2*away)-1) > 0.15 {
		t.Errorf("scatters by %.1f counts, want %.1f", sd, math.Abs(0.2*away))
	}
	if m := stat.Mean(x, nil); math.Abs(m-*truth.ReturnLow) > 0.04*math.Abs(away) {
		t.Errorf("mean %.1f, want %.1f", m, *truth.ReturnLow)
	}
}

func TestFaultsOutOfRange(t *testing.T) {
	for name, spoil := range map[string]func(d *DeviceSpec){
		"stuck beyond the throw": func(d *DeviceSpec) { d.Axes[0].Stuck = Stretch{0.9, 1.1} },
		"stuck everywhere":       func(d *DeviceSpec) { d.Axes[0].Stuck = Stretch{-1, 1} },
		"stuck backwards":        func(d *DeviceSpec) { d.Axes[0].Stuck = Stretch{0.2, 0.1} },
		"all lost":               func(d *DeviceSpec) { d.Axes[0].Lost = Lost{High: 1} },
		"lost on one side only":  func(d *DeviceSpec) { d.Axes[0].Kind, d.Axes[0].Lost = input.OneSided, Lost{Low: 0.5} },
		"leak to itself":         func(d *DeviceSpec) { d.Leaks = []Leak{{"moved", "moved", 0.1}} },
		"leak to nowhere":        func(d *DeviceSpec) { d.Leaks = []Leak{{"moved", "nowhere", 0.1}} },
		"outages of no length":   func(d *DeviceSpec) { d.Stalls = Outages{PerMinute: 1} },
		"fewer than no outages":  func(d *DeviceSpec) { d.Dropouts = Outages{PerMinute: -1} },
	} {
		d := twoAxes()
		spoil(&d)
		if _, err := New([]DeviceSpec{d}, 1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := New([]DeviceSpec{twoAxes()}, 1); err != nil {
		t.Error(err)
	}
}
