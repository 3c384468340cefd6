package session

import (
	"fmt"
	"path/filepath"
	"slices"

	"halfstick/input"
)

// AxisName is what a person calls an axis that no recording names yet.
type AxisName struct {
	Device string     `json:"device"` // its id
	Index  int        `json:"index"`
	Label  string     `json:"label"`
	Kind   input.Kind `json:"kind"`
}

// checkNames sees to it that files lie where they may, and that names are names.
func (c *content) checkNames(path string) error {
	if name := c.Recording; name != "" && name != filepath.Base(name) && !filepath.IsAbs(name) {
		return fmt.Errorf("%s: the recording is %q, expected the name of a file in the same folder or a whole path; correct it", path, name)
	}
	for _, name := range append([]string{c.Guided}, c.Flights...) {
		if name != filepath.Base(name) && name != "" {
			return fmt.Errorf("%s: a recording is %q, expected the name of a file in the same folder; correct it", path, name)
		}
	}
	for _, n := range c.Names {
		if !input.ValidName(n.Label) || n.Kind != input.OneSided && n.Kind != input.TwoSided {
			return fmt.Errorf("%s: axis %d of %s is %q, %q; correct it, or remove it from names", path, n.Index, n.Device, n.Label, n.Kind)
		}
	}
	return nil
}

// within is the path of a file of the folder; a whole path is one already.
func (s *Session) within(name string) string {
	if name == "" || filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(s.folder, name)
}

// Recording is the path of the recording that is looked at, empty for none.
func (s *Session) Recording() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.within(s.content.Recording)
}

// SetRecording says which recording is looked at from now on: the name of a file
// of the folder, or a path.
func (s *Session) SetRecording(path string) {
	if path != filepath.Base(path) {
		path = whole(path)
		if filepath.Dir(path) == whole(s.folder) {
			path = filepath.Base(path)
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.content.Recording = path
	s.touch()
}

// whole is a path that holds wherever the program is started next.
func whole(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path // there is no folder that the program runs in any more
}

// Guided is the path of the guided recording that is under way, or that was when
// the program was killed; empty for none.
func (s *Session) Guided() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.within(s.content.Guided)
}

// SetGuided says which file of the folder a guided recording is being written
// to, empty when it has ended.
func (s *Session) SetGuided(name string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.content.Guided = name
	s.touch()
}

// Flights are the paths of the recorded flights that go with the recording.
func (s *Session) Flights() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []string
	for _, name := range s.content.Flights {
		out = append(out, s.within(name))
	}
	return out
}

// AddFlight says that a file of the folder holds a flight.
func (s *Session) AddFlight(name string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.content.Flights = append(s.content.Flights, filepath.Base(name))
	s.touch()
}

// Names are what a person calls axes that no recording names.
func (s *Session) Names() []AxisName {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.content.Names)
}

// SetName names an axis, or names it anew.
func (s *Session) SetName(n AxisName) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.content.Names = append(slices.DeleteFunc(s.content.Names, func(o AxisName) bool {
		return o.Device == n.Device && o.Index == n.Index
	}), n)
	s.touch()
}

// Rename hands the candidates of an axis on to its new label.
func (s *Session) Rename(from, to string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if h := s.content.Axes[from]; h != nil && from != to {
		s.content.Axes[to] = h
		delete(s.content.Axes, from)
	}
	s.touch()
}
