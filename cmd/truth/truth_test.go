package main

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

// sliceDevices make a small slice of the report; their seed is fixed, so the
// test cannot fail by chance.
const (
	sliceDevices = 60
	sliceSeed    = 5
	sliceMinutes = 12.0
	sliceHours   = 0.5
)

// A slice of the whole report with bounds that a broken estimator fails. They
// are wider than the goals, as sixty devices show no percents.
func TestSlice(t *testing.T) {
	all, err := runAll(series{devices: sliceDevices, seed: sliceSeed, sessions: sessions{minutes: sliceMinutes, every: 1}, flights: flights{hours: sliceHours, every: 3}}, func(int) {})
	if err != nil {
		t.Fatal(err)
	}
	for row, least := range map[string]float64{
		"step": 100, "drift": 85, "return": 85, "return spread": 75, "return gap": 85,
		"low stop": 75, "high stop": 75, "centre": 80, "rest noise, white": 75, "rest noise, correlated": 75,
		"noise along the throw": 85, "coupling": 75,
	} {
		s := summarise(all, row)
		if s.intervals < 5 {
			t.Errorf("%s: only %d intervals", row, s.intervals)
			continue
		}
		if p, _ := s.coverage(); p < least {
			t.Errorf("%s: %.0f %% of %d intervals hold the truth, want %.0f", row, p, s.intervals, least)
		}
	}
	for row, most := range map[string]float64{
		"step": 1e-6, "low stop": 0.1, "high stop": 0.1, "centre": 0.2, "rest noise, white": 3, "rest noise, correlated": 3,
		"drift": 0.015, "return": 0.05, "return gap": 0.05, "report rate": 0.3, "lost samples": 0, "coupling": 0.05,
	} {
		if s := summarise(all, row); s.n == 0 || !(s.median <= most) {
			t.Errorf("%s: median error %.3g of %d, want at most %g", row, s.median, s.n, most)
		}
		// An interval that holds everything says nothing.
		if s := summarise(all, row); s.intervals > 0 && s.width > 40*most+1e-9 {
			t.Errorf("%s: median interval %.3g wide, want at most %g", row, s.width, 40*most)
		}
	}
	found, clear := 0, 0
	for _, code := range faults {
		d := detect(all, code)
		found, clear = found+d.clear.found, clear+d.clear.of
	}
	if clear < 25 || float64(found) < 0.8*float64(clear) {
		t.Errorf("%d of %d clear faults found, want at least 80 %%", found, clear)
	}
	if alarms := falseAlarms(all); alarms.of != sliceDevices*2/5 || alarms.found > 0 {
		t.Errorf("false alarms on healthy devices: %v", alarms)
	}
	checkPromises(t, promises(all))
	checkProposals(t, proposals(all))
	var b bytes.Buffer
	if err := report(&b, all, series{seed: sliceSeed, flights: flights{hours: sliceHours, every: 3}}, time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"60 simulated devices, seed 5, 2026-01-02", "| return gap |", "| 16 coupling |", "| one-sided |", "| 20 to 40 min |"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	if strings.Contains(b.String(), "NaN") {
		t.Error("the report has a NaN")
	}
}

// Worn bands are too rare in the slice to show a broken estimator of theirs.
func TestWornSlice(t *testing.T) {
	const devices = 16
	all, err := runAll(series{devices: devices, seed: sliceSeed, only: "worn-band"}, func(int) {})
	if err != nil {
		t.Fatal(err)
	}
	if d := detect(all, "worn-band").clear; d.of < devices-2 || d.found < d.of-1 {
		t.Errorf("%v of %d worn bands found", d, devices)
	}
	for _, row := range []string{"worn band, from", "worn band, to"} {
		s := summarise(all, row)
		if p, _ := s.coverage(); s.intervals < devices/2 || p < 80 || !(s.median < 0.4) || s.width > 2 {
			t.Errorf("%s: median error %.2f %% of throw, %.0f %% of %d intervals hold it, %.2f wide", row, s.median, p, s.intervals, s.width)
		}
	}
	if s := summarise(all, "worn band, noise ratio"); !(s.median < 12) {
		t.Errorf("noise ratio: median error %.1f %%", s.median)
	}
}

// checkPromises holds the deadbands of the slice to bounds that lie a little
// beyond what it reaches: a narrower deadband breaks the first two, a wider one
// the third.
func checkPromises(t *testing.T, list []promise) {
	t.Helper()
	m := mannerOf(list, func(promise) bool { return true })
	if m.atMost3.of < 60 || m.atMost3.percent() < 85 || m.over10.percent() > 8 {
		t.Errorf("false motions: at most 3 times the promised on %v, over 10 times on %v", m.atMost3, m.over10)
	}
	if m.noiseAtMost3.percent() < 85 {
		t.Errorf("noise alone: at most 3 times the promised on %v", m.noiseAtMost3)
	}
	if !(m.wider > 1 && m.wider < 2) || !(m.noiseWider > 0.9 && m.noiseWider < 1.3) {
		t.Errorf("the deadband is %.2f times as wide as need be, the excursion %.2f", m.wider, m.noiseWider)
	}
}

// Steps over levels are counted by the level, from 0 after a fresh start.
func TestLevels(t *testing.T) {
	l := newLevels(levelCount) // a level a unit
	for _, x := range []float64{-5, 3.5, 1, 3.5, 7.5, 2, 7.5} {
		l.next(x, false)
	}
	l.next(9.5, true)
	for x, want := range map[float64]float64{0: 2, 1: 3, 2: 4, 3: 4, 4: 3, 7: 3, 8: 1, 9: 1, 10: 0} {
		if got := l.above(x); got != want {
			t.Errorf("above %g: %g times, want %g", x, got, want)
		}
	}
	for times, want := range map[float64]float64{0: 10, 1: 8, 2: 8, 3: 4, 4: 0} {
		if got := l.least(times); got != want {
			t.Errorf("least level for %g times: %g, want %g", times, got, want)
		}
	}
}

// A device of a number is the same each time, and what it was made for.
func TestDraw(t *testing.T) {
	made := map[string]int{}
	s := series{seed: 3}
	for i := range 100 {
		d := s.draw(i)
		if !reflect.DeepEqual(d, s.draw(i)) {
			t.Fatalf("device %d is another the second time", i)
		}
		if !d.wanted() {
			t.Errorf("device %d is not what it was made for: %s", i, d.made)
		}
		made[d.made]++
	}
	if d := (series{seed: 3, only: "plateau"}).draw(0); d.made != "plateau" || !d.wanted() {
		t.Errorf("asked for a plateau, got %s", d.made)
	}
	if made[healthy] != 40 || made[mixed] != 20 || len(made) != 2+len(faults) {
		t.Errorf("made %v", made)
	}
}

// Rounding hardly matters for a large σ, where the limit is the textbook's
// 1/√(2n), and costs some of the information below a step.
func TestRoundedLimit(t *testing.T) {
	if got, want := roundedLimit(20, 800), 1/math.Sqrt(1600); math.Abs(got/want-1) > 0.001 {
		t.Errorf("σ of 20 steps: limit %.5f, want %.5f", got, want)
	}
	// Sheppard: rounding adds 1/12 to the variance, so about 1+1/(12s²).
	if got, want := roundedLimit(1, 800)*math.Sqrt(1600), 1+1.0/12; math.Abs(got-want) > 0.01 {
		t.Errorf("σ of 1 step: limit %.4f of 1/√(2n), want about %.4f", got, want)
	}
	if roundedLimit(0.3, 800) < 1.3*roundedLimit(1, 800) {
		t.Error("a σ of 0.3 step is as easy to tell as one of 1 step")
	}
}

// An interval counts as a hit where it holds the truth, and only there.
func TestSummarise(t *testing.T) {
	all := []outcome{{samples: []sample{
		{row: "x", err: 1, hit: true, width: 2}, {row: "x", err: -3, width: 4},
		{row: "x", missing: true}, {row: "x", err: 2, width: math.NaN()}, {row: "y", err: 9},
	}}}
	s := summarise(all, "x")
	if s.n != 4 || s.missing != 1 || s.intervals != 2 || s.hits != 1 || s.width != 3 || s.bias != 0 ||
		math.Abs(s.rms-math.Sqrt(14.0/3)) > 1e-12 || s.median != 2 {
		t.Errorf("%+v", s)
	}
}

func TestOffCoverage(t *testing.T) {
	// Two standard errors at 93 % of 100 are 5.1 %, at 97 % 3.4 %.
	for _, c := range []struct {
		hits, n int
		off     bool
	}{{88, 100, false}, {87, 100, true}, {100, 100, false}, {17, 17, false}, {400, 400, true}, {392, 400, false}, {395, 400, true}} {
		if offCoverage(c.hits, c.n) != c.off {
			t.Errorf("%d of %d: off %v", c.hits, c.n, !c.off)
		}
	}
}

// A reading that the end of the scale holds is half a Gaussian there: its mean
// lies σ/√(2π) inside. Far inside nothing is held, far outside everything.
func TestHeldReading(t *testing.T) {
	for _, c := range []struct{ m, sigma, want float64 }{
		{0, 100, 0}, {32767, 100, 32767 - 100/math.Sqrt(2*math.Pi)}, {-32768, 100, -32768 + 100/math.Sqrt(2*math.Pi)},
		{40000, 100, 32767}, {-33000, 0, -32768}, {1000, 0, 1000},
	} {
		if got := heldReading(c.m, c.sigma); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("mean %g, σ %g: %.6f, want %.6f", c.m, c.sigma, got, c.want)
		}
	}
}

// Where all bands have the same standard error, 95 % lie within 1.96 of it; where
// one in ten has ten times as much, they alone reach so far.
func TestRatioLimit(t *testing.T) {
	bands := func(errs ...float64) []outcome {
		var o outcome
		for _, se := range errs {
			o.samples = append(o.samples, sample{row: rowRatioLimit, err: se}, sample{row: "worn band, noise ratio", err: 7})
		}
		return []outcome{o}
	}
	if got := ratioLimit(bands(0.05, 0.05)); math.Abs(got-0.05*1.95996) > 1e-5 {
		t.Errorf("%v, want 1.96 standard errors", got)
	}
	// Half of the tenth lies beyond: 0.674 of its standard error.
	if got := ratioLimit(bands(0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 1)); math.Abs(got-0.67449) > 1e-3 {
		t.Errorf("%v, want 0.674", got)
	}
}

// Ways count from stop to stop of a sweep; one that turns back or is broken off by
// an absence does not, nor what is pushed and let go.
func TestWholeWays(t *testing.T) {
	a := rig.AxisSpec{Kind: input.TwoSided}
	sweep, push := input.Phase{Kind: input.Sweep}, input.Phase{Kind: input.ReleaseHigh}
	var s seen
	for _, step := range []struct {
		x      float64
		broken bool
		phase  input.Phase
		want   int
	}{
		{-1, false, sweep, 0}, {0, false, sweep, 0}, {1, false, sweep, 1}, {0.5, false, sweep, 1}, {1, false, sweep, 1},
		{0, true, sweep, 1}, {-1, false, sweep, 1}, {1, false, sweep, 2}, {0, false, push, 2}, {-1, false, push, 2}, {1, false, sweep, 2},
	} {
		if s.walk(step.x, step.broken, a, step.phase); s.ways != step.want {
			t.Fatalf("at %v: %d ways, want %d", step.x, s.ways, step.want)
		}
	}
}

// On a nearly dead side a poor return is neither clear nor none, and so is a
// plateau in a worn band whose noise blurs it.
func TestCausesThatNothingShows(t *testing.T) {
	low, high := -1800.0, 1800.0
	sound := rig.Truth{Kind: input.TwoSided, LowCounts: -30000, HighCounts: 30000, StepCounts: 8, SigmaCounts: 100, ReturnLow: &low, ReturnHigh: &high}
	dead := sound
	few := 150.0
	dead.HighCounts, dead.ReturnHigh = 2500, &few
	stuck := rig.AxisSpec{Stuck: rig.Stretch{From: 0.2, To: 0.25}}
	worn, beside := stuck, stuck
	worn.Worn = rig.Worn{From: 0.1, To: 0.5, Times: 4}
	beside.Worn = rig.Worn{From: 0.3, To: 0.5, Times: 4}
	for _, c := range []struct {
		name, code string
		spec       rig.AxisSpec
		truth      rig.Truth
		clear      bool
	}{
		{"a side that returns poorly", "poor-return-high", rig.AxisSpec{}, sound, true},
		{"a dead side", "poor-return-high", rig.AxisSpec{}, dead, false},
		{"the side beside a dead one", "poor-return-low", rig.AxisSpec{}, dead, true},
		{"a plateau", "plateau", stuck, sound, true},
		{"a plateau in a worn band", "plateau", worn, sound, false},
		{"a plateau beside a worn band", "plateau", beside, sound, true},
	} {
		got := causes(c.spec, c.truth)[c.code]
		if clear := got >= clearFault; clear != c.clear || got <= soundShare {
			t.Errorf("%s: %s is %.2f times its threshold", c.name, c.code, got)
		}
	}
}
