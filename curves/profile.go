package curves

import (
	"encoding/json"
	"fmt"
	"strings"
)

// ProfileFormat is the format field of the profile file.
const ProfileFormat = "halfstick profile 1"

// Profile is the file that keeps one response per axis. Fields of the file that
// this version does not know are kept and written again.
type Profile struct {
	Axes   []ProfileAxis
	extras extras
}

// ProfileAxis is one axis of a profile: which one it is, its response and why
// the response is as it is.
type ProfileAxis struct {
	Device   DeviceRef
	Index    int    // of the axis on its device, from 0
	Label    string // unique within a profile
	Response Response
	Reasons  []string
	extras   extras
}

// DeviceRef names the device that an axis belongs to.
type DeviceRef struct {
	Name string
	GUID string // as the input library gives it; may be empty
}

// extras keeps the unknown fields of an object and of the objects in it, by
// the path of the object that they stood in ("" is the object itself).
type extras map[string]map[string]json.RawMessage

// Axis returns the axis with the label; the error lists the labels there are.
func (p *Profile) Axis(label string) (*ProfileAxis, error) {
	labels := make([]string, len(p.Axes))
	for i := range p.Axes {
		if p.Axes[i].Label == label {
			return &p.Axes[i], nil
		}
		labels[i] = p.Axes[i].Label
	}
	if len(labels) == 0 {
		return nil, fmt.Errorf("axis %q is not in the profile, which has no axes", label)
	}
	return nil, fmt.Errorf("axis %q is not in the profile; it has %s", label, strings.Join(labels, ", "))
}

// Check reports, as a *FieldError, the first thing that would make the written
// file unreadable: no axes, a label that is empty or used twice, a response
// that its own Check refuses.
func (p *Profile) Check() error {
	if e := p.check(); e != nil {
		return e
	}
	return nil
}

// maxAxes is far above what a desk holds.
const maxAxes = 256

func (p *Profile) check() *FieldError {
	if len(p.Axes) == 0 {
		return &FieldError{Path: "axes", Found: "empty", Want: "at least one axis"}
	}
	if len(p.Axes) > maxAxes {
		return &FieldError{Path: "axes", Found: fmt.Sprintf("%d long", len(p.Axes)), Want: fmt.Sprintf("at most %d axes", maxAxes)}
	}
	seen := map[string]int{}
	for i := range p.Axes {
		path := fmt.Sprintf("axes[%d]", i)
		if e := p.Axes[i].check(); e != nil {
			return e.under(path)
		}
		label := p.Axes[i].Label
		if first, twice := seen[label]; twice {
			return &FieldError{Path: path + ".label", Found: quoted(label),
				Want: "a label of its own", Remedy: fmt.Sprintf("axes[%d] has it already", first)}
		}
		seen[label] = i
	}
	return nil
}

func (a *ProfileAxis) check() *FieldError {
	if a.Index < 0 {
		return &FieldError{Path: "index", Found: fmt.Sprint(a.Index), Want: "0 or more"}
	}
	if a.Label == "" || strings.ContainsFunc(a.Label, isControl) {
		return &FieldError{Path: "label", Found: quoted(a.Label), Want: "a name of one line"}
	}
	if e := a.Response.check(); e != nil {
		return e
	}
	return nil
}

func isControl(r rune) bool { return r < ' ' || r == 0x7f }

// quoted shows a string from a file, cut where it is long.
func quoted(s string) string {
	const most = 40
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most]) + "…"
	}
	return fmt.Sprintf("%q", s)
}
