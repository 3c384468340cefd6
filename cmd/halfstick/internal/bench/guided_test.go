package bench

import (
	"sync/atomic"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

// since is a clock that began later.
type since struct {
	input.Clock
	start time.Duration
}

func (c *since) Now() time.Duration { return c.Clock.Now() - c.start }

// guidedDesk is a bench of a simulated rig whose hand does what the guide asks,
// in time that jumps.
func guidedDesk(t *testing.T) *desk {
	c := config(t)
	clock := &input.JumpClock{}
	c.Clock = clock
	var bench atomic.Pointer[Bench]
	c.Open = func() (input.Source, error) {
		r, err := rig.New(hostileSpecs(), 1)
		if err != nil {
			return nil, err
		}
		return r.Source(&since{clock, clock.Now()}), r.SetLive(&rig.Live{Ask: func() rig.Wish {
			if b := bench.Load(); b != nil {
				if s, on := b.Guiding(); on {
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
	d := guidedDesk(t)
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
	if s := d.stateNow(); s.Problem != "" || s.Recording == "" {
		t.Errorf("after the recording: %+v", s)
	}
}

// Ended at once, it leaves nothing behind and says so.
func TestGuidedRecordingThatIsEnded(t *testing.T) {
	d := guidedDesk(t)
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	if err := d.post("/guide", map[string]any{"do": "begin"}, nil); err != nil {
		t.Fatal(err)
	}
	if err := d.post("/guide", map[string]any{"do": "stop"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("it has ended", func() bool { _, on := d.Guiding(); return !on && d.stateNow().Problem != "" })
}
