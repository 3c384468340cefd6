package guide_test

import (
	"slices"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// On a machine that now and then stands still time is that of the clock: all
// comes off, and takes no longer.
func TestStallingMachine(t *testing.T) {
	took := map[bool]time.Duration{}
	for _, stalls := range []bool{false, true} {
		w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch", "roll"}})
		polls := 0
		if stalls {
			w.stall = func(time.Duration) time.Duration {
				if polls++; polls%40 == 0 { // after 80 ms
					return 70 * time.Millisecond
				}
				return 0
			}
		}
		took[stalls] = w.run(t)
		w.complete(t)
		rests := w.out.Recording().PhaseRanges(input.Rest, "")
		if len(rests) != 1 {
			t.Fatalf("%d stretches of rest", len(rests))
		}
		times := &w.out.Recording().Times
		rest := time.Duration(times.At(rests[0].To-1)-times.At(rests[0].From)) * time.Microsecond
		if rest < 24*time.Second || rest > 26*time.Second {
			t.Errorf("with stalls %v: 25 s of rest took %v", stalls, rest)
		}
	}
	if off := took[true] - took[false]; off.Abs() > took[false]/8 {
		t.Errorf("it took %v with stalls, %v without", took[true], took[false])
	}
}

// A wait is as long as the clock says, however rarely rows come.
func TestStallingMachineWaits(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{Clumsy: rig.Clumsy{Dozes: 1}}, guide.Options{Axes: []string{"pitch", "roll"}})
	w.stall = func(time.Duration) time.Duration { return 400 * time.Millisecond }
	var begun, left time.Duration
	w.see = func(at time.Duration, s guide.State) {
		switch {
		case s.Step == 1 && begun == 0:
			begun = at
		case s.Verdict == guide.LeftOut && left == 0:
			left = at
		}
	}
	w.limit = time.Minute
	w.run(t)
	if waited := left - begun; waited < 19*time.Second || waited > 21*time.Second {
		t.Errorf("20 s without a movement were %v", waited)
	}
}

// What was done while the machine stood still for long is unknown: the step
// begins anew, which is no failure of the person.
func TestStandstill(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch", "roll"}})
	w.frozen = true
	const stood = 1000 * time.Second // a machine that was asleep
	var fell time.Duration
	attempt := 0
	w.see = func(at time.Duration, s guide.State) {
		if s.Kind == guide.Rest && s.Progress > 0.5 && fell == 0 {
			fell, attempt = at, s.Attempt
		}
		if fell > 0 && at > fell+stood && attempt > 0 {
			if s.Kind != guide.Rest || s.Attempt != attempt+1 || s.Progress > 0.1 || s.Column >= 0 {
				t.Errorf("after the standstill the guide is at %+v", s)
			}
			attempt = 0
		}
	}
	stalled := false
	w.stall = func(time.Duration) time.Duration {
		if fell == 0 || stalled {
			return 0
		}
		stalled = true
		return stood
	}
	w.run(t)
	w.heard(t, "the machine stood still for 1000 s, once more please")
	w.complete(t)
	rec := w.out.Recording()
	for _, s := range rec.Stretches {
		if took := time.Duration(rec.Times.At(s.To-1)-rec.Times.At(s.From)) * time.Microsecond; s.Phase.Kind != input.NoPhase && took > stood {
			t.Errorf("a stretch of %s goes through the standstill", s.Phase)
		}
	}
	if m := w.session.State().Axes[0].Missing; slices.Contains(m, guide.Rest) {
		t.Errorf("misses %v", m)
	}
}

// What comes off on a machine that stands still at any moment is in the
// recording: gone on with, nothing of it is asked for again, and measured, nothing
// is missing.
func TestStallingMachineRecordsWhatCameOff(t *testing.T) {
	whole := 0
	for _, kind := range []guide.StepKind{guide.Sweep, guide.Rest, guide.Release, guide.Hold} {
		for into := time.Duration(0); into < 3*time.Second; into += 600 * time.Millisecond {
			w := newWorld(t, stick(1), &rig.Live{}, guide.Options{Axes: []string{"pitch"}})
			var begun time.Duration
			w.see = func(at time.Duration, s guide.State) {
				if s.Kind == kind && begun == 0 {
					begun = at
				}
			}
			stood := false
			w.stall = func(at time.Duration) time.Duration {
				if begun == 0 || at < begun+into || stood {
					return 0
				}
				stood = true
				return 1800 * time.Millisecond
			}
			w.run(t)
			g, err := guide.New(guide.Options{Devices: w.Devices(), Done: w.out.Recording()})
			if err != nil {
				t.Fatal(err)
			}
			live, read := w.session.State().Axes[0].Missing, g.State().Axes[0].Missing
			if !slices.Equal(live, read) {
				t.Errorf("a stall %v into the %s: the recording misses %v, not %v", into, kind, read, live)
			}
			if len(live) == 0 {
				whole++
				if l := lacks(w.measured(t)); len(l) > 0 {
					t.Errorf("a stall %v into the %s: all came off, but measuring lacks %q", into, kind, l)
				}
			}
		}
	}
	if whole < 17 { // of 20; in the rest the hand does not wait for the guide
		t.Errorf("all came off %d times", whole)
	}
}

// A release counts once it was seen at rest for as long as a measurement needs,
// also where the machine stood still just then.
func TestStallingMachineSeesReleasesToTheirEnd(t *testing.T) {
	w := newWorld(t, stick(1), &rig.Live{}, guide.Options{Axes: []string{"pitch"}})
	const into, stood = 1200 * time.Millisecond, 700 * time.Millisecond
	var let time.Duration
	w.see = func(at time.Duration, s guide.State) {
		switch {
		case s.Kind != guide.Release || s.Hint != "leave it alone until the bell":
			let = 0
		case let == 0:
			let = at
		}
	}
	stalls := 0
	w.stall = func(at time.Duration) time.Duration {
		if let == 0 || at < let+into {
			return 0
		}
		let = time.Hour // once in each release
		stalls++
		return stood
	}
	w.run(t)
	w.complete(t)
	if stalls < 2*guide.DefaultNeeds.Releases {
		t.Errorf("%d stalls", stalls)
	}
	if l := lacks(w.measured(t)); len(l) > 0 {
		t.Errorf("all came off, but measuring lacks %q", l)
	}
}
