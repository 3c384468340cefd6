package evdev

import (
	"os"
	"strings"
	"testing"
	"unsafe"
)

// The numbers are what a C program prints for the macros of linux/input.h
// (Debian's linux-libc-dev 6.1, amd64); _IOC is the same on arm64.
func TestRequestNumbers(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want uintptr
	}{
		{"EVIOCGABS(0)", getAbs(0), 0x80184540},
		{"EVIOCGABS(0x3f)", getAbs(0x3f), 0x8018457f},
		{"EVIOCSABS(0)", setAbs(0), 0x401845c0},
		{"EVIOCSABS(7)", setAbs(7), 0x401845c7},
		{"EVIOCGID", request(iocRead, requestID, idSize), 0x80084502},
		{"EVIOCGNAME(256)", request(iocRead, requestTop, 256), 0x81004506},
		{"EVIOCGUNIQ(256)", request(iocRead, requestTop+2, 256), 0x81004508},
		{"EVIOCGBIT(EV_ABS, 8)", request(iocRead, requestBit+eventAbs, 8), 0x80084523},
	} {
		if c.got != c.want {
			t.Errorf("%s is %#x, want %#x", c.name, c.got, c.want)
		}
	}
}

// struct input_absinfo: value, minimum, maximum, fuzz, flat, resolution.
func TestAbsInfoLayout(t *testing.T) {
	var info AbsInfo
	for i, got := range []uintptr{
		unsafe.Offsetof(info.Value), unsafe.Offsetof(info.Minimum), unsafe.Offsetof(info.Maximum),
		unsafe.Offsetof(info.Fuzz), unsafe.Offsetof(info.Flat), unsafe.Offsetof(info.Resolution),
		unsafe.Sizeof(info),
	} {
		if got != uintptr(4*i) {
			t.Errorf("field %d lies at %d, want %d", i, got, 4*i)
		}
	}
}

func TestFilesThatAreNoEventFiles(t *testing.T) {
	if _, err := Open("/dev/input/none"); !os.IsNotExist(err) {
		t.Errorf("a missing file gives %v", err)
	}
	n, err := Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	if _, err := ReadFilter(n); err == nil || !strings.Contains(err.Error(), os.DevNull) {
		t.Errorf("a file without axes gives %v, which does not name it", err)
	}
}
