//go:build device && linux

package devicetest

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// feeder is a controller in the machine.
type feeder struct {
	t       *testing.T
	process *Process
	said    int // lines
}

// newFeeder plugs a controller in; it is unplugged when the test ends.
func newFeeder(t *testing.T, m *Machine, args ...string) *feeder {
	t.Helper()
	p, err := m.Start(Command{Args: append([]string{"./feeder"}, args...)})
	if err != nil {
		t.Fatal(err)
	}
	f := &feeder{t: t, process: p}
	t.Cleanup(f.end)
	f.do("plug")
	return f
}

func (f *feeder) end() {
	if f.process == nil {
		return
	}
	f.do("unplug")
	if err := f.process.EndInput(); err != nil {
		f.t.Error(err)
	}
	if err := f.process.Wait(10 * time.Second); err != nil {
		f.t.Error("the feeder:", err)
	}
	f.process = nil
}

// start gives the feeder lines to do.
func (f *feeder) start(lines ...string) {
	f.t.Helper()
	f.said += len(lines)
	if err := f.process.Write(strings.Join(lines, "\n") + "\n"); err != nil {
		f.t.Fatal(err)
	}
}

// finish waits until the feeder has done all it was given.
func (f *feeder) finish(limit time.Duration) {
	f.t.Helper()
	eventually(f.t, limit, func() error {
		select {
		case <-f.process.ended:
			f.t.Fatalf("the feeder ended: %s", f.process.Stderr())
		default:
		}
		if said := strings.Count(f.process.Stdout(), "\n"); said < f.said {
			return fmt.Errorf("the feeder has done %d of %d lines", said, f.said)
		}
		return nil
	})
}

func (f *feeder) do(lines ...string) {
	f.t.Helper()
	f.start(lines...)
	f.finish(2 * time.Minute) // an emulated machine on a busy host
}
