package rig

import (
	"math"
	"testing"
	"time"
)

// A hand that nothing is asked of flies without an end, within the throw, or
// leaves everything alone.
func TestLiveHandWithoutAWish(t *testing.T) {
	for _, fly := range []bool{true, false} {
		r, err := New(DefaultSpecs(1), 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.SetLive(&Live{Fly: fly}); err != nil {
			t.Fatal(err)
		}
		x := make([]float64, len(r.axes))
		r.Advance(5 * time.Minute)
		low, high := math.Inf(1), math.Inf(-1)
		for at := 5 * time.Minute; at < 6*time.Minute; at += 100 * time.Millisecond {
			r.Advance(at)
			r.Positions(x)
			low, high = math.Min(low, x[0]), math.Max(high, x[0])
		}
		if moved := high-low > 0.2; moved != fly || low < -1 || high > 1 {
			t.Errorf("fly %v: pitch between %.2f and %.2f after five minutes", fly, low, high)
		}
		if err := r.SetLive(&Live{}); err == nil {
			t.Error("the hand of a rig that has moved is changed")
		}
	}
}

// The hand does what it is asked for: both stops and let go for a name, to and
// fro for a sweep, half throw for a hold, from the side that is wanted for a
// release, nothing for a rest.
func TestLiveHandObeys(t *testing.T) {
	for _, c := range []struct {
		wish      Wish
		low, high float64 // what pitch reaches within
		end       float64 // and where it is at last
	}{
		{Wish{Task: "name", Label: "pitch", Axis: -1}, -1, 1, 0},
		{Wish{Task: "sweep", Axis: 0}, -1, 1, math.NaN()},
		{Wish{Task: "hold", Axis: 0}, 0, 0.5, 0.5},
		{Wish{Task: "release", Axis: 0, Side: "low"}, -1, 0, 0},
		{Wish{Task: "release", Axis: 0, Side: "high"}, 0, 1, 0},
		{Wish{Task: "rest", Axis: -1}, 0, 0, 0},
		{Wish{Task: "end", Axis: 0}, 0, 0, 0},
	} {
		r, err := New(DefaultSpecs(1), 1)
		if err != nil {
			t.Fatal(err)
		}
		c.wish.Serial = 1
		if err := r.SetLive(&Live{Ask: func() Wish { return c.wish }}); err != nil {
			t.Fatal(err)
		}
		x := make([]float64, len(r.axes))
		low, high := 0.0, 0.0
		for at := time.Duration(0); at < 8400*time.Millisecond; at += 20 * time.Millisecond {
			r.Advance(at)
			r.Positions(x)
			low, high = math.Min(low, x[0]), math.Max(high, x[0])
		}
		// Springs swing and friction holds by a few percent.
		const near = 0.06
		if math.Abs(low-c.low) > near || math.Abs(high-c.high) > near || math.Abs(x[0]-c.end) > near {
			t.Errorf("%+v: between %.3f and %.3f, at last %.3f; want %g, %g and %g", c.wish, low, high, x[0], c.low, c.high, c.end)
		}
	}
}
