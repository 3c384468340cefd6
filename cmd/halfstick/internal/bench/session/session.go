// Package session keeps what a person has done on the bench: which recording is
// looked at, the candidates of every axis, and the way back through them. It
// lies in one file that is written whole or not at all, so that closing the
// page, or the program, loses nothing.
//
// The proposal of an axis is not kept here, it follows from the recording; so
// it can neither be changed nor lost.
package session

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/natefinch/atomic"

	"halfstick/curves"
)

const (
	format = "halfstick bench 1"
	// file is the name of a session's file in its folder.
	file = "session.json"
	// MostCandidates is how many a person can make of an axis; with the
	// proposal they are four.
	MostCandidates = 3
	// steps is how many changes of an axis can be undone.
	steps = 100
	// mostName bounds a candidate's name, in letters.
	mostName = 32
)

// Candidate is a response that a person made of an axis's proposal.
type Candidate struct {
	Name string             `json:"name"`
	Axis curves.ProfileAxis `json:"axis"`
}

// Axis is the state of one axis: its candidates, and which is chosen: 0 is the
// proposal, 1 the first candidate.
type Axis struct {
	Candidates []Candidate `json:"candidates"`
	Chosen     int         `json:"chosen"`
}

// clone shares nothing that a change could reach.
func (a Axis) clone() Axis {
	a.Candidates = slices.Clone(a.Candidates)
	return a
}

// history is an axis with the ways back and forth.
type history struct {
	Now  Axis   `json:"now"`
	Undo []Axis `json:"undo,omitempty"`
	Redo []Axis `json:"redo,omitempty"`

	gesture string // that made the last change
}

// content is the file.
type content struct {
	Format    string              `json:"format"`
	Recording string              `json:"recording,omitempty"`
	Guided    string              `json:"guided,omitempty"`  // recording under way
	Flights   []string            `json:"flights,omitempty"` // that go with it
	Names     []AxisName          `json:"names,omitempty"`   // of axes in no recording
	Axes      map[string]*history `json:"axes"`
}

// Session is safe for use by several goroutines at once.
type Session struct {
	folder string

	mu       sync.Mutex
	content  content
	revision uint64 // rises with every change
	problem  error  // of the last saving
	closed   bool

	// A change only leaves word that there is something to save: a drag changes
	// more often than a disk can be sure of what it wrote.
	changed chan struct{}
	saved   chan struct{} // closed when the last change has been saved
}

// Open reads the session of a folder, or begins one there. A file that cannot
// be understood is an error: it may hold work that a person wants back.
func Open(folder string) (*Session, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("cannot make the folder of the session: %w; choose another with --session", err)
	}
	s := &Session{
		folder: folder, content: content{Format: format, Axes: map[string]*history{}},
		changed: make(chan struct{}, 1), saved: make(chan struct{}),
	}
	if err := s.read(filepath.Join(folder, file)); err != nil {
		return nil, err
	}
	go s.keep()
	return s, nil
}

func (s *Session) read(path string) error {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("cannot read the session: %w; choose another folder with --session", err)
	}
	if err := json.Unmarshal(data, &s.content); err != nil {
		return fmt.Errorf("%s is no session: %w; move it away, or choose another folder with --session", path, err)
	}
	if s.content.Format != format {
		return fmt.Errorf("%s: format is %q, expected %q; move it away, or choose another folder with --session", path, s.content.Format, format)
	}
	return s.check(path)
}

// check sees to it that what was read can be worked with.
func (s *Session) check(path string) error {
	if err := s.content.checkNames(path); err != nil {
		return err
	}
	if s.content.Axes == nil {
		s.content.Axes = map[string]*history{}
	}
	for label, h := range s.content.Axes {
		if h == nil {
			return fmt.Errorf("%s: axes.%s is null, expected an axis; remove it", path, label)
		}
		for _, a := range append(append([]Axis{h.Now}, h.Undo...), h.Redo...) {
			if len(a.Candidates) > MostCandidates || a.Chosen < 0 || a.Chosen > len(a.Candidates) {
				return fmt.Errorf("%s: axes.%s has %d candidates of which the chosen one is %d; remove that axis", path, label, len(a.Candidates), a.Chosen)
			}
			for _, c := range a.Candidates {
				if err := c.Axis.Response.Check(); err != nil {
					return fmt.Errorf("%s: axes.%s, candidate %q: %w", path, label, c.Name, err)
				}
			}
		}
	}
	return nil
}

// keep saves whatever has changed until the session is closed.
func (s *Session) keep() {
	defer close(s.saved)
	for range s.changed {
		s.mu.Lock()
		data, err := json.MarshalIndent(s.content, "", " ")
		s.mu.Unlock()
		if err == nil {
			err = atomic.WriteFile(filepath.Join(s.folder, file), bytes.NewReader(data))
		}
		if err != nil {
			err = fmt.Errorf("what you do is not being kept: %w; see that the disk has room", err)
		}
		s.mu.Lock()
		s.problem = err
		s.mu.Unlock()
	}
}

// touch leaves word that something has changed; the lock is held.
func (s *Session) touch() {
	s.revision++
	if s.closed {
		return
	}
	select {
	case s.changed <- struct{}{}:
	default: // the saving to come will find this change too
	}
}

// Close ends the session when its last change has been saved; what is changed
// after it is not kept. The error is that of the last saving.
func (s *Session) Close() error {
	s.mu.Lock()
	s.closed = true
	close(s.changed)
	s.mu.Unlock()
	<-s.saved
	return s.Problem()
}

// Problem is why the last change could not be saved, nil if it was.
func (s *Session) Problem() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.problem
}

// Folder is where the session and its recordings lie.
func (s *Session) Folder() string { return s.folder }

// Revision rises with every change, so that a page sees that it is behind.
func (s *Session) Revision() uint64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.revision
}

// Axis is an axis as it is now, and whether there is a way back and forth.
func (s *Session) Axis(label string) (now Axis, undo, redo bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := s.content.Axes[label]
	if h == nil {
		return Axis{}, false, false
	}
	return h.Now.clone(), len(h.Undo) > 0, len(h.Redo) > 0
}

// Change changes an axis and keeps the way back. Changes that follow each other
// in one gesture, such as a drag, are one step; an empty gesture is a step of
// its own. An error of change leaves everything as it was.
func (s *Session) Change(label, gesture string, change func(*Axis) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := s.content.Axes[label]
	if h == nil {
		h = &history{}
	}
	next := h.Now.clone()
	if err := change(&next); err != nil {
		return err
	}
	if gesture == "" || gesture != h.gesture {
		h.Undo = append(h.Undo, h.Now)
		if len(h.Undo) > steps {
			h.Undo = slices.Clone(h.Undo[len(h.Undo)-steps:])
		}
	}
	h.Now, h.Redo, h.gesture = next, nil, gesture
	s.content.Axes[label] = h
	s.touch()
	return nil
}

// Choose picks a candidate, 0 for the proposal. It is no step to undo.
func (s *Session) Choose(label string, chosen int) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := s.content.Axes[label]
	if h == nil {
		h = &history{}
	}
	if chosen < 0 || chosen > len(h.Now.Candidates) {
		return fmt.Errorf("there is no candidate %d of %s; load the page anew", chosen, label)
	}
	h.Now.Chosen, h.gesture = chosen, ""
	s.content.Axes[label] = h
	s.touch()
	return nil
}

// Undo goes a step back, Redo forth again.
func (s *Session) Undo(label string) error {
	return s.step(label, "undone", func(h *history) (from, to *[]Axis) { return &h.Undo, &h.Redo })
}

// Redo goes a step forth that was undone.
func (s *Session) Redo(label string) error {
	return s.step(label, "done again", func(h *history) (from, to *[]Axis) { return &h.Redo, &h.Undo })
}

func (s *Session) step(label, what string, ways func(*history) (from, to *[]Axis)) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := s.content.Axes[label]
	if h == nil {
		return fmt.Errorf("nothing can be %s", what)
	}
	from, to := ways(h)
	last := len(*from) - 1
	if last < 0 {
		return fmt.Errorf("nothing can be %s", what)
	}
	*to = append(*to, h.Now)
	h.Now, h.gesture = (*from)[last], ""
	*from = (*from)[:last]
	s.touch()
	return nil
}

// CleanName is a candidate's name without what cannot be read, or an error.
func CleanName(name string) (string, error) {
	name = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(name, ""))), " ")
	if n := len([]rune(name)); n == 0 || n > mostName {
		return "", fmt.Errorf("the name has %d letters; give it 1 to %d", n, mostName)
	}
	return name, nil
}
