package guide

import "halfstick/input"

// Offered are the labels that controls are asked for by, in this order.
var Offered = []string{"pitch", "roll", "yaw", "left-brake", "right-brake", "lever"}

// Needs is how much of each a full measurement takes. Times are seconds.
type Needs struct {
	Ways, WaysOneSided         int     // from stop to stop, in sweeps
	RestSeconds                float64 // hands off everything
	Releases, ReleasesOneSided int     // from each side; one-sided from the far stop
	HoldSeconds                float64
	CouplingWays               int
	Attempts                   int     // before a step is left out
	Patience                   float64 // without a movement before a step is left out
	NamePatience               float64 // the same while controls are named
	AbsentPatience             float64 // without the device before a step is left out
}

// DefaultNeeds gives a measurement that lacks nothing: more than its least of
// 4 ways, 8 s of rest and 3 releases from each side.
var DefaultNeeds = Needs{
	Ways: 6, WaysOneSided: 4, RestSeconds: 25, Releases: 4, ReleasesOneSided: 3,
	HoldSeconds: 3, CouplingWays: 4, Attempts: 3, Patience: 20, NamePatience: 12, AbsentPatience: 60,
}

// Options says what to guide through.
type Options struct {
	// Devices are the opened ones, as the source lists them; rows have one
	// count for each of their axes.
	Devices []input.Device
	// Axes are the labels to go through; none means the whole rig. A label
	// that no axis has is asked for, and recognised by its movement.
	Axes []string
	// Kinds is what is known of axes by label; other controls that are to be
	// named show it by how they move.
	Kinds map[string]input.Kind
	// Needs is DefaultNeeds where it is zero.
	Needs Needs
	// Done is a guided recording of the same devices that was broken off:
	// what came off in it is not asked for again, and its labels stay.
	Done *input.Recording
}
