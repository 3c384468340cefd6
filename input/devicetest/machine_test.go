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

	"halfstick/input/devicetest/wire"
)

// machine is the one that all tests share; each leaves no device behind. It is
// nil until a test has asked for it.
var machine *Machine

// errUnavailable says what this system lacks for the device test.
var errUnavailable = errors.New("the device test cannot run here")

func TestMain(m *testing.M) {
	status := m.Run()
	if machine != nil {
		machine.Close()
		if status != 0 {
			fmt.Println("the machine's console ended with:\n" + tail(machine.Console(), 20))
		}
		_ = os.RemoveAll(machine.Share)
	}
	os.Exit(status)
}

// needMachine gives a test the running machine. Without qemu or the kernel
// there is nothing to test; where the test is promised, that is a failure.
func needMachine(t *testing.T) {
	t.Helper()
	err := bootMachine()
	if errors.Is(err, errUnavailable) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
}

var bootMachine = sync.OnceValue(func() error {
	ctx, stop := context.WithTimeout(context.Background(), 15*time.Minute)
	defer stop()
	if _, err := exec.LookPath(qemu); err != nil {
		return fmt.Errorf("%w: %w; install Debian's qemu-system-x86", errUnavailable, err)
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		return fmt.Errorf("%w: %w", errUnavailable, err)
	}
	kernel, err := FetchKernel(ctx, filepath.Join(cache, "halfstick-device-test"))
	if err != nil {
		return fmt.Errorf("%w: %w", errUnavailable, err)
	}
	share, err := os.MkdirTemp("", "halfstick-share-")
	if err != nil {
		return err
	}
	guest, err := buildForMachine(ctx, share)
	if err == nil {
		machine, err = Boot(ctx, kernel, guest, share)
	}
	if err != nil {
		_ = os.RemoveAll(share)
	}
	return err
})

// buildForMachine builds what runs in the machine, but for the program under
// test, into the shared folder, and returns the machine's first program.
func buildForMachine(ctx context.Context, share string) ([]byte, error) {
	for _, build := range [][]string{
		{"build", "-o", share + "/guest", "halfstick/input/devicetest/guest"},
		{"build", "-o", share + "/feeder", "halfstick/input/devicetest/feeder"},
		{"test", "-c", "-tags", "device", "-o", share + "/evdev.test", "halfstick/input/evdev"},
	} {
		if err := goTool(ctx, "CGO_ENABLED=0", build...); err != nil {
			return nil, err
		}
	}
	return os.ReadFile(filepath.Join(share, "guest"))
}

// goTool runs the go command with a setting of its environment.
func goTool(ctx context.Context, setting string, args ...string) error {
	command := exec.CommandContext(ctx, "go", args...)
	command.Env = append(os.Environ(), setting)
	if out, err := command.CombinedOutput(); err != nil {
		return fmt.Errorf("go %s: %w\n%s", strings.Join(args, " "), err, out)
	}
	return nil
}

// feeder is a controller in the machine.
type feeder struct {
	t       *testing.T
	process *Process
	said    int // lines
}

// newFeeder plugs a controller in; it is unplugged when the test ends.
func newFeeder(t *testing.T, args ...string) *feeder {
	t.Helper()
	p, err := machine.Start(Command{Args: append([]string{wire.ShareDir + "/feeder"}, args...)})
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
