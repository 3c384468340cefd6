package bench

import (
	"context"
	"errors"
	"maps"
	"slices"
	"sync"
	"time"

	"halfstick/cmd/halfstick/internal/bench/hub"
	"halfstick/input"
)

const (
	// keptSeconds is how much of the past a page can show.
	keptSeconds = 20
	// foundWith is how soon after the rig was opened a controller that it does
	// not have shows when it was there already.
	foundWith = time.Second
	// lookEvery is how often a rig is looked for while there is none.
	lookEvery = time.Second
	// goneAfter is how long all axes may be absent before the rig is opened
	// anew: longer than a loose plug takes to find its contact.
	goneAfter = 3 * time.Second
)

// errOpenAnew ends the reading of a rig that is to be opened again.
var errOpenAnew = errors.New("open the rig anew")

// sampled is the rig that is read.
type sampled struct {
	Number  uint64 // of the hub, 0 for none; another number, another rig
	Source  string
	Devices []input.Device
	Problem string // why there is no rig, empty if there is one
	// Away are the ids of devices that were unplugged and are not back.
	Away map[string]bool
	// Notice is what a person should know about a controller that came.
	Notice string
}

// sampler reads the rig on one goroutine and hands each row to the hub and to
// whoever records. It opens the rig anew when it is gone or a further controller
// has come, and looks for one while there is none. While something records it
// leaves the rig as it is: its columns must stay, and a device that comes back
// goes on in them.
type sampler struct {
	open   func() (input.Source, error)
	rateHz float64
	clock  input.Clock
	hub    *hub.Hub

	mu      sync.Mutex
	rig     sampled
	changes uint64 // of the rig
	again   bool   // open the rig anew, once nothing records
	// tried are the controllers that the rig was opened anew for just now: one
	// that is a stranger again cannot be opened.
	tried []string

	// tap is what records, nil while nothing does. Its lock is held while it is
	// given a row, so that who takes it away finds it at rest.
	tapping sync.Mutex
	tap     input.RowWriter

	lastPresent int64 // µs; used by the sampling goroutine alone
	everPresent bool
}

func newSampler(open func() (input.Source, error), rateHz float64, clock input.Clock) *sampler {
	return &sampler{open: open, rateHz: rateHz, clock: clock, hub: hub.New(int(keptSeconds * rateHz)), rig: sampled{Problem: "looking for controllers"}}
}

// run samples until ctx is done. A source belongs to one goroutine: this one.
func (s *sampler) run(ctx context.Context) {
	for ctx.Err() == nil {
		if err := s.readRig(ctx); err != nil {
			s.lose(err)
			select {
			case <-ctx.Done():
			case <-time.After(lookEvery):
			}
		}
	}
}

// readRig opens the rig and reads it to its end.
func (s *sampler) readRig(ctx context.Context) error {
	src, err := s.open()
	if err != nil {
		return err
	}
	s.take(src)
	_, err = input.Record(ctx, src, s, input.RecordOptions{RateHz: s.rateHz, Clock: s.clock, OnEvent: s.hear})
	if errors.Is(err, errOpenAnew) {
		err = nil
	}
	return errors.Join(err, src.Close())
}

func (s *sampler) take(src input.Source) {
	axes := 0
	for _, d := range src.Devices() {
		axes += len(d.Axes)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.rig = sampled{Number: s.hub.Reset(axes), Source: src.Describe(), Devices: src.Devices()}
	s.changes++
	s.again, s.lastPresent, s.everPresent = false, 0, false
}

func (s *sampler) lose(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.rig.Problem != err.Error() {
		s.changes++
	}
	s.rig = sampled{Problem: err.Error()}
}

// Write hands a row on; it is an input.RowWriter for input.Record.
func (s *sampler) Write(row input.Row) error {
	if err := s.hub.Write(row); err != nil {
		return err
	}
	gone := s.gone(row)
	if s.giveTap(row) {
		return nil
	}
	s.mu.Lock()
	again := s.again
	s.mu.Unlock()
	if again || gone {
		return errOpenAnew
	}
	return nil
}

// giveTap hands a row to whoever records, and tells whether somebody does.
func (s *sampler) giveTap(row input.Row) bool {
	s.tapping.Lock()
	defer s.tapping.Unlock()
	if s.tap != nil && s.tap.Write(row) != nil {
		s.tap = nil // what records has kept the reason
	}
	return s.tap != nil
}

// hear takes what the rig notices, on the sampling goroutine.
func (s *sampler) hear(e input.Event) {
	s.tapping.Lock()
	records := s.tap != nil
	s.tapping.Unlock()
	s.mu.Lock()
	defer s.mu.Unlock()
	away := maps.Clone(s.rig.Away) // pages may be reading the old one
	if away == nil {
		away = map[string]bool{}
	}
	switch e.Kind {
	case input.Unplugged:
		away[e.Device] = true
		s.rig.Notice = ""
	case input.Plugged:
		delete(away, e.Device)
		s.rig.Notice = e.Device + " is back"
		if e.Says != "" {
			s.rig.Notice += ": " + e.Says
		}
	case input.Stranger:
		if e.AtUS >= foundWith.Microseconds() {
			s.tried = nil
		}
		if slices.Contains(s.tried, e.Device) {
			s.rig.Notice = e.Device + " is plugged in and cannot be opened: close other programs that use it, then plug it in anew"
			break
		}
		s.tried, s.again = append(s.tried, e.Device), true
		if records {
			s.rig.Notice = e.Device + " was plugged in: it will be there when the recording has ended"
		}
	default:
		return
	}
	s.rig.Away = away
	s.changes++
}

// gone tells whether a rig that was there has been absent for long.
func (s *sampler) gone(row input.Row) bool {
	for _, present := range row.Present {
		if present {
			s.lastPresent, s.everPresent = row.AtUS, true
			return false
		}
	}
	return s.everPresent && row.AtUS-s.lastPresent > goneAfter.Microseconds()
}

// record sets who gets the rows besides the pages; nil ends it. When it
// returns, whoever got them before is given no more.
func (s *sampler) record(w input.RowWriter) {
	s.tapping.Lock()
	defer s.tapping.Unlock()
	s.tap = w
}

// look opens the rig anew, to find what was plugged in since and what may be
// read by now.
func (s *sampler) look() error {
	s.tapping.Lock()
	records := s.tap != nil
	s.tapping.Unlock()
	if records {
		return errors.New("a recording is under way; end it first")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.again = true
	return nil
}

// revision rises when the rig changes.
func (s *sampler) revision() uint64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.changes
}

// now is the rig as it is.
func (s *sampler) now() sampled {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rig
}
