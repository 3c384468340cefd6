// Command halfstick measures the axes of game controllers, says what is wrong
// with them, proposes a response and hands it over as a table.
package main

import (
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

func main() {
	if os.Getenv("GOGC") == "" {
		// Nearly all memory is a recording that stays until the end, of numbers
		// that need not be searched for pointers: collecting costs little, and
		// waiting for as much garbage again would double what hours take.
		debug.SetGCPercent(20)
	}
	// With the signal ignored a closed pipe is an ordinary write error, which
	// ends the run with status 1 and a reason instead of a silent death.
	signal.Ignore(syscall.SIGPIPE)
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}
