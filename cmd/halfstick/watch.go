package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/input"
	"halfstick/input/sdl"
)

// watchHz is how often a watch looks: as often as a device on the USB can
// report.
const watchHz = 1000

// watch shows the axes as they move. It is the RowWriter of a recording that
// nobody keeps.
type watch struct {
	view    watchView
	devices []watched
	nextUS  int64
	restart func() // ends this round: the rig is another one now
}

// watched is one device of a watch.
type watched struct {
	device  input.Device
	counts  []int16
	present []bool
	away    bool
	reports reportRate
	changed bool // since it was last shown
}

// watchView is where a watch is shown.
type watchView interface {
	// every is the time between two looks, microseconds.
	every() int64
	show(atUS int64, devices []watched) error
	event(input.Event) error
	// waiting says that there is no controller yet.
	waiting() error
}

// runWatch shows what open gives until ctx is done, or for so long if lasts is
// not 0. It waits for a first controller, and opens all anew when another comes.
func runWatch(ctx context.Context, open func() (input.Source, error), view watchView, lasts time.Duration, clock input.Clock) error {
	if lasts > 0 {
		var stop func()
		ctx, stop = context.WithTimeout(ctx, lasts)
		defer stop()
	}
	waiting := false
	for ctx.Err() == nil {
		src, err := open()
		if errors.Is(err, sdl.ErrNoDevices) {
			if !waiting {
				waiting = true
				if err := view.waiting(); err != nil {
					return err
				}
			}
			waitFor(ctx, time.Second/2)
			continue
		}
		if err != nil {
			return err
		}
		waiting = false
		again, err := watchRig(ctx, src, view, lasts, clock)
		if err != nil || !again {
			return err
		}
	}
	return nil
}

// waitFor waits, or less if ctx is done.
func waitFor(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(d):
	}
}

// watchRig shows one rig until the end, or until another controller comes: then
// again is true.
func watchRig(ctx context.Context, src input.Source, view watchView, lasts time.Duration, clock input.Clock) (again bool, err error) {
	defer func() { err = errors.Join(err, src.Close()) }()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	w := &watch{view: view, restart: func() { again = true; stop() }}
	for _, d := range src.Devices() {
		w.devices = append(w.devices, watched{
			device: d, counts: make([]int16, len(d.Axes)), present: make([]bool, len(d.Axes)), changed: true,
		})
	}
	var failed error
	_, err = input.Record(ctx, src, w, input.RecordOptions{
		RateHz: watchHz, For: lasts, Clock: clock,
		OnEvent: func(e input.Event) { failed = errors.Join(failed, w.take(e)) },
	})
	return again, errors.Join(err, failed)
}

// take follows what happens to the rig.
func (w *watch) take(e input.Event) error {
	switch e.Kind {
	case input.Stranger:
		w.restart()
	case input.Plugged, input.Unplugged:
		for i := range w.devices {
			if d := &w.devices[i]; d.device.ID == e.Device {
				d.away, d.changed, d.reports = e.Kind == input.Unplugged, true, reportRate{}
			}
		}
	default:
		return nil // nobody keeps this recording
	}
	return w.view.event(e)
}

// Write takes one look.
func (w *watch) Write(row input.Row) error {
	column := 0
	for i := range w.devices {
		d := &w.devices[i]
		moved := false
		for a := range d.counts {
			counts, present := row.Counts[column], row.Present[column]
			moved = moved || present && !d.away && counts != d.counts[a]
			d.changed = d.changed || present != d.present[a]
			d.counts[a], d.present[a] = counts, present
			column++
		}
		if moved {
			d.changed = true
			d.reports.add(row.AtUS)
		}
	}
	if row.AtUS < w.nextUS {
		return nil
	}
	w.nextUS = row.AtUS + w.view.every()
	err := w.view.show(row.AtUS, w.devices)
	for i := range w.devices {
		w.devices[i].changed = false
	}
	return err
}

// watchLines writes a line for each device that moved, for pipes.
type watchLines struct{ out io.Writer }

func (watchLines) every() int64 { return 500_000 }

func (v watchLines) show(atUS int64, devices []watched) error {
	for _, d := range devices {
		if !d.changed {
			continue
		}
		fmt.Fprintf(v.out, "%.1f s  %s", float64(atUS)/1e6, d.device.ID)
		for a, axis := range d.device.Axes {
			fmt.Fprintf(v.out, "  %s %s", axis.Label, d.reading(a))
		}
		if _, err := fmt.Fprintf(v.out, "  %s\n", d.reports.text()); err != nil {
			return err
		}
	}
	return nil
}

func (v watchLines) event(e input.Event) error {
	_, err := fmt.Fprintln(v.out, watchEvent(e))
	return err
}

func (v watchLines) waiting() error {
	_, err := fmt.Fprintln(v.out, noneYet)
	return err
}

const noneYet = "no controller yet; plug one in (Ctrl-C ends)"

// watchEvent says what happened, in a watch's terms.
func watchEvent(e input.Event) string {
	if e.Kind == input.Stranger {
		return fmt.Sprintf("at %.1f s %s was plugged in", float64(e.AtUS)/1e6, e.Device)
	}
	return text.Event(e)
}

// reading is an axis's counts for a person.
func (d *watched) reading(axis int) string {
	switch {
	case d.away:
		return "unplugged"
	case !d.present[axis]:
		return "not moved yet"
	}
	return fmt.Sprint(d.counts[axis])
}
