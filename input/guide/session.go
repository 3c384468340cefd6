package guide

import (
	"errors"
	"sync"

	"halfstick/input"
)

// Session is a guide behind a lock, and the RowWriter to record into: one
// goroutine writes rows while others look and act.
type Session struct {
	mu    sync.Mutex
	guide *Guide
	open  func([]input.Device) (input.RowWriter, error)
	out   input.RowWriter
	row   input.Row
	base  int64
	done  chan struct{}
	ended bool
}

// NewSession leads through a guide. open is called once, when the naming is
// over, with the devices as they are to be recorded; nothing is written before.
// The row times that it gets begin at 0.
func NewSession(o Options, open func([]input.Device) (input.RowWriter, error)) (*Session, error) {
	g, err := New(o)
	if err != nil {
		return nil, err
	}
	return &Session{guide: g, open: open, done: make(chan struct{})}, nil
}

// Write takes a row of all columns of the source. Once the guide has finished
// it does nothing.
func (s *Session) Write(row input.Row) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.ended {
		return nil
	}
	phase := s.guide.Observe(row)
	err := s.put(row, phase)
	s.end(err != nil)
	return err
}

// put writes the recorded columns of a row.
func (s *Session) put(row input.Row, phase input.Phase) error {
	if !s.guide.Recording() {
		return nil
	}
	if s.out == nil {
		out, err := s.open(s.guide.Devices())
		if err != nil {
			return err
		}
		if out == nil {
			return errors.New("the guide has nothing to write to; open a recording")
		}
		s.out, s.base = out, row.AtUS
	}
	counts, present := s.row.Counts[:0], s.row.Present[:0]
	for _, c := range s.guide.Columns() {
		counts = append(counts, row.Counts[c])
		present = append(present, row.Present == nil || row.Present[c])
	}
	s.row = row
	s.row.AtUS, s.row.Phase, s.row.Counts, s.row.Present = row.AtUS-s.base, phase, counts, present
	return s.out.Write(s.row)
}

func (s *Session) end(failed bool) {
	if !s.ended && (failed || s.guide.Finished()) {
		s.ended = true
		close(s.done)
	}
}

// Do passes on what a person asks for; see Guide.Do.
func (s *Session) Do(a Action) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.guide.Do(a)
	s.end(false)
	return err
}

// State is what to show now.
func (s *Session) State() State {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.guide.State()
}

// Changes is State().Changes, and quick: something is to be heard or read when
// it has risen.
func (s *Session) Changes() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.guide.changes
}

// Done is closed when the guide has finished, or a row could not be written.
func (s *Session) Done() <-chan struct{} { return s.done }
