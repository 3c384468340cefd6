package input

import "time"

// Source hands over the rig's samples.
type Source interface {
	// Describe names the library and system, for the header's source field.
	Describe() string
	// Devices lists what was opened, in column order.
	Devices() []Device
	// Poll fills counts and present (one an axis, in column order) with the
	// newest state; an axis without a first report is not present. What a
	// silent device sent last stays its newest state.
	Poll(counts []int16, present []bool) error
	Close() error
}

// Watcher is a Source that notices what happens to its devices.
type Watcher interface {
	Source
	// Events are what was noticed since the last call, without their instants.
	Events() []Event
}

// NewHeader is the header of a recording that is about to be made from src.
// rateHz is the rate asked for.
func NewHeader(src Source, started time.Time, rateHz float64) Header {
	return Header{
		Started: started.Round(0).UTC(),
		RateHz:  rateHz,
		Source:  src.Describe(),
		Devices: src.Devices(),
	}
}
