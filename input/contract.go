package input

import (
	"encoding/json"
	"time"
)

// Kind says whether an axis returns to a centre or runs from stop to stop.
type Kind string

// The two kinds of axis; the strings are those of the recording file.
const (
	TwoSided Kind = "two-sided"
	OneSided Kind = "one-sided"
)

// OSFilter is what the operating system is known to do to an axis before any
// program sees it, in the kernel's own units.
type OSFilter struct {
	Fuzz int `json:"fuzz"`
	Flat int `json:"flat"`
}

// Axis is one continuous input of a device.
type Axis struct {
	Label    string    `json:"label"`
	Index    int       `json:"index"`
	Kind     Kind      `json:"kind"`
	Usage    string    `json:"usage,omitempty"`
	OSFilter *OSFilter `json:"os_filter,omitempty"`
	// RawMin and RawMax bound the device's own codes where they are known.
	RawMin *int                       `json:"raw_min,omitempty"`
	RawMax *int                       `json:"raw_max,omitempty"`
	Extra  map[string]json.RawMessage `json:"-"`
}

// Device is one controller as the operating system sees it.
type Device struct {
	ID    string                     `json:"id"`
	Name  string                     `json:"name"`
	GUID  string                     `json:"guid"`
	Axes  []Axis                     `json:"axes"`
	Extra map[string]json.RawMessage `json:"-"`
}

// Header is the JSON line of a recording.
type Header struct {
	Started   time.Time                  `json:"started"`
	RateHz    float64                    `json:"rate_hz"`
	Source    string                     `json:"source"`
	Devices   []Device                   `json:"devices"`
	FlownWith json.RawMessage            `json:"flown_with,omitempty"`
	Extra     map[string]json.RawMessage `json:"-"`
}

// PhaseKind names what the person was doing.
type PhaseKind string

// The phases of a recording.
const (
	NoPhase     PhaseKind = ""
	Rest        PhaseKind = "rest"
	Sweep       PhaseKind = "sweep"
	ReleaseLow  PhaseKind = "release-low"
	ReleaseHigh PhaseKind = "release-high"
	Hold        PhaseKind = "hold"
	Flight      PhaseKind = "flight"
)

// Phase is a kind and, optionally, the label of the axis it is about.
type Phase struct {
	Kind  PhaseKind
	Label string
}

// Stretch is a run of rows [From, To) with one phase.
type Stretch struct {
	Phase    Phase
	From, To int
}

// Column holds one axis's counts. Present is nil when the axis was there in
// every row; otherwise Present[i] says so for row i (Counts[i] is 0 if not).
type Column struct {
	Device  int // index into Header.Devices
	Axis    int // index into Devices[Device].Axes
	Counts  []int16
	Present []bool
}

// Recording is a whole recording in memory.
type Recording struct {
	Header       Header
	TimesUS      []int64   // strictly rising microseconds since the start
	Stretches    []Stretch // cover all rows in order
	Columns      []Column
	Extra        []ExtraColumn // unknown columns, kept as they came
	DroppedBytes int           // an unfinished last row that was left out
}

// ExtraColumn is a column this version does not know, kept for rewriting.
type ExtraColumn struct {
	Name  string
	Cells []string
}

// File API (file.go, writer.go):
//
//	Read(r io.Reader, name string) (*Recording, error)      errors: *FileError{File, Line, Found, Want}
//	Open(path string) (*Recording, error)
//	NewWriter(w io.Writer, h Header) (*Writer, error)       writes the head
//	(*Writer).Write(Row) error; Flush(); Close()            flushes at least once a second of t_us
//	(*Recording).Write(w io.Writer) error
//	(*Recording).Find(label string) (int, error)            column by label or device.label
//	(*Recording).AxisOf(col int) (Device, Axis)
type Row struct {
	AtUS    int64
	Phase   Phase
	Counts  []int16 // one a column, in header order
	Present []bool  // nil: all present
}

// Source hands over the rig's samples. Implementations: input/sdl (real
// controllers and SDL virtual joysticks), and the simulated rig behind it.
type Source interface {
	// Describe names the library and system, for the header's source field.
	Describe() string
	// Devices lists what was opened, in column order.
	Devices() []Device
	// Poll fills counts and present (one an axis, in column order) with the
	// newest state; an axis without a first report is not present.
	Poll(counts []int16, present []bool) error
	Close() error
}

// Clock is the time a recorder paces itself by; tests and the demo inject one
// that jumps instead of sleeping.
type Clock interface {
	Now() time.Duration
	// SleepUntil returns at or after at.
	SleepUntil(at time.Duration)
}
