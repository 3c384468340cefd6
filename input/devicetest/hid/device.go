package hid

import (
	"encoding/binary"
	"fmt"
	"strings"
)

// Usage pages (HID Usage Tables 1.12, section 3).
const (
	GenericDesktop uint16 = 0x01
	Simulation     uint16 = 0x02
	buttonPage     uint16 = 0x09
)

// joystick is the usage of the whole device (section 4).
const joystick = 0x04

// Axis is one continuous field of a report: an unsigned code of so many bits.
type Axis struct {
	Name  string // as in the usage tables, lower case
	Page  uint16
	Usage uint16
	Bits  int // 1…16; takes 16 bits of the report whatever it is
	// Code is the number under which Linux hands it out, as in
	// linux/input-event-codes.h.
	Code int
}

// Max is the axis's largest code; its smallest is 0.
func (a Axis) Max() int { return 1<<a.Bits - 1 }

// Device is one controller. All names and numbers are invented.
type Device struct {
	Name            string
	Vendor, Product uint16
	Phys, Uniq      string // where it is plugged in, and its serial number
	Axes            []Axis
	Buttons         int // 0…8
}

// Stick is a stick with a lever: two 16-bit and two 14-bit axes, four buttons.
func Stick() Device {
	return Device{
		Name: "Example Stick", Vendor: 0xf1f1, Product: 0x0001, Phys: "example/stick",
		Axes: []Axis{
			{Name: "x", Page: GenericDesktop, Usage: 0x30, Bits: 16, Code: 0},
			{Name: "y", Page: GenericDesktop, Usage: 0x31, Bits: 16, Code: 1},
			{Name: "rz", Page: GenericDesktop, Usage: 0x35, Bits: 14, Code: 5},
			{Name: "slider", Page: GenericDesktop, Usage: 0x36, Bits: 14, Code: 6},
		},
		Buttons: 4,
	}
}

// Pedals are pedals with toe brakes: three 10-bit axes and no button.
func Pedals() Device {
	return Device{
		Name: "Example Pedals", Vendor: 0xf1f1, Product: 0x0002, Phys: "example/pedals",
		Axes: []Axis{
			{Name: "rx", Page: GenericDesktop, Usage: 0x33, Bits: 10, Code: 3},
			{Name: "ry", Page: GenericDesktop, Usage: 0x34, Bits: 10, Code: 4},
			{Name: "rudder", Page: Simulation, Usage: 0xba, Bits: 10, Code: 7},
		},
	}
}

// PlainPedals are called as in the README's examples: three 12-bit axes x, y and
// z, and a button, without which the device manager takes whatever has X, Y and
// Z for an accelerometer.
func PlainPedals() Device {
	return Device{
		Name: "Pedals", Vendor: 0xf1f1, Product: 0x0003, Phys: "example/plain",
		Axes: []Axis{
			{Name: "x", Page: GenericDesktop, Usage: 0x30, Bits: 12, Code: 0},
			{Name: "y", Page: GenericDesktop, Usage: 0x31, Bits: 12, Code: 1},
			{Name: "z", Page: GenericDesktop, Usage: 0x32, Bits: 12, Code: 2},
		},
		Buttons: 1,
	}
}

// ByName returns one of the devices above.
func ByName(name string) (Device, error) {
	switch name {
	case "plain-pedals":
		return PlainPedals(), nil
	case "stick":
		return Stick(), nil
	case "pedals":
		return Pedals(), nil
	}
	return Device{}, fmt.Errorf("no device %q; there are stick, pedals and plain-pedals", name)
}

// Axis returns the index of the axis with a name.
func (d Device) Axis(name string) (int, error) {
	var names []string
	for i, axis := range d.Axes {
		if axis.Name == name {
			return i, nil
		}
		names = append(names, axis.Name)
	}
	return 0, fmt.Errorf("no axis %q; there are %s", name, strings.Join(names, ", "))
}

// The items of a report descriptor that are used here: the byte that starts
// each, without the two bits of its length.
const (
	itemInput         = 0x80
	itemCollection    = 0xa0
	itemEndCollection = 0xc0
	itemUsagePage     = 0x04
	itemLogicalMin    = 0x14
	itemLogicalMax    = 0x24
	itemReportSize    = 0x74
	itemReportCount   = 0x94
	itemUsage         = 0x08
	itemUsageMin      = 0x18
	itemUsageMax      = 0x28

	itemType  = 0x0c // the bits of the first byte that hold the item's type,
	itemLocal = 0x08 // and their value for usages

	application   = 0x01 // kind of collection
	dataVariable  = 0x02 // input: data, variable, absolute
	constantField = 0x03 // input: padding
)

// Descriptor is the device's report descriptor.
func (d Device) Descriptor() []byte {
	var b []byte
	item := func(kind byte, value int) {
		if kind&itemType == itemLocal {
			// A usage of four bytes would have to name its page once more.
			b = append(b, kind|2)
			b = binary.LittleEndian.AppendUint16(b, uint16(value))
			return
		}
		// Four bytes: a logical maximum is signed, and 65535 in two would be −1.
		b = append(b, kind|3)
		b = binary.LittleEndian.AppendUint32(b, uint32(value))
	}
	item(itemUsagePage, int(GenericDesktop))
	item(itemUsage, joystick)
	item(itemCollection, application)
	for _, axis := range d.Axes {
		item(itemUsagePage, int(axis.Page))
		item(itemUsage, int(axis.Usage))
		item(itemLogicalMin, 0)
		item(itemLogicalMax, axis.Max())
		item(itemReportSize, 16)
		item(itemReportCount, 1)
		item(itemInput, dataVariable)
	}
	if d.Buttons > 0 {
		item(itemUsagePage, int(buttonPage))
		item(itemUsageMin, 1)
		item(itemUsageMax, d.Buttons)
		item(itemLogicalMin, 0)
		item(itemLogicalMax, 1)
		item(itemReportSize, 1)
		item(itemReportCount, d.Buttons)
		item(itemInput, dataVariable)
		item(itemReportSize, 8-d.Buttons)
		item(itemReportCount, 1)
		item(itemInput, constantField)
	}
	return append(b, itemEndCollection)
}

// Report puts one code an axis into a report; no button is pressed. Codes
// outside 0…Max are the caller's mistake and are cut to 16 bits.
func (d Device) Report(codes []int) []byte {
	var b []byte
	for _, code := range codes {
		b = binary.LittleEndian.AppendUint16(b, uint16(code))
	}
	if d.Buttons > 0 {
		b = append(b, 0)
	}
	return b
}

// Count returns the codes of report number n (from 0) of a stream in which
// every axis crosses its whole range again and again and no two of the first
// 2^(bits of the first axis + bits of the second) reports are alike. Each axis
// goes up by a step of its own, odd and therefore without a common divisor
// with the number of its codes, and starts again from the bottom when it
// passes the top; all but the first step once more whenever they come round.
func Count(d Device, n int) []int {
	steps := []int{1, 257, 5, 1021, 3, 129}
	codes := make([]int, len(d.Axes))
	for i, axis := range d.Axes {
		span := axis.Max() + 1
		codes[i] = (span/2 + n*steps[i%len(steps)] + i*(n/span)) % span
	}
	return codes
}
