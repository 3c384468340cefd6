package input

import (
	"encoding/json"
	"maps"
	"slices"
	"unicode"
	"unicode/utf8"
)

// Kind says whether an axis returns to a centre or runs from stop to stop.
type Kind string

// The two kinds of axis; the strings are those of the recording file.
const (
	TwoSided Kind = "two-sided"
	OneSided Kind = "one-sided"
)

// OSFilter is what the operating system is known to do to an axis before any
// program sees it, in the kernel's own units (codes, not counts).
type OSFilter struct {
	Fuzz int `json:"fuzz"`
	Flat int `json:"flat"`
	// Left says why the filter was left in place, "asked" if the person
	// wanted it so; empty where it was lifted or there is none.
	Left  string                     `json:"left,omitempty"`
	Extra map[string]json.RawMessage `json:"-"`
}

// LeftAsked is why a filter was left in place when the person asked for it.
const LeftAsked = "asked"

// Axis is one continuous input of a device.
type Axis struct {
	// Label is unique within a recording; see ValidName.
	Label string `json:"label"`
	// Index is the axis's place in the input library's order, from 0.
	Index int  `json:"index"`
	Kind  Kind `json:"kind"`
	// Usage is the HID usage page and id, as in 0x0200ba, where known.
	Usage string `json:"usage,omitempty"`
	// OSFilter is nil where nothing is known of a filter.
	OSFilter *OSFilter `json:"os_filter,omitempty"`
	// RawMin and RawMax bound the device's own codes where they are known.
	RawMin *int `json:"raw_min,omitempty"`
	RawMax *int `json:"raw_max,omitempty"`
	// Extra holds the header fields that this version does not know.
	Extra map[string]json.RawMessage `json:"-"`
}

// guidedField marks, in a recording's header, an axis that the person was led
// through. The other axes of its device are there to show coupling.
const guidedField = "guided"

// Guided tells whether the person was led through this axis.
func (a Axis) Guided() bool { return string(a.Extra[guidedField]) == "true" }

// WithGuided is the axis, marked as one that the person is led through.
func (a Axis) WithGuided() Axis {
	a.Extra = maps.Clone(a.Extra)
	if a.Extra == nil {
		a.Extra = map[string]json.RawMessage{}
	}
	a.Extra[guidedField] = json.RawMessage("true")
	return a
}

// Beside tells whether an axis of the device is there only beside others that
// the person was led through.
func (d Device) Beside(a Axis) bool {
	return !a.Guided() && slices.ContainsFunc(d.Axes, Axis.Guided)
}

// Device is one controller as the operating system sees it.
type Device struct {
	// ID is unique within a recording and begins the names of its columns.
	ID   string `json:"id"`
	Name string `json:"name"`
	GUID string `json:"guid"`
	// Serial and Port tell identical units apart, where the system knows them.
	Serial string                     `json:"serial,omitempty"`
	Port   string                     `json:"port,omitempty"`
	Axes   []Axis                     `json:"axes"`
	Extra  map[string]json.RawMessage `json:"-"`
}

// maxName bounds ids and labels, in bytes.
const maxName = 64

// ValidName reports whether s can be a device id or an axis label: 1 to 64
// bytes of letters, digits, '-' and '_'. Anything else could be mistaken for a
// part of a column name (device-id.label) or a phase (sweep:label).
func ValidName(s string) bool {
	if s == "" || len(s) > maxName || !utf8.ValidString(s) {
		return false
	}
	for _, r := range s {
		if r != '-' && r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return false
		}
	}
	return true
}

// columnName is the name of an axis's column in the file.
func columnName(d Device, a Axis) string { return d.ID + "." + a.Label }

// axisCount is the number of axes of all devices.
func axisCount(devices []Device) int {
	n := 0
	for _, d := range devices {
		n += len(d.Axes)
	}
	return n
}
