package guide

import "halfstick/input"

// StepKind names what a step asks for.
type StepKind string

// The kinds of steps, in the order in which they come.
const (
	Name     StepKind = "name"     // move a control, so that its axis is known
	Sweep    StepKind = "sweep"    // slowly from stop to stop
	Rest     StepKind = "rest"     // hands and feet off
	Release  StepKind = "release"  // push to a stop, let go, wait
	Hold     StepKind = "hold"     // keep still at half throw
	Coupling StepKind = "coupling" // sweep one axis while the others rest
	End      StepKind = "end"      // nothing is asked any more
)

// Verdict is how the last attempt was judged.
type Verdict string

// The verdicts; NoVerdict stands until the first attempt has ended.
const (
	NoVerdict Verdict = ""
	Good      Verdict = "good"  // it came off
	Again     Verdict = "again" // it did not, and is asked for once more
	LeftOut   Verdict = "left-out"
)

// State is what a person is to see, ready for JSON. Shares are from 0 to 1.
type State struct {
	// Step counts from 1 to Steps: the controls to name until Recording, the
	// steps that are recorded from then on.
	Step  int      `json:"step"`
	Steps int      `json:"steps"`
	Kind  StepKind `json:"kind"`
	// Attempt rises whenever something is asked for anew.
	Attempt int `json:"attempt"`
	// Axis is the label of the axis that the step is about, empty where it is
	// about all or any. A rest that has one asks for it to be moved first. Column is its place among the columns of
	// the source, −1 where there is none.
	Axis   string `json:"axis"`
	Column int    `json:"column"`
	// Side is where a release is still wanted from: "low", "high", or "" for
	// either.
	Side string `json:"side,omitempty"`

	Do   string `json:"do"`             // what to do now, one short sentence
	Hint string `json:"hint,omitempty"` // what goes wrong or helps, while it does

	// Position is where the control is, as a share of the travel seen so far,
	// or of the whole scale until it has moved; nil where there is none to
	// show. Zone is where it should be.
	Position *float64    `json:"position"`
	Zone     *[2]float64 `json:"zone,omitempty"`
	Progress float64     `json:"progress"`

	// Judgement is how the last attempt came off, in words; Judged rises with
	// each, as two may read alike.
	Judgement string  `json:"judgement"`
	Judged    int     `json:"judged"`
	Verdict   Verdict `json:"verdict"`
	// SecondsLeft is when the guide goes on by itself, 0 while it does not wait.
	SecondsLeft float64 `json:"seconds_left"`
	// Changes rises with whatever a person should hear: sound a bell at each.
	Changes int `json:"changes"`

	Recording bool `json:"recording"` // rows are being written: the naming is over
	Finished  bool `json:"finished"`
	Stopped   bool `json:"stopped"` // by Stop, before the last step

	Axes []AxisState `json:"axes"` // the axes that are guided, in the order of the steps
	// Labels are those that are offered for the control to be named.
	Labels []string `json:"labels,omitempty"`
}

// AxisState is how far the guide is with one axis.
type AxisState struct {
	Label  string     `json:"label"`
	Device string     `json:"device"` // its id
	Column int        `json:"column"` // among the columns of the source
	Kind   input.Kind `json:"kind"`
	// Missing lists the kinds of steps that have not come off, in order.
	Missing []StepKind `json:"missing"`
}

// ActionKind names what a person may ask of the guide; nothing has to be asked.
type ActionKind string

// The actions.
const (
	Repeat ActionKind = "repeat" // begin this step anew
	Skip   ActionKind = "skip"   // leave this step out
	Back   ActionKind = "back"   // return to the step before
	Label  ActionKind = "label"  // the control to be named is to be called Action.Label
	Turn   ActionKind = "turn"   // the axis named last is of the other kind: one-sided for two-sided
	Stop   ActionKind = "stop"   // end here
)

// Action is something that a person asks of the guide.
type Action struct {
	Kind  ActionKind `json:"do"`
	Label string     `json:"label,omitempty"`
}
