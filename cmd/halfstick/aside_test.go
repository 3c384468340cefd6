package main

import (
	"bytes"
	"fmt"
	"testing"
)

// stuck takes nothing until it is let go.
type stuck struct {
	free chan struct{}
	bytes.Buffer
}

func (s *stuck) Write(text []byte) (int, error) {
	<-s.free
	return s.Buffer.Write(text)
}

func TestStuckTerminalHoldsNothingUp(t *testing.T) {
	to := &stuck{free: make(chan struct{})}
	a := newAside(to)
	text := make([]byte, 5)
	for i := range 10 * asideTexts {
		// Would never end if it waited; the text may change behind it.
		copy(text, fmt.Sprintf("%04d\n", i))
		if n, err := a.Write(text); n != 5 || err != nil {
			t.Fatalf("%d, %v", n, err)
		}
	}
	close(to.free)
	a.Close()
	lines := bytes.Fields(to.Bytes())
	if len(lines) < asideTexts || len(lines) > asideTexts+1 || string(lines[3]) != "0003" {
		t.Errorf("%d lines came, the fourth being %s; want %d, or one more, from the first on", len(lines), lines[3], asideTexts)
	}
}
