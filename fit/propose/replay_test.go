package propose

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"halfstick/curves"
	"halfstick/input"
)

func replayProfile(t *testing.T) *curves.Profile {
	t.Helper()
	r := calibratedFixture(t)
	r.Low, r.High = curves.Blend{Share: 0.6}, curves.Blend{Share: 0.6}
	r.Deadband = curves.Sides{Low: 0.02, High: 0.02}
	return &curves.Profile{Axes: []curves.ProfileAxis{{Label: "pitch", Device: curves.DeviceRef{GUID: "0300"}, Response: r}}}
}

func replayOf(t *testing.T, r *recorded) ReplayedAxis {
	t.Helper()
	out, err := Replay(r.rec, replayProfile(t), Smoothing{})
	if err != nil {
		t.Fatal(err)
	}
	if len(out.Axes) != 1 {
		t.Fatalf("%d axes", len(out.Axes))
	}
	return out.Axes[0]
}

// Known noise on slow motion: before it is σ, after σ times the local slope.
func TestReplayJitterByDeflection(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	noisy := func(u float64) float64 { return 100 + 30000*u + 60*rng.NormFloat64() }
	r := newRecorded(200, input.TwoSided, "pitch")
	r.add(input.Flight, 30, func(t float64) float64 { return noisy(0.05) })
	r.add(input.NoPhase, 1, func(float64) float64 { return 100 })
	r.add(input.Flight, 30, func(t float64) float64 { return noisy(-0.35 - 0.05*math.Sin(t)) })
	r.add(input.NoPhase, 1, func(float64) float64 { return 100 })
	r.add(input.Flight, 30, func(t float64) float64 { return noisy(0.9) })
	a := replayOf(t, r)
	if a.Moving != "flight" || len(a.Bands) != 3 {
		t.Fatalf("%s: bands %+v", a.Moving, a.Bands)
	}
	response := replayProfile(t).Axes[0].Response
	for i, u := range []float64{0.05, 0.35, 0.9} {
		b := a.Bands[i]
		near(t, "before", b.Before, 0.2, 0.05)
		near(t, "after against before", b.After/b.Before, response.Slope(u), 0.03)
		if u < b.From || u > b.To || b.Rows != 6000 {
			t.Errorf("band %+v for %g", b, u)
		}
	}
	if n := len(a.Seconds); n != 92*200 || len(a.Before) != n || len(a.After) != n || len(a.Phases) != n {
		t.Errorf("%d rows, want %d", n, 92*200)
	}
}

func TestReplayCountsFalseMotionsAtRest(t *testing.T) {
	r := newRecorded(100, input.TwoSided, "pitch")
	r.add(input.Rest, 60, func(t float64) float64 {
		if i := int(math.Round(t * 100)); i%1000 == 500 || i%1000 == 501 {
			return 100 + 900 // 3 %: beyond the deadband
		}
		return 100 + 100*math.Sin(t)
	})
	r.add(input.Flight, 2, func(float64) float64 { return 20000 })
	a := replayOf(t, r)
	if a.FalseMotions != 6 {
		t.Errorf("%d false motions, want 6", a.FalseMotions)
	}
	// Garwood's interval for 6 events in one minute: 2.20 to 13.06.
	near(t, "per minute", a.FalseMotionsPerMinute.Value, 6, 1e-3)
	near(t, "at least", *a.FalseMotionsPerMinute.Low, 2.202, 1e-3)
	near(t, "at most", *a.FalseMotionsPerMinute.High, 13.059, 1e-3)
	if a.Rest == nil || a.Rest.Rows != 6000 || a.Rest.After >= a.Rest.Before {
		t.Errorf("rest %+v", a.Rest)
	}
}

func TestReplayFindsTheWorstTenSeconds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	r := newRecorded(100, input.TwoSided, "pitch")
	violent := func(float64) float64 { return 9000 + 2000*rng.NormFloat64() }
	r.add(input.Flight, 4, violent) // too short, before and after
	r.add(input.NoPhase, 1, func(float64) float64 { return 100 })
	r.add(input.Flight, 60, func(t float64) float64 {
		sigma := 30.0
		if t >= 31 && t < 41 {
			sigma = 300
		}
		return 9000 + sigma*rng.NormFloat64()
	})
	r.add(input.NoPhase, 5, func(float64) float64 { return 100 })
	r.add(input.Flight, 4, violent)
	w := replayOf(t, r).Worst
	within(t, "from", w.From, 35.8, 36.2)
	within(t, "lasts", w.To-w.From, 9.9, 10.01)
	near(t, "jitter", w.Before, 1, 0.1)
}

// Without flight the sweeps count; a stretch shorter than ten seconds is
// better than none.
func TestReplayWithoutFlight(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	r := newRecorded(100, input.TwoSided, "pitch")
	r.add(input.Sweep, 4, func(t float64) float64 { return -29000 + 14500*t + 30*rng.NormFloat64() })
	r.add(input.ReleaseHigh, 4, func(t float64) float64 { return 30000 * math.Exp(-20*t) })
	a := replayOf(t, r)
	if a.Moving == "flight" || a.Worst == nil || a.Worst.To > 4 || a.Rest != nil || a.FalseMotionsPerMinute != nil {
		t.Errorf("moving %q, worst %+v, rest %+v", a.Moving, a.Worst, a.Rest)
	}
	near(t, "jitter", a.Worst.Before, 0.1, 0.1)
}

// v − ((1−k)v + kv³) = k(v − v³) is largest at v = 1/√3.
func TestLargestDifference(t *testing.T) {
	r := calibratedFixture(t)
	r.Low, r.High = curves.Blend{Share: 0.5}, curves.Blend{Share: 0.5}
	d := largestDifference(&r)
	within(t, "at", math.Abs(d.At), 0.577, 0.578)
	near(t, "difference", d.Before-d.After, 0.5*2/(3*math.Sqrt(3)), 1e-5)
	if d.Says != "at 58 % throw you will get 38 % instead of 58 %" {
		t.Errorf("says %q", d.Says)
	}
	r.Low, r.High = curves.Straight{}, curves.Straight{}
	if d := largestDifference(&r); d.Before != d.After || !strings.Contains(d.Says, "every") {
		t.Errorf("straight: %+v", d)
	}
}

func TestReplayErrors(t *testing.T) {
	r := newRecorded(100, input.TwoSided, "roll")
	if _, err := Replay(r.rec, replayProfile(t), Smoothing{}); err == nil || !strings.Contains(err.Error(), "none of the profile's axes") {
		t.Errorf("other axes: %v", err)
	}
	if _, err := Replay(r.rec, &curves.Profile{}, Smoothing{}); err == nil {
		t.Error("an empty profile was accepted")
	}
	lever := newRecorded(100, input.OneSided, "pitch")
	if _, err := Replay(lever.rec, replayProfile(t), Smoothing{}); err == nil || !strings.Contains(err.Error(), "correct the kind") {
		t.Errorf("other kind: %v", err)
	}
	other := newRecorded(100, input.TwoSided, "pitch")
	other.rec.Header.Devices[0].GUID = "0999"
	if _, err := Replay(other.rec, replayProfile(t), Smoothing{}); err == nil {
		t.Error("another device was accepted")
	}
}

// Rows without the axis are left out, and short stretches cannot trip it.
func TestReplayOfGapsAndShortStretches(t *testing.T) {
	r := newRecorded(100, input.TwoSided, "pitch")
	for range 3 {
		r.add(input.Flight, 0.02, func(float64) float64 { return 5000 })
		r.add(input.Rest, 0.01, func(float64) float64 { return 100 })
	}
	var holed input.Column
	for i := range r.rec.Rows() {
		holed.Append(r.rec.Columns[0].At(i), i%2 == 0)
	}
	r.rec.Columns[0] = holed
	a := replayOf(t, r)
	if len(a.Seconds) != 5 || a.Worst != nil || len(a.Bands) != 0 {
		t.Errorf("%d rows, worst %+v, bands %+v", len(a.Seconds), a.Worst, a.Bands)
	}
}
