package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/input"
	"halfstick/input/sdl"
)

// recordFlags is what a person says about a recording.
type recordFlags struct {
	file       outFile
	devices    []string
	labels     []string
	oneSided   []string
	phases     []string
	rateHz     float64
	lasts      time.Duration
	flownWith  string
	keepFilter bool
	simulated  bool
	simulation uint64
	guide      guideFlags
}

func newRecord() *cobra.Command {
	var r recordFlags
	cmd := &cobra.Command{
		Use:   "record -o FILE",
		Short: "record the axes into a file",
		Long: `Records all axes of the controllers into a file, until Ctrl-C or for the time
that is said. Phases say what you do meanwhile: rest, sweep, release-low,
release-high, hold, flight, each with an optional :LABEL of the axis that it is
about. Several phases with durations are gone through one after another, and
the program says what to do and when.

With --guide you are led: the program asks which control is which, sees by its
movement what you do, says whether it came off, asks again where it did not, and
goes on by itself; no key has to be pressed. A recording that was broken off is
gone on with by --resume: the new rows are put behind the old, a second apart.`,
		Example: `  halfstick record --simulated -o rig.csv
  halfstick record --guide --simulated --axis pitch -o guided.csv
  halfstick record --simulated -o short.csv --for 20s --rate 250`,
		Args: needs(0, 0, "the file with -o, not as an argument"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if r.file.path == "" {
				return usagef("name the file to record into with -o")
			}
			if err := r.guide.check(&r); err != nil {
				return err
			}
			if !r.guide.on {
				if err := r.file.free(); err != nil {
					return err
				}
			}
			ctx, stop := untilSignal(cmd.Context())
			defer stop()
			if r.guide.on {
				return r.recordGuided(ctx, cmd.ErrOrStderr())
			}
			if r.simulated {
				return r.recordSimulated(ctx, cmd.ErrOrStderr())
			}
			errs := newAside(cmd.ErrOrStderr())
			defer errs.Close()
			return r.recordDevices(ctx, errs, sdl.Open)
		},
	}
	f := cmd.Flags()
	f.StringVarP(&r.file.path, "output", "o", "", "record into `FILE`")
	f.StringArrayVar(&r.devices, "device", nil, "record only this device, by id, GUID or name (may be repeated)")
	f.Float64Var(&r.rateHz, "rate", 500, "samples per second")
	f.DurationVar(&r.lasts, "for", 0, "how long; 0 goes on until Ctrl-C or the end of the phases")
	f.StringArrayVar(&r.phases, "phase", nil, "`PHASE[:LABEL][=DURATION]`, such as rest or sweep:rudder=30s (may be repeated)")
	f.StringArrayVar(&r.labels, "label", nil, "`ID.AXIS=LABEL`: give an axis of a device a name of yours (may be repeated)")
	f.StringArrayVar(&r.oneSided, "one-sided", nil, "`LABEL` of an axis that runs from stop to stop without a centre (may be repeated)")
	f.StringVar(&r.flownWith, "flown-with", "", "the `PROFILE` that is active in the simulator meanwhile")
	f.BoolVar(&r.keepFilter, "keep-system-filter", false, "leave what the operating system hides of small movements as it is, instead of lifting it for the recording")
	addSimulated(cmd, &r.simulated, &r.simulation)
	addForce(cmd, &r.file.force)
	r.guide.add(cmd)
	return cmd
}

func (r *recordFlags) recordSimulated(ctx context.Context, errs io.Writer) error {
	if len(r.phases)+len(r.devices)+len(r.labels)+len(r.oneSided) > 0 || r.flownWith != "" {
		return usagef("--simulated brings its own devices, labels and phases; leave --device, --label, --one-sided, --phase and --flown-with out")
	}
	s, err := openSimulated(r.simulation)
	if err != nil {
		return err
	}
	defer s.source.Close()
	opts := input.RecordOptions{RateHz: r.rateHz, For: s.Duration(), PhaseAt: s.PhaseAt, Clock: s.clock}
	if r.lasts > 0 {
		opts.For = r.lasts
	}
	bar := newProgress(errs, "recording the simulated rig", opts.For.Milliseconds())
	opts.Progress = func(t time.Duration, _ int) { bar.Set64(t.Milliseconds()) }
	stats, err := recordTo(ctx, r.file, s.source, input.NewHeader(s.source, time.Now(), r.rateHz), opts)
	bar.Finish()
	r.report(errs, s.source, stats, err)
	return err
}

// recordDevices records the controllers that open gives. Whatever ends it, a
// panic too, the source is closed, which puts the system's filter back.
func (r *recordFlags) recordDevices(ctx context.Context, errs io.Writer, open func(sdl.Options) (input.Source, error)) error {
	phases, err := parsePlan(r.phases)
	if err != nil {
		return err
	}
	choice, err := r.choice()
	if err != nil {
		return err
	}
	var flown json.RawMessage
	if r.flownWith != "" {
		profile, err := openProfile(r.flownWith)
		if err != nil {
			return err
		}
		if flown, err = profile.MarshalJSON(); err != nil {
			return err
		}
	}
	src, err := open(choice)
	if err != nil {
		return err
	}
	defer src.Close()
	tellRefused(errs)
	h := input.NewHeader(src, time.Now(), r.rateHz)
	h.FlownWith = flown
	if err := phases.check(h.Devices); err != nil {
		return err
	}
	watched := newRestWatch(src, errs, phases.phaseAt)
	opts := input.RecordOptions{RateHz: r.rateHz, For: r.lasts, PhaseAt: watched.phaseAt}
	if opts.For == 0 {
		opts.For = phases.duration()
	}
	opts.Progress, opts.OnEvent = announce(errs, phases), tellEvents(errs)
	stats, err := recordTo(ctx, r.file, watched, h, opts)
	r.report(errs, src, stats, err)
	return err
}

// choice is which controllers to open, and what the person calls their axes.
func (r *recordFlags) choice() (sdl.Options, error) {
	choice := sdl.Options{
		Devices: r.devices, Labels: map[string]string{}, Kinds: map[string]input.Kind{},
		KeepSystemFilter: r.keepFilter,
	}
	for _, pair := range r.labels {
		axis, label, ok := strings.Cut(pair, "=")
		if !ok || axis == "" || label == "" {
			return choice, usagef("--label %s: write it as ID.AXIS=LABEL, such as pedals.z=rudder", pair)
		}
		choice.Labels[axis] = label
	}
	for _, label := range r.oneSided {
		choice.Kinds[label] = input.OneSided
	}
	return choice, nil
}

// announce tells on a terminal what to do now, with the bell at each change,
// and how far the step has come.
func announce(errs io.Writer, phases plan) func(time.Duration, int) {
	if !isTerminal(errs) {
		return nil
	}
	current := -2
	return func(t time.Duration, rows int) {
		step := phases.stepAt(t)
		doing := input.Phase{}
		if step >= 0 {
			doing = phases[step].phase
		}
		if step != current {
			current = step
			fmt.Fprintf(errs, "\a\r\x1b[K%s\n", instruction(doing))
		}
		fmt.Fprintf(errs, "\r\x1b[K  %.1f s, %d samples; Ctrl-C ends", t.Seconds(), rows)
	}
}

// tellEvents says what happens to the recording, one line each.
func tellEvents(errs io.Writer) func(input.Event) {
	clear := ""
	if isTerminal(errs) {
		clear = "\a\r\x1b[K"
	}
	return func(e input.Event) { fmt.Fprintf(errs, "%s%s\n", clear, text.Event(e)) }
}

// report says on a terminal and in a pipe alike what was recorded: a person
// must know whether the samples came evenly.
func (r *recordFlags) report(errs io.Writer, src input.Source, s input.Sampling, err error) {
	if s.Rows == 0 {
		return
	}
	if isTerminal(errs) {
		fmt.Fprint(errs, "\r\x1b[K")
	}
	fmt.Fprintf(errs, "%s: %d samples of %d devices\n%s\n", r.file.path, s.Rows, len(src.Devices()), text.Sampling(s))
	if err != nil {
		fmt.Fprintln(errs, "the recording ended early; what had come by then is in the file")
	}
}
