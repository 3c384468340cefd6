package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
	"halfstick/input/sdl"
)

// guideFlags is what a person says about a guided recording.
type guideFlags struct {
	on, resume, mute bool
	axes             []string
}

func (g *guideFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.BoolVar(&g.on, "guide", false, "be led through naming, sweeps, rest, releases, holds and coupling; each step is judged and asked for again when it did not come off")
	f.StringArrayVar(&g.axes, "axis", nil, "with --guide: lead through the axis with this `LABEL` only; one that no axis has is asked for and recognised by its movement (may be repeated)")
	f.BoolVar(&g.resume, "resume", false, "with --guide: go on with the recording that is there; what came off in it is not asked for again")
	f.BoolVar(&g.mute, "mute", false, "with --guide: no bell")
}

// leastGuidedHz gives each of the guide's tiles a row.
const leastGuidedHz = 20

// check reports flags that do not go together.
func (g *guideFlags) check(r *recordFlags) error {
	switch {
	case !g.on && (len(g.axes) > 0 || g.resume || g.mute):
		return usagef("--axis, --resume and --mute belong to a guided recording; add --guide")
	case g.on && (len(r.phases) > 0 || r.lasts > 0 || r.flownWith != ""):
		return usagef("--guide finds phases and their lengths by itself, and flies nothing; leave --phase, --for and --flown-with out")
	case g.on && r.simulated && len(r.devices)+len(r.labels) > 0:
		return usagef("--simulated brings its own devices; leave --device and --label out")
	case g.on && r.rateHz < leastGuidedHz:
		return usagef("--rate is %g; a guided recording takes at least %d rows a second, to see what a hand does", r.rateHz, leastGuidedHz)
	case g.resume && r.file.force:
		return usagef("--resume goes on with the file and --force overwrites it; choose one")
	case g.resume && len(g.axes) > 0:
		return usagef("--resume goes on with the axes of the recording; leave --axis out")
	}
	return nil
}

// guidedRun is one guided recording.
type guidedRun struct {
	flags *recordFlags
	errs  io.Writer

	source  input.Source
	clock   input.Clock // nil for the machine's
	done    *input.Recording
	session *guide.Session

	file *os.File
	out  rowFile
	rows *input.Background // before out; nil where the clock jumps
}

// rowFile is a recording that is being written.
type rowFile interface {
	input.FlushWriter
	Comment(string) error
	Close() error
}

// guideUI shows the guide to the person.
type guideUI interface {
	// start begins to show the session.
	start(*guide.Session)
	// changed is called on the sampling goroutine when something changed.
	changed()
	// tell shows a line of news.
	tell(string)
	// finish ends it and leaves the terminal as it was.
	finish()
}

func (r *recordFlags) recordGuided(ctx context.Context, errs io.Writer) (err error) {
	g := &guidedRun{flags: r, errs: errs}
	if !r.simulated && !isTerminal(errs) {
		lines := newAside(errs)
		defer lines.Close()
		g.errs = lines
	}
	if err := g.openDone(); err != nil {
		return err
	}
	hand, err := g.openSource()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, g.source.Close()) }()
	if !r.simulated {
		tellRefused(g.errs)
	}
	kinds := map[string]input.Kind{}
	for _, label := range r.oneSided {
		kinds[label] = input.OneSided
	}
	g.session, err = guide.NewSession(guide.Options{
		Devices: g.source.Devices(), Axes: r.guide.axes, Kinds: kinds, Done: g.done,
	}, g.open)
	if err != nil {
		return err
	}
	if g.done != nil && g.session.State().Finished {
		fmt.Fprintf(errs, "nothing is missing in %s; next: halfstick measure %s\n", r.file.path, r.file.path)
		return nil
	}
	if hand != nil {
		hand.Ask = g.wish
	}
	stats, err := g.record(ctx)
	err = g.close(&stats, err)
	g.summary()
	r.report(errs, g.source, stats, err)
	if err == nil && g.file == nil && g.done == nil {
		return errors.New("nothing was recorded: no control was moved to be named; run it again and move each control when it is asked for")
	}
	return err
}

// openDone reads the recording that is to be gone on with, if there is one.
func (g *guidedRun) openDone() error {
	if !g.flags.guide.resume {
		if err := g.flags.file.free(); err != nil {
			return fmt.Errorf("%w, or --resume to go on with it", err)
		}
		return nil
	}
	if _, err := os.Lstat(g.flags.file.path); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	rec, err := input.Open(g.flags.file.path)
	if err != nil {
		return err
	}
	g.done, g.flags.rateHz = rec, rec.Header.RateHz
	return nil
}

// openSource opens the controllers, or the simulated rig with a hand that
// obeys the guide.
func (g *guidedRun) openSource() (hand *rig.Live, err error) {
	if !g.flags.simulated {
		choice, err := g.flags.choice()
		if err != nil {
			return nil, err
		}
		choice.Kinds = nil // the axes may have other labels yet
		g.source, err = sdl.Open(choice)
		return nil, err
	}
	// On a terminal a person watches, and the time is real.
	if !isTerminal(g.errs) {
		g.clock = &input.JumpClock{}
	} else {
		g.clock = input.SystemClock()
	}
	s, hand, err := openLive(g.flags.simulation, g.clock)
	g.source = s
	return hand, err
}

func (g *guidedRun) record(ctx context.Context) (input.Sampling, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	ui, err := newGuideUI(g.errs, g.flags.guide.mute)
	if err != nil {
		return input.Sampling{}, err
	}
	defer ui.finish()
	ui.start(g.session)
	changes := -1
	rows := rowFunc(func(row input.Row) error {
		err := g.session.Write(row)
		if n := g.session.Changes(); n != changes {
			changes = n
			ui.changed()
		}
		select {
		case <-g.session.Done():
			cancel()
		default:
		}
		return err
	})
	return input.Record(ctx, g.source, rows, input.RecordOptions{
		RateHz: g.flags.rateHz, Clock: g.clock,
		OnEvent: func(e input.Event) { ui.tell(text.Event(e)) },
	})
}

type rowFunc func(input.Row) error

func (f rowFunc) Write(row input.Row) error { return f(row) }

// open makes the file, or goes on with it, once the devices are named.
func (g *guidedRun) open(devices []input.Device) (input.RowWriter, error) {
	if g.done != nil {
		return g.goOn()
	}
	h := input.NewHeader(g.source, time.Now(), g.flags.rateHz)
	h.Devices = devices
	file, err := g.flags.file.create()
	if err != nil {
		return nil, err
	}
	g.file = file
	out, err := input.NewWriter(file, h)
	if err != nil {
		return nil, err
	}
	return g.keep(out), nil
}

// keep has rows written to out, off the sampling thread where time is real.
func (g *guidedRun) keep(out rowFile) input.RowWriter {
	g.out = out
	if g.jumps() {
		return out
	}
	g.rows = input.NewBackground(out, g.flags.rateHz, func() error { return syncFile(g.file) })
	return g.rows
}

func (g *guidedRun) jumps() bool {
	_, jumps := g.clock.(*input.JumpClock)
	return jumps
}

// goOn appends to the recording.
func (g *guidedRun) goOn() (input.RowWriter, error) {
	file, out, err := input.OpenAppender(g.flags.file.path, g.done)
	if err != nil {
		return nil, err
	}
	g.file = file
	return g.keep(out), nil
}

// close ends the file, with how it was sampled behind its rows.
func (g *guidedRun) close(stats *input.Sampling, failed error) error {
	if g.rows != nil {
		if err := g.rows.Close(); failed == nil {
			failed = err
		}
		stats.LostRows = g.rows.Lost()
	}
	if g.out != nil {
		if failed == nil {
			failed = g.out.Comment(stats.Comment())
		}
		if err := g.out.Close(); failed == nil {
			failed = err
		}
	}
	if g.file != nil {
		failed = errors.Join(failed, g.file.Close())
	}
	return failed
}

// wish is what the guide wants of a simulated hand.
func (g *guidedRun) wish() rig.Wish {
	s := g.session.State()
	return rig.Wish{Task: string(s.Kind), Axis: s.Column, Label: s.Axis, Side: s.Side, Serial: s.Attempt}
}

// summary says what is missing, and how to go on.
func (g *guidedRun) summary() {
	var missing []string
	state := g.session.State()
	if !state.Recording {
		return
	}
	for _, a := range state.Axes {
		if len(a.Missing) > 0 {
			var steps []string
			for _, s := range a.Missing {
				steps = append(steps, string(s))
			}
			missing = append(missing, a.Label+" ("+strings.Join(steps, ", ")+")")
		}
	}
	if len(missing) == 0 {
		fmt.Fprintf(g.errs, "all that a measurement needs is recorded; next: halfstick measure %s\n", g.flags.file.path)
		return
	}
	fmt.Fprintf(g.errs, "missing: %s; the same command with --resume asks for it\n", strings.Join(missing, "; "))
}
