package bench

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"time"

	"halfstick/input"
)

// flight is a recording of flight under way: everything as usual, until the
// person ends it.
type flight struct {
	rows    *rowFile
	rig     uint64
	columns []int // of the rig, in the order of the file
	row     input.Row
	baseUS  int64
	begun   bool
	failed  error
	ended   chan struct{}
}

// Write takes a row of the sampler, on its goroutine.
func (f *flight) Write(row input.Row) error {
	if !f.begun {
		f.begun, f.baseUS = true, row.AtUS
	}
	f.row.AtUS, f.row.Phase, f.row.Comments = row.AtUS-f.baseUS, input.Phase{Kind: input.Flight}, row.Comments
	f.row.Counts, f.row.Present = f.row.Counts[:0], f.row.Present[:0]
	for _, c := range f.columns {
		f.row.Counts = append(f.row.Counts, row.Counts[c])
		f.row.Present = append(f.row.Present, row.Present == nil || row.Present[c])
	}
	f.failed = f.rows.Write(f.row)
	return f.failed
}

// flightAction begins or ends the recording of a flight.
func (b *Bench) flightAction(r *http.Request) (any, error) {
	var wish struct {
		Do string `json:"do"`
		// Chosen says that the chosen responses are active in the simulator.
		Chosen bool `json:"chosen"`
	}
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	switch wish.Do {
	case "begin":
		return nil, b.beginFlight(wish.Chosen)
	case "end":
		return nil, b.endFlight()
	}
	return nil, fmt.Errorf("a flight cannot %q; load the page anew", wish.Do)
}

func (b *Bench) beginFlight(chosen bool) error {
	var flown json.RawMessage
	if chosen {
		p, err := b.profile()
		if err != nil {
			return err
		}
		if flown, err = p.MarshalJSON(); err != nil {
			return err
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	rig, err := b.freeRig()
	if err != nil {
		return err
	}
	devices, columns, err := b.flown(rig.Devices)
	if err != nil {
		return err
	}
	rows, err := createRows(b.newRecordingPath("flight", time.Now()), input.Header{
		Started: time.Now().Round(0).UTC(), RateHz: b.config.RateHz, Source: rig.Source, Devices: devices, FlownWith: flown,
	}, b.config.Clock != nil)
	if err != nil {
		return err
	}
	f := &flight{rows: rows, rig: rig.Number, columns: columns, ended: make(chan struct{})}
	b.flight = f
	b.revision++
	b.sampler.record(f)
	b.work.Go(func() { b.awaitFlight(f) })
	return nil
}

func (b *Bench) endFlight() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.flight == nil {
		return errors.New("no flight is being recorded")
	}
	b.sampler.record(nil)
	close(b.flight.ended)
	b.flight = nil
	b.revision++
	return nil
}

// awaitFlight waits for the end of a flight and takes it into account.
func (b *Bench) awaitFlight(f *flight) {
	rigs := time.NewTicker(lookEvery)
	defer rigs.Stop()
	for waiting := true; waiting; {
		select {
		case <-f.ended:
			waiting = false
		case <-b.ctx.Done():
			_ = b.endFlight() // unless a person has ended it meanwhile
			<-f.ended
			waiting = false
		case <-rigs.C:
			if b.sampler.now().Number != f.rig { // another rig has other columns
				_ = b.endFlight()
			}
		}
	}
	err := errors.Join(f.failed, f.rows.close())
	if err != nil {
		b.setBusy("", err)
		return
	}
	b.session.AddFlight(filepath.Base(f.rows.path))
	if b.ctx.Err() == nil {
		b.look()
	}
}

// flown is what a flight is recorded of: the axes of the recording that it is
// to go with, under their descriptions there, and their columns in the rig;
// without a recording the whole rig.
func (b *Bench) flown(live []input.Device) (devices []input.Device, columns []int, err error) {
	devices = live
	if a := b.analysis.Load(); a != nil {
		devices = a.sheet.Recordings[0].Header.Devices
	}
	for _, d := range devices {
		for _, a := range d.Axes {
			found, ok := findAxis(live, a.Label)
			if !ok {
				return nil, nil, fmt.Errorf("%s of %s is in the recording and not there now; plug it in, or look at another recording", a.Label, d.Name)
			}
			columns = append(columns, found.column)
		}
	}
	return devices, columns, nil
}

// free tells that nothing is under way, or what; the lock is held.
func (b *Bench) free() error {
	if b.guided != nil || b.flight != nil {
		return errors.New("a recording is under way already; end it first")
	}
	if b.busy != "" {
		return fmt.Errorf("wait until the bench is done with %s", b.busy)
	}
	return nil
}

// freeRig is the rig to record from, if nothing else is under way; the lock is
// held.
func (b *Bench) freeRig() (sampled, error) {
	if err := b.free(); err != nil {
		return sampled{}, err
	}
	rig := b.rigNow()
	if len(rig.Devices) == 0 {
		return rig, fmt.Errorf("there is nothing to record: %s", rig.Problem)
	}
	return rig, nil
}
