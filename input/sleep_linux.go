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
