package devicetest

import (
	"archive/tar"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"sort"
	"strings"
)

// Kernel is Debian's kernel as the package holds it: unpacked, not installed.
type Kernel struct {
	Package string            // the package's file name
	Vmlinux []byte            // the uncompressed kernel, an ELF file
	Modules map[string][]byte // by name without folder and ".ko"
}

// FetchKernel downloads the package that linux-image-amd64 depends on into dir
// (once; later calls take it from there) and reads the kernel and all its
// modules out of it.
func FetchKernel(ctx context.Context, dir string) (*Kernel, error) {
	deb, err := kernelPackage(ctx, dir)
	if err != nil {
		return nil, err
	}
	return readKernel(ctx, deb)
}

// kernelPackage returns the path of the newest kernel package in dir, fetching
// it if there is none.
func kernelPackage(ctx context.Context, dir string) (string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	if found := packagesIn(dir); len(found) > 0 {
		return found[len(found)-1], nil
	}
	name, err := kernelPackageName(ctx)
	if err != nil {
		return "", err
	}
	// A download that is broken off must not pass for the package later.
	partial, err := os.MkdirTemp(dir, "partial-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(partial)
	fetch := exec.CommandContext(ctx, "apt-get", "download", name)
	fetch.Dir = partial
	if out, err := fetch.CombinedOutput(); err != nil {
		return "", fmt.Errorf("the kernel package %s could not be downloaded: %w: %s; run apt-get update and try again", name, err, lastLine(out))
	}
	found := packagesIn(partial)
	if len(found) == 0 {
		return "", fmt.Errorf("apt-get download %s left no package", name)
	}
	deb := filepath.Join(dir, filepath.Base(found[0]))
	return deb, os.Rename(found[0], deb)
}

func packagesIn(dir string) []string {
	found, _ := filepath.Glob(filepath.Join(dir, "linux-image-*.deb"))
	sort.Strings(found)
	return found
}

// kernelPackageName asks apt which package linux-image-amd64 stands for.
func kernelPackageName(ctx context.Context) (string, error) {
	out, err := exec.CommandContext(ctx, "apt-cache", "depends", "linux-image-amd64").Output()
	if err != nil {
		return "", fmt.Errorf("apt-cache does not know linux-image-amd64: %w; the device test needs Debian's package lists (apt-get update)", err)
	}
	for line := range strings.Lines(string(out)) {
		if name, ok := strings.CutPrefix(strings.TrimSpace(line), "Depends: linux-image-"); ok {
			return "linux-image-" + name, nil
		}
	}
	return "", errors.New("linux-image-amd64 names no kernel package; run apt-get update")
}

// readKernel takes the kernel and the modules out of a .deb without unpacking
// the rest.
func readKernel(ctx context.Context, deb string) (*Kernel, error) {
	unpack := exec.CommandContext(ctx, "dpkg-deb", "--fsys-tarfile", deb)
	pipe, err := unpack.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := unpack.Start(); err != nil {
		return nil, fmt.Errorf("cannot unpack %s: %w", deb, err)
	}
	kernel, err := readKernelTar(ctx, pipe)
	if err != nil {
		_ = unpack.Process.Kill()
		_ = unpack.Wait()
		return nil, fmt.Errorf("%s %w", deb, err)
	}
	if err := unpack.Wait(); err != nil {
		return nil, fmt.Errorf("%s %w", deb, damaged(err))
	}
	kernel.Package = filepath.Base(deb)
	return kernel, nil
}

func damaged(why error) error {
	return fmt.Errorf("is damaged: %w; delete it and try again", why)
}

func readKernelTar(ctx context.Context, r io.Reader) (*Kernel, error) {
	kernel := &Kernel{Modules: map[string][]byte{}}
	for files := tar.NewReader(r); ; {
		head, err := files.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, damaged(err)
		}
		name := path.Base(head.Name)
		module, isModule := strings.CutSuffix(name, ".ko")
		isKernel := strings.HasPrefix(name, "vmlinuz-")
		if head.Typeflag != tar.TypeReg || !isModule && !isKernel {
			continue
		}
		content, err := io.ReadAll(files)
		if err != nil {
			return nil, damaged(err)
		}
		if isModule {
			kernel.Modules[moduleName(module)] = content
			continue
		}
		if kernel.Vmlinux, err = uncompressed(ctx, content); err != nil {
			return nil, fmt.Errorf("has a kernel, %s, that cannot be read: %w", head.Name, err)
		}
	}
	if kernel.Vmlinux == nil {
		return nil, errors.New("holds no vmlinuz")
	}
	return kernel, nil
}

// Offsets in the header of a bootable kernel image
// (Documentation/x86/boot.rst, "The Real-Mode Kernel Header").
const (
	bootSetupSectors  = 0x1f1
	bootMagic         = 0x202
	bootPayloadOffset = 0x248
	bootPayloadLength = 0x24c
	bootHeaderEnd     = 0x250
)

// uncompressed returns the ELF kernel inside a bootable image: emulated, the
// image's own unpacking would take longer than the rest of the boot.
func uncompressed(ctx context.Context, image []byte) ([]byte, error) {
	if len(image) < bootHeaderEnd || string(image[bootMagic:bootMagic+4]) != "HdrS" {
		return nil, errors.New("is not a bootable x86 kernel")
	}
	sectors := int(image[bootSetupSectors])
	start := (sectors+1)*512 + int(binary.LittleEndian.Uint32(image[bootPayloadOffset:]))
	length := int(binary.LittleEndian.Uint32(image[bootPayloadLength:]))
	// The payload's last four bytes are the uncompressed size.
	if length < 4 || start+length > len(image) {
		return nil, errors.New("has a payload beyond its end")
	}
	payload := image[start : start+length-4]
	if !bytes.HasPrefix(payload, []byte("\xfd7zXZ\x00")) {
		return nil, errors.New("is not compressed with xz")
	}
	unxz := exec.CommandContext(ctx, "xz", "-dc")
	unxz.Stdin = bytes.NewReader(payload)
	var trouble bytes.Buffer
	unxz.Stderr = &trouble
	elf, err := unxz.Output()
	if errors.Is(err, exec.ErrNotFound) {
		return nil, fmt.Errorf("%w; install Debian's xz-utils", err)
	}
	if err != nil {
		return nil, fmt.Errorf("xz: %w: %s", err, lastLine(trouble.Bytes()))
	}
	return elf, nil
}

// lastLine is what a failed program said last.
func lastLine(out []byte) string {
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	return lines[len(lines)-1]
}
