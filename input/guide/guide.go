package guide

import (
	"halfstick/input"
)

// Guide leads through a recording. It is not safe for use by several
// goroutines at once; Session is.
type Guide struct {
	opts  Options
	state State
}

// New begins a guide. The error is one of the options.
func New(o Options) (*Guide, error) {
	if o.Needs == (Needs{}) {
		o.Needs = DefaultNeeds
	}
	return &Guide{opts: o, state: State{Kind: Name, Column: -1, Labels: Offered}}, nil
}

// Observe takes the next sampled row, with all columns of the source, and
// returns the phase that it is to be written with. Rows come in the order of
// their times. While the naming lasts, rows are not to be written; see
// Recording.
func (g *Guide) Observe(row input.Row) input.Phase { return input.Phase{} }

// Recording tells whether rows are to be written: the naming is over, and
// Devices and Columns stand.
func (g *Guide) Recording() bool { return g.state.Recording }

// Devices are those to be recorded, with the labels and kinds that were
// recognised: every device that has a guided axis, with all of its axes, so
// that coupling into the others shows. It is nil while the naming lasts.
func (g *Guide) Devices() []input.Device { return nil }

// Columns are the places of the recorded axes among the source's columns.
func (g *Guide) Columns() []int { return nil }

// State is what to show now. It shares no memory with the guide.
func (g *Guide) State() State { return g.state }

// Do does what a person asks for. The error says why it cannot be done.
func (g *Guide) Do(a Action) error {
	if a.Kind == Stop {
		g.state.Finished, g.state.Stopped = true, true
	}
	return nil
}
