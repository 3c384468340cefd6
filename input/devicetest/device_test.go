//go:build device && linux

package devicetest

import (
	"fmt"
	"strings"
	"syscall"
	"testing"
	"time"
)

// waitListed waits until the kernel and the device manager have devices of
// these names.
func waitListed(t *testing.T, m *Machine, names ...string) {
	t.Helper()
	eventually(t, 60*time.Second, func() error {
		listed, err := m.Run(60*time.Second, "cat", "/proc/bus/input/devices")
		if err != nil {
			return err
		}
		for _, name := range names {
			if !strings.Contains(listed, fmt.Sprintf("N: Name=%q", name)) {
				return fmt.Errorf("the kernel does not list %s:\n%s", name, listed)
			}
		}
		return nil
	})
	if _, err := m.Run(60*time.Second, "udevadm", "settle"); err != nil {
		t.Fatal(err)
	}
}

// A process can have a terminal, be typed at, and be ended by Ctrl-C.
func TestTerminalInMachine(t *testing.T) {
	m := needMachine(t)
	p, err := m.Start(Command{TTY: true, Args: []string{"sh", "-c", "tty; read word; echo \"got $word\"; exec sleep 60"}})
	if err != nil {
		t.Fatal(err)
	}
	shows := func(want string) {
		t.Helper()
		eventually(t, 60*time.Second, func() error {
			if got := p.Stdout(); !strings.Contains(got, want) {
				return fmt.Errorf("the terminal shows %q, not %q", got, want)
			}
			return nil
		})
	}
	enter := func(text string) {
		t.Helper()
		if err := p.Write(text); err != nil {
			t.Fatal(err)
		}
	}
	shows("/dev/pts/")
	enter("rudder\n")
	shows("got rudder")
	enter("\x03")
	if err := p.Wait(20 * time.Second); err != nil || p.Signal != syscall.SIGINT {
		t.Errorf("after Ctrl-C: %v, signal %v", err, p.Signal)
	}
}

func TestKernelFilterOfRealDevices(t *testing.T) {
	m := needMachine(t)
	newFeeder(t, m, "-device", "stick")
	newFeeder(t, m, "-device", "pedals")
	waitListed(t, m, "Example Stick", "Example Pedals")
	checkKernelFilter(t, m)
}

// checkKernelFilter runs evdev's own test in the machine: the kernel's filter
// is as the kernel sets it, can be lifted, and put back.
func checkKernelFilter(t *testing.T, m *Machine) {
	t.Helper()
	out, err := m.Run(60*time.Second, "env", "HALFSTICK_MACHINE=1",
		"./evdev.test", "-test.v", "-test.run", "^TestRealDevices$")
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, passed := range []string{"Example_Stick", "Example_Pedals"} {
		if !strings.Contains(out, "--- PASS: TestRealDevices/"+passed) {
			t.Errorf("the filter of %s was not tested:\n%s", passed, out)
		}
	}
}
