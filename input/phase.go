package input

import "strings"

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

// phaseNames is the list that error messages give.
const phaseNames = "rest, sweep, release-low, release-high, hold, flight or nothing"

// Known reports whether k is one of the phases of a recording.
func (k PhaseKind) Known() bool {
	switch k {
	case NoPhase, Rest, Sweep, ReleaseLow, ReleaseHigh, Hold, Flight:
		return true
	}
	return false
}

// Phase is a kind and, optionally, the label of the axis it is about.
type Phase struct {
	Kind  PhaseKind
	Label string
}

// String is the phase as the file writes it: kind or kind:label.
func (p Phase) String() string {
	if p.Label == "" {
		return string(p.Kind)
	}
	return string(p.Kind) + ":" + p.Label
}

// Stretch is a run of rows [From, To) with one phase.
type Stretch struct {
	Phase    Phase
	From, To int
}

// ParsePhase splits kind or kind:label and reports what is wrong with it as an
// error that lists the phases. Whether the label is an axis of a recording is
// for the recording to say.
func ParsePhase(s string) (Phase, error) {
	p, wrong := splitPhase(s)
	if wrong != nil {
		return Phase{}, wrong.asError()
	}
	return p, nil
}

func splitPhase(s string) (Phase, *problem) {
	kind, label, labelled := strings.Cut(s, ":")
	p := Phase{Kind: PhaseKind(kind), Label: label}
	if !p.Kind.Known() || labelled && (label == "" || p.Kind == NoPhase) {
		return Phase{}, &problem{
			want: "a phase (" + phaseNames + "), or phase:label", found: show(s),
			remedy: "correct the phase, or leave the cell empty",
		}
	}
	return p, nil
}
