package evdev

import (
	"bytes"
	"fmt"
	"os"
	"syscall"
	"unsafe"

	"golang.org/x/sys/unix"
)

// Requests of linux/input.h. Each is built as _IOC of asm-generic/ioctl.h
// builds it, for the type 'E'.
const (
	iocRead  = 2
	iocWrite = 1

	eventType  = 'E'
	requestID  = 0x02 // EVIOCGID
	requestTop = 0x06 // EVIOCGNAME, EVIOCGPHYS 0x07, EVIOCGUNIQ 0x08
	requestBit = 0x20 // EVIOCGBIT(0); + the type of event
	requestGet = 0x40 // EVIOCGABS(0)
	requestSet = 0xc0 // EVIOCSABS(0)

	eventAbs = 0x03 // EV_ABS

	absInfoSize = unsafe.Sizeof(AbsInfo{})
	idSize      = unsafe.Sizeof(ID{})
)

// request builds the number of an ioctl: number in bits 0…7, type in 8…15,
// size of the argument in 16…29, direction in 30 and 31.
func request(direction, number, size uintptr) uintptr {
	return direction<<30 | size<<16 | eventType<<8 | number
}

func getAbs(code Code) uintptr { return request(iocRead, requestGet+uintptr(code), absInfoSize) }
func setAbs(code Code) uintptr { return request(iocWrite, requestSet+uintptr(code), absInfoSize) }

// Node is an open event file. Its methods may be called at the same time.
type Node struct {
	file *os.File
}

// Open opens an event file for reading, such as SDL names for a joystick. The
// error is an *os.PathError; os.IsPermission tells that the user may not.
func Open(path string) (*Node, error) {
	file, err := os.OpenFile(path, os.O_RDONLY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, err
	}
	return &Node{file: file}, nil
}

// Close closes the file; the filter stays as it is set.
func (n *Node) Close() error { return n.file.Close() }

// Codes lists the device's axes by rising code (EVIOCGBIT), those of touch
// surfaces left out.
func (n *Node) Codes() ([]Code, error) {
	var bits [codes / 8]byte
	r := request(iocRead, requestBit+eventAbs, uintptr(len(bits)))
	if _, err := n.ioctl(r, unsafe.Pointer(&bits)); err != nil {
		return nil, fmt.Errorf("%s: list the axes: %w", n.file.Name(), err)
	}
	var present []Code
	for code := Code(0); code < firstTouch; code++ {
		if bits[code/8]>>(code%8)&1 == 1 {
			present = append(present, code)
		}
	}
	return present, nil
}

// Abs reads what the kernel knows of an axis (EVIOCGABS).
func (n *Node) Abs(code Code) (AbsInfo, error) {
	var info AbsInfo
	if _, err := n.ioctl(getAbs(code), unsafe.Pointer(&info)); err != nil {
		return AbsInfo{}, fmt.Errorf("%s: read axis %#x: %w", n.file.Name(), code, err)
	}
	return info, nil
}

// SetAbs sets what the kernel knows of an axis, its present value included
// (EVIOCSABS).
func (n *Node) SetAbs(code Code, info AbsInfo) error {
	if _, err := n.ioctl(setAbs(code), unsafe.Pointer(&info)); err != nil {
		return fmt.Errorf("%s: set axis %#x: %w", n.file.Name(), code, err)
	}
	return nil
}

// ID reads bus, vendor, product and version (EVIOCGID).
func (n *Node) ID() (ID, error) {
	var id ID
	if _, err := n.ioctl(request(iocRead, requestID, idSize), unsafe.Pointer(&id)); err != nil {
		return ID{}, fmt.Errorf("%s: read its id: %w", n.file.Name(), err)
	}
	return id, nil
}

// Name is the device's name (EVIOCGNAME).
func (n *Node) Name() (string, error) { return n.text(requestTop) }

// Phys says where the device is plugged in (EVIOCGPHYS); empty if unknown.
func (n *Node) Phys() (string, error) { return n.text(requestTop + 1) }

// Uniq is the device's serial number (EVIOCGUNIQ); empty if it has none.
func (n *Node) Uniq() (string, error) { return n.text(requestTop + 2) }

func (n *Node) text(number uintptr) (string, error) {
	var field [256]byte
	length, err := n.ioctl(request(iocRead, number, uintptr(len(field))), unsafe.Pointer(&field))
	if err == unix.ENOENT {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("%s: %w", n.file.Name(), err)
	}
	text, _, _ := bytes.Cut(field[:length], []byte{0})
	return string(text), nil
}

// ioctl makes a request on the open file and returns the kernel's answer.
func (n *Node) ioctl(request uintptr, argument unsafe.Pointer) (int, error) {
	raw, err := n.file.SyscallConn()
	if err != nil {
		return 0, err
	}
	var answer uintptr
	var number syscall.Errno
	err = raw.Control(func(fd uintptr) {
		answer, _, number = unix.Syscall(unix.SYS_IOCTL, fd, request, uintptr(argument))
	})
	if err != nil {
		return 0, err
	}
	if number != 0 {
		return 0, number
	}
	return int(answer), nil
}
