//go:build !linux

package input

import "time"

// sleep blocks for d.
func sleep(d time.Duration) { time.Sleep(d) }

// sharpenTimer has nothing to do on this system.
func sharpenTimer() (restore func()) { return func() {} }

// processorTime is not known on this system.
func processorTime() (used time.Duration, known bool) { return 0, false }

// bootTime is not known on this system.
func bootTime() (since time.Duration, known bool) { return 0, false }
