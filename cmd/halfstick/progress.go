package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// isTerminal tells whether w shows to a person.
func isTerminal(w io.Writer) bool { return terminalOf(w) != nil }

// terminalOf is the terminal that w writes to, nil if it is none.
func terminalOf(w io.Writer) *os.File {
	if a, ok := w.(*aside); ok {
		w = a.to
	}
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return f
}

// newProgress shows how far long work has come, on a terminal only. A total
// of −1 means that the end is not known.
func newProgress(errs io.Writer, what string, total int64) *progressbar.ProgressBar {
	if !isTerminal(errs) {
		return progressbar.DefaultSilent(total, what)
	}
	return progressbar.NewOptions64(total,
		progressbar.OptionSetWriter(errs),
		progressbar.OptionSetDescription(what),
		progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish(),
	)
}
