package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

// untilSignal is done when the person or the system asks the program to end:
// Ctrl-C, Ctrl-\, a kill that can be noticed, or a terminal that is closed.
// What must be put back is then put back on the ordinary way out. A closed pipe
// behind standard output or standard error gives an error meanwhile, instead of
// ending the program on the spot.
func untilSignal(parent context.Context) (context.Context, func()) {
	ctx, stop := signal.NotifyContext(parent, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT)
	broken := make(chan os.Signal, 1)
	signal.Notify(broken, syscall.SIGPIPE)
	return ctx, func() {
		stop()
		signal.Stop(broken)
	}
}
