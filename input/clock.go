package input

import (
	"runtime"
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

// giveWayEvery is just below the 10 ms after which Go's scheduler takes the
// processor from a goroutine in each of its system calls: at 1000 ticks a second
// that wakes a thread of the scheduler at every tick, which takes more time than
// the rest (retake in runtime/proc.go of Go 1.26).
const giveWayEvery = 8 * time.Millisecond

// giveWayLeft is how much time has to be left for giving way.
const giveWayLeft = 500 * time.Microsecond

// SystemClock is the machine's monotonic clock, from 0 at this call. Its
// SleepUntil is for one goroutine. It does not spin for the last of the time: on
// two busy cores that cost 2 % more of one at 1000 ticks a second, and came late
// more often.
func SystemClock() Clock { return &systemClock{start: time.Now()} }

type systemClock struct {
	start   time.Time
	gaveWay time.Duration
}

func (c *systemClock) Now() time.Duration { return time.Since(c.start) }

func (c *systemClock) SleepUntil(at time.Duration) {
	if now := c.Now(); at-now > giveWayLeft && now-c.gaveWay >= giveWayEvery {
		c.gaveWay = now
		runtime.Gosched()
	}
	for {
		left := at - c.Now()
		if left <= 0 {
			return
		}
		sleep(left) // may return early
	}
}

// Suspended is from any instant, as only differences of it are of use. Readings
// between which the thread was held up tell nothing.
func (c *systemClock) Suspended() (time.Duration, bool) {
	const apart = time.Millisecond
	before := c.Now()
	boot, known := bootTime()
	if !known || c.Now()-before > apart {
		return 0, false
	}
	return boot - before, true
}

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
