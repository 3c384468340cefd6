package guide_test

import (
	"context"
	"math"
	"os"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// world is a rig under a live hand that obeys a guide, in time that jumps.
type world struct {
	*rig.Rig
	session *guide.Session
	out     *input.Collector
	clock   input.JumpClock

	frozen bool // axes are held until they have moved, as real ones are
	gone   func(device int, t time.Duration) bool
	stall  func(t time.Duration) time.Duration // how long the machine stands still at t
	first  []int16
	free   []bool
	see    func(t time.Duration, s guide.State)
	said   []string // every judgement, once
	limit  time.Duration
}

func (w *world) Describe() string { return w.Rig.Describe() }
func (w *world) Close() error     { return nil }

// held is how far the input library holds an axis.
const held = 409

func (w *world) Poll(counts []int16, present []bool) error {
	t := w.clock.Now()
	w.Advance(t)
	w.Counts(counts)
	col := 0
	for d, dev := range w.Devices() {
		gone := w.gone != nil && w.gone(d, t)
		for range dev.Axes {
			switch {
			case gone:
				w.free[col], w.first[col] = false, counts[col]
			case math.Abs(float64(counts[col])-float64(w.first[col])) > held:
				w.free[col] = true
			}
			present[col] = !gone && (w.free[col] || !w.frozen)
			col++
		}
	}
	if w.stall != nil {
		w.clock.Advance(w.stall(t))
	}
	return nil
}

// newWorld puts a guide before a hand. o.Devices is the rig's.
func newWorld(t *testing.T, specs []rig.DeviceSpec, hand *rig.Live, o guide.Options) *world {
	t.Helper()
	r, err := rig.New(specs, 1)
	if err != nil {
		t.Fatal(err)
	}
	w := &world{Rig: r, limit: 40 * time.Minute}
	o.Devices = r.Devices()
	w.session, err = guide.NewSession(o, func(devices []input.Device) (input.RowWriter, error) {
		h := input.Header{Started: time.Unix(0, 0).UTC(), RateHz: rate, Source: "test", Devices: devices}
		w.out, err = input.NewCollector(h)
		return w.out, err
	})
	if err != nil {
		t.Fatal(err)
	}
	hand.Ask = func() rig.Wish {
		s := w.session.State()
		if last := len(w.said) - 1; s.Judgement != "" && (last < 0 || w.said[last] != s.Judgement) {
			w.said = append(w.said, s.Judgement)
			if debug {
				println(w.clock.Now().String(), string(s.Kind), s.Axis, s.Judgement)
			}
		}
		if w.see != nil {
			w.see(w.clock.Now(), s)
		}
		return rig.Wish{Task: string(s.Kind), Axis: s.Column, Label: s.Axis, Side: s.Side, Serial: s.Attempt}
	}
	if err := r.SetLive(hand); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, d := range o.Devices {
		n += len(d.Axes)
	}
	w.first, w.free = make([]int16, n), make([]bool, n)
	r.Counts(w.first)
	return w
}

const rate = 500

// run lets time pass until the guide has finished, and returns how long it took.
func (w *world) run(t *testing.T) time.Duration {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	done := writerFunc(func(row input.Row) error {
		err := w.session.Write(row)
		select {
		case <-w.session.Done():
			cancel()
		default:
		}
		return err
	})
	_, err := input.Record(ctx, w, done, input.RecordOptions{RateHz: rate, For: w.limit, Clock: &w.clock})
	if err != nil {
		t.Fatal(err)
	}
	return w.clock.Now()
}

type writerFunc func(input.Row) error

func (f writerFunc) Write(r input.Row) error { return f(r) }

var debug = os.Getenv("GUIDE_DEBUG") != ""
