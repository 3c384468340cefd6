//go:build linux

// Command guest is the first process of the small machine in which the device
// test runs: it mounts the file systems, loads the kernel modules that lie
// beside it, starts the device manager, and then does what the test asks.
package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"golang.org/x/sys/unix"

	"halfstick/input/devicetest/wire"
)

func main() {
	err := setUp()
	if err == nil {
		err = serve()
	}
	// The kernel panics when its first process ends, and qemu ends with it.
	fmt.Fprintln(os.Stderr, "guest:", err)
	time.Sleep(time.Second)
	os.Exit(1)
}

// mount is one file system of the machine.
type mount struct {
	kind, source, at, options string
	flags                     uintptr
}

// Before the modules are loaded there is only what the kernel itself makes.
var early = []mount{
	{kind: "devtmpfs", source: "dev", at: "/dev"},
	{kind: "proc", source: "proc", at: "/proc"},
	{kind: "sysfs", source: "sys", at: "/sys"},
	{kind: "devpts", source: "pts", at: "/dev/pts", options: "ptmxmode=0666"},
	{kind: "tmpfs", source: "run", at: "/run", options: "mode=0755"},
	{kind: "tmpfs", source: "tmp", at: "/tmp", options: "mode=1777"},
}

var shared = []mount{
	{kind: "9p", source: wire.TagUsr, at: "/usr", flags: unix.MS_RDONLY,
		options: "trans=virtio,version=9p2000.L,cache=loose,msize=262144"},
	{kind: "9p", source: wire.TagShare, at: wire.ShareDir,
		options: "trans=virtio,version=9p2000.L,cache=none,msize=262144"},
}

func setUp() error {
	if err := mountAll(early); err != nil {
		return err
	}
	if err := useConsole(); err != nil {
		return err
	}
	if err := loadModules("/modules"); err != nil {
		return err
	}
	if err := mountAll(shared); err != nil {
		return err
	}
	if err := os.Setenv("PATH", "/usr/local/bin:/usr/bin:/usr/sbin"); err != nil {
		return err
	}
	return startDeviceManager()
}

func mountAll(mounts []mount) error {
	for _, m := range mounts {
		if err := os.MkdirAll(m.at, 0o755); err != nil {
			return err
		}
		if err := unix.Mount(m.source, m.at, m.kind, m.flags, m.options); err != nil {
			return fmt.Errorf("mount %s at %s: %w", m.kind, m.at, err)
		}
	}
	return nil
}

// useConsole points the standard streams at the console: the first file system
// has no device files, so the kernel could open none for this process.
func useConsole() error {
	console, err := unix.Open("/dev/console", unix.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("no console: %w", err)
	}
	for stream := range 3 {
		if err := unix.Dup3(console, stream, 0); err != nil && console != stream {
			return fmt.Errorf("console: %w", err)
		}
	}
	return nil
}

// loadModules loads the files of dir in the order of their names.
func loadModules(dir string) error {
	files, err := filepath.Glob(filepath.Join(dir, "*.ko"))
	if err != nil {
		return err
	}
	for _, file := range files {
		content, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		if err := unix.InitModule(content, ""); err != nil {
			return fmt.Errorf("load %s: %w", file, err)
		}
	}
	return nil
}

// startDeviceManager starts udevd, without which SDL takes pedals that have
// neither buttons nor X and Y for no joystick, and notices no replug.
func startDeviceManager() error {
	manager := exec.Command("/usr/lib/systemd/systemd-udevd")
	manager.Stdout, manager.Stderr = os.Stderr, os.Stderr
	if err := manager.Start(); err != nil {
		return fmt.Errorf("start the device manager: %w", err)
	}
	deadline := time.Now().Add(20 * time.Second)
	for {
		if _, err := os.Stat("/run/udev/control"); err == nil {
			return nil
		}
		if time.Now().After(deadline) {
			return errors.New("the device manager does not come up")
		}
		time.Sleep(10 * time.Millisecond)
	}
}
