package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/bench"
	"halfstick/curves"
	"halfstick/fit/propose"
	"halfstick/fit/translate"
	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
	"halfstick/input/sdl"
)

// benchFlags is how a person starts the bench.
type benchFlags struct {
	listen    string
	noOpen    bool
	session   string
	recording string
	title     string
	rateHz    float64
	rig       recordFlags // devices, labels, kinds, simulation
}

func newBench() *cobra.Command {
	var f benchFlags
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "the live page: see the axes, record, shape the response by hand, try it, take the table away",
		Long: `Serves a page to the browser on which you see every axis live, are led through a
recording, read what was found, drag the response and see at once what it would
do to your own noise and flight, and take the table away. Everything comes from
this program; nothing leaves the machine.

The page is for this machine alone, unless --listen names another address, such
as 0.0.0.0:8080 for a tablet beside the screen. Either way a browser is let in
only by the address with the token that is printed. What you do is kept in the
session's folder, so closing the page or the program loses nothing.`,
		Example: `  halfstick bench --simulated
  halfstick bench --recording demo/rig.csv --no-open
  halfstick bench --listen 0.0.0.0:8080 --no-open`,
		Args: needs(0, 0, "recordings with --recording"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
			defer stop()
			return f.run(ctx, cmd)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.listen, "listen", "127.0.0.1:0", "serve the page at this `ADDRESS:PORT`; port 0 takes a free one")
	flags.BoolVar(&f.noOpen, "no-open", false, "only print the address, do not open a browser")
	flags.StringVar(&f.session, "session", "", "keep what you do in this `FOLDER`; empty takes one among your settings")
	flags.StringVar(&f.recording, "recording", "", "begin with this `RECORDING`")
	flags.StringVar(&f.title, "title", "The rig", "what to call the rig, on the page and the sheet")
	flags.Float64Var(&f.rateHz, "rate", 500, "samples per second")
	flags.StringArrayVar(&f.rig.devices, "device", nil, "open only this device, by id, GUID or name (may be repeated)")
	flags.StringArrayVar(&f.rig.labels, "label", nil, "`ID.AXIS=LABEL`: give an axis of a device a name of yours (may be repeated)")
	flags.StringArrayVar(&f.rig.oneSided, "one-sided", nil, "`LABEL` of an axis that runs from stop to stop without a centre (may be repeated)")
	addSimulated(cmd, &f.rig.simulated, &f.rig.simulation)
	return cmd
}

func (f *benchFlags) run(ctx context.Context, cmd *cobra.Command) error {
	config := bench.Config{
		RateHz: f.rateHz, Title: f.title, Tool: "halfstick " + version, Options: propose.Defaults(), Translate: translateOne,
	}
	if !(f.rateHz >= 30 && f.rateHz <= 2000) {
		return usagef("--rate is %g; the bench samples 30 to 2000 times a second", f.rateHz)
	}
	var err error
	if config.Folder, err = f.folder(); err != nil {
		return err
	}
	var asked func() (guide.State, bool)
	if f.rig.simulated {
		if len(f.rig.devices)+len(f.rig.labels)+len(f.rig.oneSided) > 0 {
			return usagef("--simulated brings its own devices and labels; leave --device, --label and --one-sided out")
		}
		config.Simulated = "Simulated rig: no controller is read. A scripted hand moves an invented stick and worn pedals, and does what a guided recording asks."
		config.Open = func() (input.Source, error) {
			return openBenchRig(f.rig.simulation, func() (guide.State, bool) { return asked() })
		}
		config.Prepare = func(ctx context.Context) (string, error) {
			return prepareSimulated(ctx, config.Folder, f.rig.simulation, f.rateHz)
		}
	} else {
		choice, err := f.rig.choice()
		if err != nil {
			return err
		}
		config.Open = func() (input.Source, error) { return sdl.Open(choice) }
	}
	if f.recording != "" {
		config.Begin = f.recording
	}
	b, err := bench.New(config)
	if err != nil {
		return err
	}
	asked = b.Guiding
	l, err := net.Listen("tcp", f.listen)
	if err != nil {
		return fmt.Errorf("cannot listen: %w; choose another address with --listen", err)
	}
	return b.Run(ctx, l, func(url string) {
		fmt.Fprintf(cmd.OutOrStdout(), "%s\n", url)
		fmt.Fprintf(cmd.ErrOrStderr(), "the bench is at the address above; Ctrl-C ends it; kept in %s\n", config.Folder)
		if !f.noOpen {
			if err := openBrowser(url); err != nil {
				fmt.Fprintf(cmd.ErrOrStderr(), "open it in a browser yourself: %v\n", err)
			}
		}
	})
}

// folder is where the session is kept.
func (f *benchFlags) folder() (string, error) {
	if f.session != "" {
		return f.session, nil
	}
	settings, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("there is no folder for settings: %w; name one with --session", err)
	}
	name := "bench"
	if f.rig.simulated {
		name = "bench-simulated"
	}
	return filepath.Join(settings, "halfstick", name), nil
}

// openBenchRig is the simulated rig in real time, under a hand that flies and
// does what the guide asks. It is read through SDL, where there is SDL.
func openBenchRig(seed uint64, asked func() (guide.State, bool)) (input.Source, error) {
	r, err := rig.New(rig.DefaultSpecs(seed), seed)
	if err != nil {
		return nil, err
	}
	hand := &rig.Live{Fly: true, Names: map[string]string{"yaw": "rudder"}, Ask: func() rig.Wish {
		s, on := asked()
		if !on {
			return rig.Wish{Axis: -1}
		}
		return rig.Wish{Task: string(s.Kind), Axis: s.Column, Label: s.Axis, Side: s.Side, Serial: s.Attempt}
	}}
	if err := r.SetLive(hand); err != nil {
		return nil, err
	}
	clock := input.SystemClock()
	src, err := sdl.NewSimulated(r, clock)
	if errors.Is(err, sdl.ErrWithoutSDL) {
		return r.Source(clock), nil
	}
	return src, err
}

// prepareSimulated records the demo's script in time that jumps.
func prepareSimulated(ctx context.Context, folder string, seed uint64, rateHz float64) (string, error) {
	r := rig.Default(seed)
	clock := &input.JumpClock{}
	src := r.Source(clock) // SDL has one thread, which the live rig is read on
	path := filepath.Join(folder, "simulated.csv")
	_, err := recordTo(ctx, outFile{path: path, force: true}, src, input.NewHeader(src, time.Now(), rateHz), input.RecordOptions{
		RateHz: rateHz, For: r.Duration(), PhaseAt: r.PhaseAt, Clock: clock,
	})
	return path, err
}

// translateOne answers in words which setting comes nearest to one response.
func translateOne(axis curves.ProfileAxis, readings []byte, o translate.Options) (string, error) {
	noted, err := translate.Read(bytes.NewReader(readings), "readings")
	if err != nil {
		return "", err
	}
	id, err := translate.Identify(noted, o)
	if err != nil {
		return "", err
	}
	t := identified(id)
	one, err := translatedAxis(id, &axis)
	if err != nil {
		return "", err
	}
	t.Axes = append(t.Axes, one)
	var says strings.Builder
	err = printTranslation(&says, t)
	return says.String(), err
}
