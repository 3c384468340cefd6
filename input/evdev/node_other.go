//go:build !linux

package evdev

import (
	"errors"
	"os"
)

// Node is an open event file, which only Linux has.
type Node struct{}

// Open returns errors.ErrUnsupported.
func Open(path string) (*Node, error) {
	return nil, &os.PathError{Op: "open", Path: path, Err: errors.ErrUnsupported}
}

// Close does nothing.
func (*Node) Close() error { return nil }

// Codes returns errors.ErrUnsupported.
func (*Node) Codes() ([]Code, error) { return nil, errors.ErrUnsupported }

// Abs returns errors.ErrUnsupported.
func (*Node) Abs(Code) (AbsInfo, error) { return AbsInfo{}, errors.ErrUnsupported }

// SetAbs returns errors.ErrUnsupported.
func (*Node) SetAbs(Code, AbsInfo) error { return errors.ErrUnsupported }

// ID returns errors.ErrUnsupported.
func (*Node) ID() (ID, error) { return ID{}, errors.ErrUnsupported }

// Name returns errors.ErrUnsupported.
func (*Node) Name() (string, error) { return "", errors.ErrUnsupported }

// Phys returns errors.ErrUnsupported.
func (*Node) Phys() (string, error) { return "", errors.ErrUnsupported }

// Uniq returns errors.ErrUnsupported.
func (*Node) Uniq() (string, error) { return "", errors.ErrUnsupported }

// Refused is empty: other systems let the user read controllers.
func Refused() []Refusal { return nil }
