package input_test

import (
	"context"
	"reflect"
	"runtime"
	"testing"
	"time"

	"halfstick/input"
)

// drowsy is a clock of a machine that can be suspended.
type drowsy struct {
	input.JumpClock
	slept  time.Duration
	unsure bool
}

func (c *drowsy) Suspended() (time.Duration, bool) { return c.slept, !c.unsure }

func TestSuspendedMachineLeavesAMarkedGap(t *testing.T) {
	const ms = time.Millisecond
	clock := &drowsy{slept: time.Hour} // what it slept before does not count
	src := counting()
	play := src.play
	src.play = func(poll int, counts []int16, present []bool) error {
		switch poll {
		case 1:
			clock.slept += 60 * time.Second
		case 3: // too little for a sleep, and not lost when it grows
			clock.slept += 60 * ms
		case 4:
			clock.slept += 60 * ms
			clock.unsure = true
		case 5:
			clock.unsure = false
		}
		return play(poll, counts, present)
	}
	var told []input.Event
	var phases []time.Duration
	rec, stats, err := record(t, src, input.RecordOptions{
		RateHz: 100, For: 80 * ms, Clock: clock,
		OnEvent: func(e input.Event) { told = append(told, e) },
		PhaseAt: func(at time.Duration) input.Phase { phases = append(phases, at); return input.Phase{} },
	})
	if err != nil {
		t.Fatal(err)
	}
	if want := []int64{0, 10_000, 60_020_000, 60_030_000, 60_040_000, 60_050_000, 60_180_000, 60_190_000}; !reflect.DeepEqual(timesOf(rec), want) {
		t.Errorf("rows at %v, want %v", timesOf(rec), want)
	}
	want := []input.Event{
		{AtUS: 60_020_000, Kind: input.Asleep, Seconds: 60},
		{AtUS: 60_180_000, Kind: input.Asleep, Seconds: 0.12},
	}
	if !reflect.DeepEqual(rec.Events(), want) || !reflect.DeepEqual(told, want) {
		t.Errorf("events %+v, told %+v, want %+v", rec.Events(), told, want)
	}
	if rec.Comments[0].Row != 2 {
		t.Errorf("the gap is noted before row %d, want 2", rec.Comments[0].Row)
	}
	if last := phases[len(phases)-1]; last != 70*ms || stats.IntervalMS.Max != 10 || stats.ReachedHz != 100 {
		t.Errorf("waking time was not kept: last phase at %v, longest interval %v, rate %v", last, stats.IntervalMS.Max, stats.ReachedHz)
	}
}

func TestProgramThatIsHeldUpLeavesAMarkedGap(t *testing.T) {
	clock := &input.JumpClock{}
	src := slow(clock, map[int]time.Duration{1: 970 * time.Millisecond, 2: 2500 * time.Millisecond})
	rec, stats, err := record(t, src, input.RecordOptions{RateHz: 100, For: 4 * time.Second, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	want := []input.Event{{AtUS: 3_480_000, Kind: input.HeldUp, Seconds: 2.5}}
	if got := rec.Events(); !reflect.DeepEqual(got, want) {
		t.Errorf("events %+v, want %+v", got, want)
	}
	if stats.Rows+stats.LateTicks != 400 {
		t.Errorf("%d rows and %d late ticks do not make 400", stats.Rows, stats.LateTicks)
	}
	// A slow recording is not held up by its own period.
	rec, _, err = record(t, counting(), input.RecordOptions{RateHz: 0.5, For: 10 * time.Second, Clock: &input.JumpClock{}})
	if err != nil || len(rec.Comments) != 0 {
		t.Errorf("at half a row a second: %v, %v", err, rec.Comments)
	}
}

// watchful is a source that noticed something at one poll.
type watchful struct {
	*scripted
	at     int
	notice input.Event
}

func (w *watchful) Events() []input.Event {
	if w.polls != w.at {
		return nil
	}
	return []input.Event{w.notice}
}

func TestWhatTheSourceNoticesIsKept(t *testing.T) {
	src := &watchful{counting(), 3, input.Event{Kind: input.Unplugged, Device: "pedals"}}
	rec, _, err := record(t, src, input.RecordOptions{RateHz: 100, For: 50 * time.Millisecond, Clock: &input.JumpClock{}})
	if err != nil {
		t.Fatal(err)
	}
	want := []input.Event{{AtUS: 20_000, Kind: input.Unplugged, Device: "pedals"}}
	if !reflect.DeepEqual(rec.Events(), want) || rec.Comments[0].Row != 2 {
		t.Errorf("events %+v before row %d, want %+v before row 2", rec.Events(), rec.Comments[0].Row, want)
	}
}

// discard is a file that takes everything.
type discard struct{}

func (discard) Write(b []byte) (int, error) { return len(b), nil }

// Memory does not grow with the length of a recording: neither what is live
// nor what is allocated by the row.
func TestMemoryOfALongRecordingIsBounded(t *testing.T) {
	const hours = 2
	src := counting()
	w, err := input.NewWriter(discard{}, input.NewHeader(src, time.Now(), 100))
	if err != nil {
		t.Fatal(err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	stats, err := input.Record(context.Background(), src, w, input.RecordOptions{
		RateHz: 100, For: hours * time.Hour, Clock: &input.JumpClock{},
	})
	runtime.ReadMemStats(&after)
	if err != nil || stats.Rows != hours*360_000 {
		t.Fatalf("%d rows, %v", stats.Rows, err)
	}
	// The histograms and one buffer of 64 KiB, which grows by doubling.
	if grown := after.TotalAlloc - before.TotalAlloc; grown > 1<<20 {
		t.Errorf("%d rows have allocated %d bytes, want below 1 MiB however many", stats.Rows, grown)
	}
}
