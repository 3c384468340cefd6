package input

import (
	"sync/atomic"
	"time"
)

// Clock is the time a recorder paces itself by; tests and the demo inject one
// that jumps instead of sleeping.
type Clock interface {
	// Now is the time since some fixed instant; it never goes back.
	Now() time.Duration
	// SleepUntil returns at or after at.
	SleepUntil(at time.Duration)
}

// sleeper is a clock that knows of the machine's sleep, which Now leaves out.
type sleeper interface {
	// Suspended is how long the machine has slept since some fixed instant;
	// not known now and then.
	Suspended() (total time.Duration, known bool)
}

// SystemClock is the machine's monotonic clock, from 0 at this call. Its
// SleepUntil does not spin for the last of the time: on two busy cores that cost
// 2 % more of one at 1000 ticks a second, and came late more often.
func SystemClock() Clock { return systemClock{start: time.Now()} }

type systemClock struct{ start time.Time }

func (c systemClock) Now() time.Duration { return time.Since(c.start) }

func (c systemClock) SleepUntil(at time.Duration) {
	for {
		left := at - c.Now()
		if left <= 0 {
			return
		}
		sleep(left) // may return early
	}
}

func (c systemClock) Suspended() (time.Duration, bool) { return suspended() }

// JumpClock is a clock that jumps to the instant it should sleep until, so that
// an hour is recorded as fast as the source can be asked. Its zero value is
// ready, at 0.
type JumpClock struct{ now atomic.Int64 }

// Now is the time that the clock has jumped to.
func (c *JumpClock) Now() time.Duration { return time.Duration(c.now.Load()) }

// SleepUntil jumps to at, or stays if that has passed.
func (c *JumpClock) SleepUntil(at time.Duration) {
	for {
		now := c.now.Load()
		if int64(at) <= now || c.now.CompareAndSwap(now, int64(at)) {
			return
		}
	}
}

// Advance lets d pass, as if something took that long.
func (c *JumpClock) Advance(d time.Duration) { c.now.Add(int64(d)) }
