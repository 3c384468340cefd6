package sdl

import (
	"errors"
	"time"

	"halfstick/input"
	"halfstick/input/evdev"
)

// ErrWithoutSDL is what every function returns in a build without cgo.
var ErrWithoutSDL = errors.New("built without SDL: rebuild with cgo enabled and the SDL development package installed")

// ErrNoDevices says that SDL sees no controller at all.
var ErrNoDevices = errors.New("no controller found: plug one in; where the system does not take it for one, it takes permission to read all input devices: " + evdev.Allow + " (then log out and in again)")

// NoDevices is ErrNoDevices, or what stands in the way of those that there are.
func NoDevices() error {
	for _, refusal := range evdev.Refused() {
		return refusedError{refusal}
	}
	return ErrNoDevices
}

// refusedError says that there are controllers, and that they may not be read.
type refusedError struct{ evdev.Refusal }

func (r refusedError) Error() string      { return "no controller can be read: " + r.String() }
func (refusedError) Is(target error) bool { return target == ErrNoDevices }

// Found is one controller as SDL lists it.
type Found struct {
	ID       string `json:"id"` // to name it by; unique in this list
	Name     string `json:"name"`
	GUID     string `json:"guid"` // 32 hexadecimal digits; equal for two identical units
	Instance int    `json:"instance"`
	Path     string `json:"path,omitempty"`    // of the device node, where SDL knows it
	Serial   string `json:"serial,omitempty"`  // tells identical units apart, where known
	Port     string `json:"port,omitempty"`    // likewise: where it is plugged in
	Vendor   uint16 `json:"vendor,omitempty"`  // USB ids, 0 if unknown
	Product  uint16 `json:"product,omitempty"` // likewise
	Virtual  bool   `json:"virtual"`
	// Counts are the axes' current counts as SDL holds them: for a real
	// controller that nobody has moved, the frozen first reading.
	Counts []int16 `json:"counts"`
	// Labels are the default labels of the axes.
	Labels []string `json:"labels"`
	// Filters are what the operating system hides of each axis, nil where
	// that is not known.
	Filters []*input.OSFilter `json:"os_filters,omitempty"`
	// Usages are the axes' HID usages, page and id, "" where not known.
	Usages []string `json:"usages,omitempty"`
	// Notes are what a person should know about it, in plain words.
	Notes []string `json:"notes,omitempty"`

	system []systemAxis // one an axis, nil where nothing is known
}

func (f *Found) identity() identity {
	return identity{name: f.Name, guid: f.GUID, axes: len(f.Counts), serial: f.Serial, port: f.Port}
}

// Options choose what Open opens and what it is called.
type Options struct {
	// KeepSystemFilter leaves the operating system's filter of the axes as it
	// is. Otherwise it is lifted, where the system has one and lets us, until
	// the source is closed.
	KeepSystemFilter bool
	// Devices picks controllers by id, GUID, name, serial number or port; empty
	// opens all.
	Devices []string
	// Labels renames axes: from "device-id.default-label" to a label, which
	// must be unique within the recording.
	Labels map[string]string
	// Kinds sets the kind of axes by label or "device-id.label"; all others
	// are two-sided.
	Kinds map[string]input.Kind
}

// Feeder is a simulated rig: it is advanced to a time and then asked for the
// newest counts, one an axis in the column order of Devices.
type Feeder interface {
	Devices() []input.Device
	Describe() string
	Advance(to time.Duration)
	Counts(dst []int16) int
}
