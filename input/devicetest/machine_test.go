//go:build device && linux

package devicetest

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"halfstick/input/devicetest/wire"
)

// machine is the one that all tests share; each leaves no device behind.
var machine *Machine

func TestMain(m *testing.M) { os.Exit(inMachine(m)) }

func inMachine(m *testing.M) int {
	share, err := os.MkdirTemp("", "halfstick-share-")
	if err == nil {
		defer os.RemoveAll(share)
		machine, err = prepare(share)
	}
	if err != nil {
		// Without qemu or the kernel there is nothing to test; that must not
		// pass for a test where one is promised.
		if os.Getenv("CI") == "true" {
			fmt.Println("FAIL: the device test cannot run:", err)
			return 1
		}
		fmt.Println("SKIP: the device test cannot run:", err)
		return 0
	}
	status := m.Run()
	machine.Close()
	if status != 0 {
		fmt.Println("the machine's console ended with:\n" + tail(machine.Console(), 20))
	}
	return status
}

// prepare fetches the kernel, builds what runs in the machine, and boots it.
func prepare(share string) (*Machine, error) {
	ctx, stop := context.WithTimeout(context.Background(), 10*time.Minute)
	defer stop()
	cache, err := os.UserCacheDir()
	if err != nil {
		return nil, err
	}
	kernel, err := FetchKernel(ctx, filepath.Join(cache, "halfstick-device-test"))
	if err != nil {
		return nil, err
	}
	for _, build := range [][]string{
		{"CGO_ENABLED=0", "build", "-o", share + "/guest", "halfstick/input/devicetest/guest"},
		{"CGO_ENABLED=0", "build", "-o", share + "/feeder", "halfstick/input/devicetest/feeder"},
		{"CGO_ENABLED=0", "test", "-c", "-tags", "device", "-o", share + "/evdev.test", "halfstick/input/evdev"},
	} {
		if err := goTool(ctx, build...); err != nil {
			// A program that does not build is no reason to skip.
			fmt.Println("FAIL:", err)
			os.Exit(1)
		}
	}
	guest, err := os.ReadFile(filepath.Join(share, "guest"))
	if err != nil {
		return nil, err
	}
	return Boot(ctx, kernel, guest, share)
}

// goTool runs the go command with a setting of its environment.
func goTool(ctx context.Context, settingAndArgs ...string) error {
	command := exec.CommandContext(ctx, "go", settingAndArgs[1:]...)
	command.Env = append(os.Environ(), settingAndArgs[0])
	if out, err := command.CombinedOutput(); err != nil {
		return fmt.Errorf("go %s: %w\n%s", strings.Join(settingAndArgs[1:], " "), err, out)
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
	f.finish(10 * time.Second)
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
