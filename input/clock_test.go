package input_test

import (
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"halfstick/input"
)

func TestSystemClock(t *testing.T) {
	clock := input.SystemClock()
	before := clock.Now()
	for _, d := range []time.Duration{-time.Second, 0, 20 * time.Microsecond, time.Millisecond, 20 * time.Millisecond} {
		at := clock.Now() + d
		clock.SleepUntil(at)
		now := clock.Now()
		if now < at || now < before {
			t.Errorf("after sleeping until %v it is %v, before it was %v", at, now, before)
		}
		before = now
	}
}

func TestJumpClock(t *testing.T) {
	var clock input.JumpClock
	clock.SleepUntil(time.Hour)
	clock.SleepUntil(time.Minute)
	clock.Advance(time.Second)
	if got := clock.Now(); got != time.Hour+time.Second {
		t.Errorf("the clock is at %v, want an hour and a second", got)
	}
}

// With the real clock, on a machine however busy: whatever happens, rows and
// late ticks make up the time, and the instants are those of the clock.
func TestRecordByTheSystemClock(t *testing.T) {
	begun := time.Now()
	rec, stats, err := record(t, counting(), input.RecordOptions{RateHz: 500, For: 300 * time.Millisecond})
	took := time.Since(begun)
	if err != nil {
		t.Fatal(err)
	}
	if stats.Rows+stats.LateTicks != 150 || stats.Rows != rec.Rows() || stats.Rows == 0 {
		t.Errorf("%d rows and %d late ticks, want 150 together", stats.Rows, stats.LateTicks)
	}
	if last := time.Duration(rec.Times.At(rec.Rows()-1)) * time.Microsecond; last > took {
		t.Errorf("the last row is at %v of %v", last, took)
	}
	i := stats.IntervalMS
	if i.P50 > i.P99 || i.P99 > i.P999 || i.P999 > i.Max || i.P50 < 1 || stats.ReachedHz <= 0 || stats.ReachedHz > 750 {
		t.Errorf("intervals %+v are not in order", stats)
	}
	if cpu := stats.CPUPercent; runtime.GOOS == "linux" && (cpu == nil || *cpu <= 0) {
		t.Errorf("the processor time is %v", cpu)
	}
	t.Logf("%+v in %v", stats, took)
}

func TestHistogramQuantiles(t *testing.T) {
	var none input.Histogram
	if none.Quantile(0.5) != 0 || none.Max() != 0 {
		t.Error("an empty histogram has a quantile")
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, reach := range []int64{10, 4000, 5000, 1e6, 1e13, 1 << 62} {
		var h input.Histogram
		all := make([]int64, 1000)
		for i := range all {
			all[i] = rng.Int64N(reach)
			h.Add(all[i])
		}
		slices.Sort(all)
		for _, rank := range []int{1, 500, 990, 999, 1000} {
			want := all[rank-1]
			got := h.Quantile(float64(rank) / 1000)
			if reach > 1e13 {
				continue // more microseconds than a Duration can tell
			}
			if us := got.Microseconds(); us > want || float64(us) < float64(want)*(1-1./2048) {
				t.Errorf("below %d: quantile of rank %d is %d µs, want %d or up to 1/2048 less", reach, rank, us, want)
			}
		}
	}
}
