package devicetest

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"halfstick/input/devicetest/wire"
)

// qemu is the program that emulates the machine.
const qemu = "qemu-system-x86_64"

// The machine has what the test needs and no more: virtio for the folders and
// the port, HID devices made by a process, and their event files.
var modules = []string{
	"virtio_mmio", "virtio_console", "9pnet_virtio", "9p",
	"hid", "hid-generic", "uhid", "evdev",
}

// bootLimits are how long a boot may take before the next try. Emulated, a boot
// now and then hangs; on a busy host one that does not hang takes its time.
var bootLimits = []time.Duration{45 * time.Second, 90 * time.Second, 3 * time.Minute, 5 * time.Minute}

// Machine is a running machine.
type Machine struct {
	// Share is the host's side of the shared folder.
	Share string

	qemu    *exec.Cmd
	ended   chan struct{} // closed when qemu is gone
	console *bytes.Buffer // readable once ended is closed
	agent   *agent
	scratch string
	once    sync.Once
}

// Boot starts a machine that shares the folder share, and tries again when one
// does not come up. The guest program is a static executable (package guest).
func Boot(ctx context.Context, kernel *Kernel, guest []byte, share string) (*Machine, error) {
	var trouble error
	for _, limit := range bootLimits {
		machine, err := bootOnce(ctx, kernel, guest, share, limit)
		if err == nil {
			return machine, nil
		}
		trouble = err
		if ctx.Err() != nil {
			break
		}
	}
	return nil, fmt.Errorf("the machine did not come up in %d tries: %w", len(bootLimits), trouble)
}

func bootOnce(ctx context.Context, kernel *Kernel, guest []byte, share string, limit time.Duration) (*Machine, error) {
	scratch, err := os.MkdirTemp("", "halfstick-machine-")
	if err != nil {
		return nil, err
	}
	m := &Machine{Share: share, scratch: scratch, ended: make(chan struct{}), console: &bytes.Buffer{}}
	if err := m.start(kernel, guest); err != nil {
		_ = os.RemoveAll(scratch)
		return nil, err
	}
	if err := m.agent.waitReady(ctx, limit, m.ended); err != nil {
		m.Close()
		return nil, fmt.Errorf("%w; its console ended with: %s", err, tail(m.console.String(), 5))
	}
	return m, nil
}

func (m *Machine) start(kernel *Kernel, guest []byte) error {
	vmlinux := filepath.Join(m.scratch, "vmlinux")
	initramfs := filepath.Join(m.scratch, "initramfs")
	socket := filepath.Join(m.scratch, "agent")
	if err := os.WriteFile(vmlinux, kernel.Vmlinux, 0o644); err != nil {
		return err
	}
	first, err := firstFiles(kernel, guest)
	if err != nil {
		return err
	}
	if err := os.WriteFile(initramfs, first, 0o644); err != nil {
		return err
	}
	listener, err := net.Listen("unix", socket)
	if err != nil {
		return err
	}
	m.agent = newAgent(listener, m.Share)
	m.qemu = exec.Command(qemu, qemuArguments(vmlinux, initramfs, socket, m.Share)...)
	m.qemu.Stdout, m.qemu.Stderr = m.console, m.console
	if err := m.qemu.Start(); err != nil {
		_ = listener.Close()
		return fmt.Errorf("qemu does not start: %w", err)
	}
	go func() {
		_ = m.qemu.Wait()
		close(m.ended)
	}()
	return nil
}

func qemuArguments(vmlinux, initramfs, socket, share string) []string {
	boot := []string{
		"console=ttyS0", "rdinit=/guest", "panic=-1", "quiet", "random.trust_cpu=on",
	}
	if khz := tickKHz(); khz > 0 {
		boot = append(boot, fmt.Sprintf("tsc_early_khz=%d", khz), "tsc=reliable")
	}
	return []string{
		"-M", "microvm", "-accel", "tcg,thread=multi", "-cpu", "max", "-smp", "2", "-m", "512",
		"-nodefaults", "-no-user-config", "-nographic", "-no-reboot", "-serial", "stdio",
		"-kernel", vmlinux, "-initrd", initramfs, "-append", strings.Join(boot, " "),
		"-fsdev", "local,id=usr,path=/usr,security_model=none,readonly=on,multidevs=remap",
		"-device", "virtio-9p-device,fsdev=usr,mount_tag=" + wire.TagUsr,
		"-fsdev", "local,id=share,path=" + share + ",security_model=none,multidevs=remap",
		"-device", "virtio-9p-device,fsdev=share,mount_tag=" + wire.TagShare,
		"-device", "virtio-serial-device",
		"-chardev", "socket,id=agent,path=" + socket,
		"-device", "virtserialport,chardev=agent,name=" + wire.Port,
	}
}

// firstFiles builds the file system that the kernel starts from.
func firstFiles(kernel *Kernel, guest []byte) ([]byte, error) {
	order, err := loadOrder(kernel.Modules, modules)
	if err != nil {
		return nil, err
	}
	var archive bytes.Buffer
	files := &cpioWriter{w: &archive}
	for _, dir := range []string{"dev", "etc", "modules", "proc", "root", "run", "share", "sys", "tmp", "usr", "var"} {
		files.dir(dir)
	}
	for _, dir := range []string{"bin", "lib", "lib64", "sbin"} {
		files.symlink(dir, "usr/"+dir)
	}
	// The device manager looks its groups up by name.
	files.file("etc/passwd", 0o644, []byte("root:x:0:0:root:/root:/bin/sh\npilot:x:1000:1000::/tmp:/bin/sh\n"))
	files.file("etc/group", 0o644, groups())
	files.file("guest", 0o755, guest)
	for i, name := range order {
		files.file(fmt.Sprintf("modules/%02d-%s.ko", i, name), 0o644, kernel.Modules[name])
	}
	if err := files.close(); err != nil {
		return nil, err
	}
	return archive.Bytes(), nil
}

// groups are those that the device manager's rules name.
func groups() []byte {
	var lines bytes.Buffer
	for i, name := range strings.Fields("root tty input dialout kmem video render sgx audio lp disk cdrom tape kvm") {
		fmt.Fprintf(&lines, "%s:x:%d:\n", name, i)
	}
	fmt.Fprintln(&lines, "pilot:x:1000:")
	return lines.Bytes()
}

// Close ends the machine, which has nothing worth a clean shutdown, and
// removes what it was started from. The shared folder stays.
func (m *Machine) Close() {
	m.once.Do(func() {
		_ = m.qemu.Process.Kill()
		<-m.ended
		m.agent.close()
		_ = os.RemoveAll(m.scratch)
	})
}

// Console returns what the machine has said on its console; only after Close.
func (m *Machine) Console() string { return m.console.String() }

// tail returns the last n lines of a text.
func tail(text string, n int) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], "\n")
}
