package main

import (
	"io"
)

// aside writes to a terminal or a pipe on a goroutine of its own: one that is
// slow, or stopped with Ctrl-S, must not hold up what is sampled. When it falls
// behind, what comes next is left out.
type aside struct {
	to    io.Writer
	texts chan []byte
	done  chan struct{}
}

// asideTexts wait at most: some seconds of progress.
const asideTexts = 64

func newAside(to io.Writer) *aside {
	a := &aside{to: to, texts: make(chan []byte, asideTexts), done: make(chan struct{})}
	go func() {
		defer close(a.done)
		for text := range a.texts {
			// Nobody is left to tell that nobody can be told.
			_, _ = a.to.Write(text)
		}
	}()
	return a
}

// Write never fails and never waits.
func (a *aside) Write(text []byte) (int, error) {
	select {
	case a.texts <- append([]byte(nil), text...):
	default:
	}
	return len(text), nil
}

// Close waits until all is written.
func (a *aside) Close() {
	close(a.texts)
	<-a.done
}
