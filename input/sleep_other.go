//go:build !linux

package input

import "time"

// sleep blocks for d.
func sleep(d time.Duration) { time.Sleep(d) }

// sharpenTimer has nothing to do on this system.
func sharpenTimer() (restore func()) { return func() {} }
