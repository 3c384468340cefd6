package evdev

import (
	"errors"
	"fmt"
)

// AxisFilter is the filter of one axis, in codes of the device.
type AxisFilter struct {
	Code       Code
	Fuzz, Flat int32
}

// Filter is the filter of a device: one entry an axis, by rising code.
type Filter []AxisFilter

// axes is what a filter is read from and written to; a Node is one.
type axes interface {
	Codes() ([]Code, error)
	Abs(Code) (AbsInfo, error)
	SetAbs(Code, AbsInfo) error
}

// ReadFilter takes down the filter of every axis of an open device.
func ReadFilter(n *Node) (Filter, error) { return readFilter(n) }

func readFilter(n axes) (Filter, error) {
	present, err := n.Codes()
	if err != nil {
		return nil, err
	}
	filter := make(Filter, 0, len(present))
	for _, code := range present {
		info, err := n.Abs(code)
		if err != nil {
			return nil, err
		}
		filter = append(filter, AxisFilter{Code: code, Fuzz: info.Fuzz, Flat: info.Flat})
	}
	return filter, nil
}

// Lift sets fuzz and flat of the filter's axes to 0 and verifies it. When one
// axis fails, those that were lifted are put back, and the error says which
// one it was.
//
// The kernel takes position and filter together, so the position just read is
// written back. A report that arrives between the two calls, some microseconds
// apart, is overwritten and lasts only until the next one: lift before the
// axes are moved.
func (f Filter) Lift(n *Node) error { return f.lift(n) }

func (f Filter) lift(n axes) error {
	for _, axis := range f {
		err := setFilter(n, AxisFilter{Code: axis.Code})
		if err != nil {
			return errors.Join(err, f.restore(n))
		}
	}
	lifted, err := verify(n, f)
	if err == nil && !lifted {
		err = errors.New("the kernel took the request to lift its filter and did not do it")
	}
	if err != nil {
		return errors.Join(err, f.restore(n))
	}
	return nil
}

// Verify reports whether fuzz and flat are 0 on each of the filter's axes.
// They are not after the device was unplugged and came back, or when another
// program set them.
func (f Filter) Verify(n *Node) (bool, error) { return verify(n, f) }

func verify(n axes, f Filter) (bool, error) {
	for _, axis := range f {
		info, err := n.Abs(axis.Code)
		if err != nil {
			return false, err
		}
		if info.Fuzz != 0 || info.Flat != 0 {
			return false, nil
		}
	}
	return true, nil
}

// Renew lifts the filter again on axes on which something has set one since
// Lift, another recording's Restore for instance, and takes down in f what it
// found, for Restore to put back. It reports whether there was any.
func (f Filter) Renew(n *Node) (bool, error) { return f.renew(n) }

func (f Filter) renew(n axes) (bool, error) {
	found := false
	for i, axis := range f {
		info, err := n.Abs(axis.Code)
		if err != nil {
			return found, err
		}
		if info.Fuzz == 0 && info.Flat == 0 {
			continue
		}
		if err := setFilter(n, AxisFilter{Code: axis.Code}); err != nil {
			return found, err
		}
		f[i].Fuzz, f[i].Flat = info.Fuzz, info.Flat
		found = true
	}
	return found, nil
}

// Restore puts fuzz and flat back to what ReadFilter found, on each axis on
// which they are still lifted: what another program has set meanwhile stays.
// It goes on after an axis that fails.
func (f Filter) Restore(n *Node) error { return f.restore(n) }

func (f Filter) restore(n axes) error {
	var failed []error
	for _, axis := range f {
		info, err := n.Abs(axis.Code)
		if err == nil && info.Fuzz == 0 && info.Flat == 0 {
			err = setFilter(n, axis)
		}
		if err != nil {
			failed = append(failed, err)
		}
	}
	return errors.Join(failed...)
}

// setFilter sets one axis's filter and leaves all else as it is.
func setFilter(n axes, want AxisFilter) error {
	info, err := n.Abs(want.Code)
	if err != nil {
		return err
	}
	if info.Fuzz == want.Fuzz && info.Flat == want.Flat {
		return nil
	}
	info.Fuzz, info.Flat = want.Fuzz, want.Flat
	if err := n.SetAbs(want.Code, info); err != nil {
		return fmt.Errorf("set the filter of axis %#x: %w", want.Code, err)
	}
	return nil
}
