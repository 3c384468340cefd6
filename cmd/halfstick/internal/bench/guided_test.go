package bench

import (
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// since is a clock that began later.
type since struct {
	input.Clock
	start time.Duration
}

func (c *since) Now() time.Duration { return c.Clock.Now() - c.start }

// guidedDesk is a bench of a simulated rig whose hand does what the guide asks,
// in time that jumps as long as it asks. asked, if there is one, is told of what is asked for.
func guidedDesk(t *testing.T, asked func(*Bench, guide.State)) *desk {
	return guidedDeskIn(t, config(t), asked)
}

func guidedDeskIn(t *testing.T, c Config, asked func(*Bench, guide.State)) *desk {
	clock := &hurried{real: input.SystemClock()}
	c.Clock = clock
	var bench atomic.Pointer[Bench]
	c.Open = func() (input.Source, error) {
		r, err := rig.New(hostileSpecs(), 1)
		if err != nil {
			return nil, err
		}
		return r.Source(&since{clock, clock.Now()}), r.SetLive(&rig.Live{Ask: func() rig.Wish {
			if b := bench.Load(); b != nil {
				s, on := b.Guiding()
				clock.hurry.Store(on) // between recordings hours would pass, and the rig drift
				if on {
					if asked != nil {
						asked(b, s)
					}
					return rig.Wish{Task: string(s.Kind), Axis: s.Column, Label: s.Axis, Side: s.Side, Serial: s.Attempt}
				}
			}
			return rig.Wish{Axis: -1}
		}})
	}
	d := run(t, c)
	bench.Store(d.Bench)
	return d
}

// A guided recording from the page's first word to findings and a proposal.
func TestGuidedRecording(t *testing.T) {
	d := guidedDesk(t, nil)
	if err := d.post("/guide", map[string]any{"do": "repeat"}, nil); err == nil {
		t.Error("an action without a guided recording was taken")
	}
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	if err := d.post("/guide", map[string]any{"do": "begin", "axes": []string{"rudder"}}, nil); err != nil {
		t.Fatal(err)
	}
	if err := d.post("/guide", map[string]any{"do": "begin"}, nil); err == nil {
		t.Error("two guided recordings at once")
	}
	d.until("the recording is measured", func() bool { return d.analysis.Load() != nil })
	x := d.analysis.Load().axis("rudder")
	if x == nil || x.measured.Rest.Sigma == nil || x.measured.Return.FromHigh == nil || x.proposed.Chosen == "straight" {
		t.Errorf("the recording was not enough: %v", x.measured.Notes)
	}
	if _, on := d.Guiding(); on {
		t.Error("the guide goes on for ever")
	}
	if u := d.stateNow().Unfinished; u != nil {
		t.Errorf("a whole recording is said to lack %v", u.Missing)
	}
	if s := d.stateNow(); s.Problem != "" || s.Recording == "" {
		t.Errorf("after the recording: %+v", s)
	}
}

// Ended at once, it leaves nothing behind and says so.
func TestGuidedRecordingThatIsEnded(t *testing.T) {
	d := guidedDesk(t, nil)
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	if err := d.post("/guide", map[string]any{"do": "begin"}, nil); err != nil {
		t.Fatal(err)
	}
	if err := d.post("/guide", map[string]any{"do": "stop"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("it has ended", func() bool { _, on := d.Guiding(); return !on && d.stateNow().Problem != "" })
}

// stopAtRest ends a guided recording where it first asks for rest, and later
// ones not.
func stopAtRest() func(*Bench, guide.State) {
	stopped := false
	return func(b *Bench, s guide.State) {
		if s.Kind == guide.Rest && !stopped {
			stopped = true
			_ = b.actGuide(guide.Action{Kind: guide.Stop})
		}
	}
}

// beginRudder begins a guided recording of the rudder alone.
func (d *desk) beginRudder() {
	d.t.Helper()
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	if err := d.post("/guide", map[string]any{"do": "begin", "axes": []string{"rudder"}}, nil); err != nil {
		d.t.Fatal(err)
	}
}

// A recording that was broken off is offered to be gone on with, and what came
// off in it is not asked for again.
func TestGuidedRecordingGoneOnWith(t *testing.T) {
	stop := stopAtRest()
	swept := 0
	d := guidedDesk(t, func(b *Bench, s guide.State) {
		if s.Kind == guide.Sweep {
			swept = max(swept, s.Attempt)
		}
		stop(b, s)
	})
	if err := d.post("/guide", map[string]any{"do": "go-on"}, nil); err == nil {
		t.Error("nothing was gone on with")
	}
	d.beginRudder()
	d.until("the offer", func() bool { return d.stateNow().Unfinished != nil && d.stateNow().Busy == "" })
	offer := d.stateNow().Unfinished
	if len(offer.Missing) != 1 || offer.Missing[0] != "rudder (rest, release, hold)" || offer.Lacks != "" {
		t.Errorf("offered %+v", offer)
	}
	before, err := input.Open(filepath.Join(d.session.Folder(), offer.Name))
	if err != nil {
		t.Fatal(err)
	}
	once := swept
	if err := d.post("/guide", map[string]any{"do": "go-on"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("it is whole", func() bool {
		s := d.stateNow()
		return s.Unfinished == nil && s.Busy == "" && d.analysis.Load() != nil
	})
	after, err := input.Open(filepath.Join(d.session.Folder(), offer.Name))
	if err != nil {
		t.Fatal(err)
	}
	if after.Rows() <= before.Rows() {
		t.Fatalf("%d rows became %d", before.Rows(), after.Rows())
	}
	for i := range before.Rows() {
		if after.Times.At(i) != before.Times.At(i) {
			t.Fatalf("row %d of before stands at %d µs, was at %d", i, after.Times.At(i), before.Times.At(i))
		}
	}
	if swept != once {
		t.Error("the sweep was asked for again")
	}
	if x := d.analysis.Load().axis("rudder"); x == nil || x.measured.Rest.Sigma == nil || x.measured.Return.FromHigh == nil {
		t.Error("the axis is not measured whole")
	}
	if problem := d.stateNow().Problem; problem != "" {
		t.Error(problem)
	}
}

// The program was ended, or killed, in the middle: at the next start the page is
// about that recording, and offers to go on with it.
func TestGuidedRecordingAfterARestart(t *testing.T) {
	for _, killed := range []bool{false, true} {
		c := config(t)
		d := guidedDeskIn(t, c, stopAtRest())
		d.beginRudder()
		d.until("the offer", func() bool { return d.stateNow().Unfinished != nil && d.stateNow().Busy == "" })
		name := d.stateNow().Unfinished.Name
		if killed { // the session's file as it is while a guided recording is under way
			d.session.SetRecording("")
			d.session.SetGuided(name)
		}
		d.end()
		again := guidedDeskIn(t, c, nil)
		again.until("the offer after a restart", func() bool {
			s := again.stateNow()
			return s.Unfinished != nil && s.Unfinished.Name == name && s.Unfinished.Lacks == ""
		})
		if again.session.Guided() != "" || filepath.Base(again.session.Recording()) != name {
			t.Errorf("the session is about %q, under way is %q", again.session.Recording(), again.session.Guided())
		}
		again.end()
	}
}

// Without its device it cannot be gone on with, and the page says what to do.
func TestGuidedRecordingLacksItsDevice(t *testing.T) {
	c := config(t)
	d := guidedDeskIn(t, c, stopAtRest())
	d.beginRudder()
	d.until("the offer", func() bool { return d.stateNow().Unfinished != nil })
	d.end()
	p := &ports{}
	p.plug(device("stick", "pitch"))
	c.Open = p.open
	other := run(t, c)
	other.until("what is lacking", func() bool {
		s := other.stateNow()
		return len(s.Devices) == 1 && s.Busy == "" && s.Unfinished != nil && strings.HasPrefix(s.Unfinished.Lacks, "plug in")
	})
	if err := other.post("/guide", map[string]any{"do": "go-on"}, nil); err == nil || !strings.Contains(err.Error(), "plug in") {
		t.Errorf("gone on without the device: %v", err)
	}
}
