package input

import (
	"time"

	"golang.org/x/sys/unix"
)

// sleep blocks the thread for d, or less if a signal comes. The runtime's own
// timers are a scheduler away and too coarse for 1000 ticks a second.
func sleep(d time.Duration) {
	ts := unix.NsecToTimespec(int64(d))
	unix.Nanosleep(&ts, nil) // an early return is made up for by the caller
}

// sharpenTimer lets the kernel wake this thread without the 50 µs by which it
// may otherwise gather wake-ups. The caller has locked the thread. It returns
// what undoes it. Failing is no fault: the wake-ups are later, and the recording
// says so.
func sharpenTimer() (restore func()) {
	const nanoseconds, standard = 1, 0
	unix.Prctl(unix.PR_SET_TIMERSLACK, nanoseconds, 0, 0, 0)
	return func() { unix.Prctl(unix.PR_SET_TIMERSLACK, standard, 0, 0, 0) }
}

// processorTime is what the whole program has used so far, user and system.
func processorTime() (used time.Duration, known bool) {
	var usage unix.Rusage
	if unix.Getrusage(unix.RUSAGE_SELF, &usage) != nil {
		return 0, false
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano()), true
}

// bootTime is the time since the machine was started. It goes on while the
// machine is suspended, and Go's clock, which is CLOCK_MONOTONIC here, does not
// (clock_gettime(2)).
func bootTime() (since time.Duration, known bool) {
	var boot unix.Timespec
	if unix.ClockGettime(unix.CLOCK_BOOTTIME, &boot) != nil {
		return 0, false
	}
	return time.Duration(boot.Nano()), true
}
