package input

import (
	"encoding/json"
	"strings"
	"unicode/utf8"
)

// Comment is a comment line among the rows of a recording, or behind them. What
// the recorder has to tell stands in such lines as JSON objects; see Event and
// Sampling. All others are kept as they came.
type Comment struct {
	Row  int    // how many rows stand before it
	Text string // without its '#'
}

// EventKind names what happened to a recording while it was made.
type EventKind string

// The kinds of event; the strings are those of the recording file.
const (
	Unplugged EventKind = "unplugged" // a device went away; its cells are empty
	Plugged   EventKind = "plugged"   // it came back and goes on in its columns
	Stranger  EventKind = "stranger"  // another device came; it has no columns
	Asleep    EventKind = "asleep"    // the machine was suspended for Seconds
	HeldUp    EventKind = "held-up"   // no row could be taken for Seconds
	Filtered  EventKind = "filtered"  // the system's filter had been put back, up to a second before
	LostRows  EventKind = "lost-rows" // Rows could not be kept: the disk was too slow
)

// Event is something that happened between two rows. The file keeps it as a
// comment line before the row that came next.
type Event struct {
	AtUS int64     `json:"at_us"` // since the start of the recording
	Kind EventKind `json:"event"`
	// Device is the id of the device that it happened to, of a stranger the
	// name.
	Device  string  `json:"device,omitempty"`
	Seconds float64 `json:"seconds,omitempty"`
	Rows    int     `json:"rows,omitempty"`
	// Says is what a person should know about it beyond its kind.
	Says string `json:"says,omitempty"`
}

// comment is the event as a comment line, without its '#'.
func (e Event) comment() string { return objectComment(e) }

func objectComment(v any) string {
	text, err := marshal(v)
	if err != nil {
		panic(err) // strings and finite numbers always have a JSON form
	}
	return " " + string(text)
}

// Events lists what the recorder noted, in order.
func (r *Recording) Events() []Event {
	var found []Event
	for _, c := range r.Comments {
		var e Event
		if json.Unmarshal([]byte(c.Text), &e) == nil && e.Kind != "" {
			found = append(found, e)
		}
	}
	return found
}

// badComment says why a comment cannot stand on a line of its own, nil if it
// can.
func badComment(text string) *problem {
	if strings.ContainsAny(text, "\r\n") || !utf8.ValidString(text) {
		return &problem{want: "a comment on one line of UTF-8", found: show(text), remedy: "keep each comment on its own line"}
	}
	return nil
}
