//go:build device && linux

package devicetest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// places are for machines, of which so many run at once: nil where none has been
// booted yet. A test has its machine for itself, and leaves no device behind.
var places = make(chan *Machine, 2)

// errUnavailable says what this system lacks for the device test.
var errUnavailable = errors.New("the device test cannot run here")

func TestMain(m *testing.M) {
	for range cap(places) {
		places <- nil
	}
	status := m.Run()
	for range cap(places) {
		discard(<-places)
	}
	if builtIn != "" {
		_ = os.RemoveAll(builtIn)
	}
	os.Exit(status)
}

// needMachine gives a test a running machine, with the program under test and
// what tests it in its shared folder. Without qemu or the kernel there is
// nothing to test; where the test is promised, that is a failure.
func needMachine(t *testing.T) *Machine {
	t.Helper()
	t.Parallel()
	m := <-places
	t.Cleanup(func() {
		if t.Failed() && m != nil {
			// What was left running in it nobody knows.
			discard(m)
			t.Log("the machine's console ended with:\n" + tail(m.Console(), 20))
			m = nil
		}
		places <- m
	})
	if m != nil {
		return m
	}
	kernel, err := prepare()
	if errors.Is(err, errUnavailable) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	if err == nil {
		m, err = newMachine(kernel)
	}
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func discard(m *Machine) {
	if m != nil {
		m.Close()
		_ = os.RemoveAll(m.Share)
	}
}

// prepareLimit is for fetching a kernel and building everything, on a busy host.
const prepareLimit = 20 * time.Minute

// prepare reads the kernel and builds the programs, once, the two side by side.
var prepare = sync.OnceValues(func() (*Kernel, error) {
	if _, err := exec.LookPath(qemu); err != nil {
		return nil, fmt.Errorf("%w: %w; install Debian's qemu-system-x86", errUnavailable, err)
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errUnavailable, err)
	}
	ctx, stop := context.WithTimeout(context.Background(), prepareLimit)
	defer stop()
	built := make(chan error, 1)
	go func() { built <- build(ctx) }()
	kernel, err := FetchKernel(ctx, filepath.Join(cache, "halfstick-device-test"))
	if err != nil {
		err = fmt.Errorf("%w: %w", errUnavailable, err)
		stop()
	}
	return kernel, errors.Join(err, <-built)
})

// builtIn is where the programs are that run in the machines.
var builtIn string

const guestProgram = "guest" // the first process

// programs are those in each machine's shared folder, and there the README's
// commands find theirs.
var programs = []string{"halfstick", "feeder", "evdev.test"}

func build(ctx context.Context) (err error) {
	if builtIn, err = os.MkdirTemp("", "halfstick-programs-"); err != nil {
		return err
	}
	for _, b := range []struct {
		setting string
		args    []string
	}{
		{"CGO_ENABLED=0", []string{"build", "-o", guestProgram, "halfstick/input/devicetest/guest"}},
		{"CGO_ENABLED=0", []string{"build", "-o", "feeder", "halfstick/input/devicetest/feeder"}},
		{"CGO_ENABLED=0", []string{"test", "-c", "-tags", "device", "-o", "evdev.test", "halfstick/input/evdev"}},
		{"CGO_ENABLED=1", []string{"build", "-o", "halfstick", "halfstick/cmd/halfstick"}},
	} {
		for i, arg := range b.args {
			if b.args[max(0, i-1)] == "-o" {
				b.args[i] = filepath.Join(builtIn, arg)
			}
		}
		command := exec.CommandContext(ctx, "go", b.args...)
		command.Env = append(os.Environ(), b.setting)
		if out, err := command.CombinedOutput(); err != nil {
			return fmt.Errorf("go %s: %w\n%s", strings.Join(b.args, " "), err, out)
		}
	}
	return nil
}

// newMachine boots a machine and puts the programs into it.
func newMachine(kernel *Kernel) (*Machine, error) {
	guest, err := os.ReadFile(filepath.Join(builtIn, guestProgram))
	if err != nil {
		return nil, err
	}
	share, err := os.MkdirTemp("", "halfstick-share-")
	if err != nil {
		return nil, err
	}
	for _, program := range programs {
		err = errors.Join(err, os.Link(filepath.Join(builtIn, program), filepath.Join(share, program)))
	}
	var m *Machine
	if err == nil {
		m, err = Boot(context.Background(), kernel, guest, share)
	}
	if err != nil {
		_ = os.RemoveAll(share)
		return nil, err
	}
	if err := keepInMemory(m, programs); err != nil {
		discard(m)
		return nil, err
	}
	return m, nil
}

// keepInMemory has the machine run programs of the shared folder from its
// memory: from the folder itself, which is not cached, each start takes seconds.
func keepInMemory(m *Machine, programs []string) error {
	for _, program := range programs {
		_, err := m.Run(2*time.Minute, "sh", "-c", fmt.Sprintf("cp %[1]s /run/%[1]s && mount --bind /run/%[1]s %[1]s", program))
		if err != nil {
			return err
		}
	}
	return nil
}

// eventually fails the test when check still fails after limit.
func eventually(t *testing.T, limit time.Duration, check func() error) {
	t.Helper()
	deadline := time.Now().Add(limit)
	for {
		err := check()
		if err == nil {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("after %v: %v", limit, err)
		}
		time.Sleep(20 * time.Millisecond)
	}
}
