package main

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/input"
	"halfstick/input/evdev"
	"halfstick/input/rig"
	"halfstick/input/sdl"
)

func newDevices() *cobra.Command {
	var asJSON, simulated, live bool
	var seed uint64
	var lasts time.Duration
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "list the controllers and their axes",
		Long: `Lists the controllers that SDL sees, with their axes, the counts that each axis
shows now, and what the operating system hides of them where that is known.

With --watch the counts are shown as they move, with how often each device
reports, until Ctrl-C: in place on a terminal, as lines elsewhere, with --json
as one object a line. Controllers may be plugged in and out meanwhile.`,
		Example: `  halfstick devices --simulated
  halfstick devices --simulated --json
  halfstick devices --simulated --watch --for 1s`,
		Args: needs(0, 0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if lasts != 0 && (!live || lasts < 0) {
				return usagef("--for says how long to --watch, and is a duration above 0")
			}
			if live {
				ctx, stop := untilSignal(cmd.Context())
				defer stop()
				return runWatch(ctx, watchSource(simulated, seed), viewFor(cmd.OutOrStdout(), asJSON), lasts, nil)
			}
			list := sdl.List
			if simulated {
				list = func() ([]sdl.Found, error) { return listSimulated(seed) }
			}
			found, err := list()
			if err != nil {
				return err
			}
			if len(found) == 0 {
				return sdl.NoDevices()
			}
			tellRefused(cmd.ErrOrStderr())
			return writeOut(cmd, outFile{}, func(w io.Writer) error {
				if asJSON {
					return writeJSON(w, found)
				}
				return deviceTable(w, found)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	cmd.Flags().BoolVar(&live, "watch", false, "show the counts as they move, until Ctrl-C")
	cmd.Flags().DurationVar(&lasts, "for", 0, "how long to watch; 0 goes on until Ctrl-C")
	addSimulated(cmd, &simulated, &seed)
	return cmd
}

// watchSource opens what a watch shows. It leaves the system's filter alone: a
// look changes nothing.
func watchSource(simulated bool, seed uint64) func() (input.Source, error) {
	if simulated {
		return func() (input.Source, error) { return sdl.NewSimulated(rig.Default(seed), input.SystemClock()) }
	}
	return func() (input.Source, error) { return sdl.Open(sdl.Options{KeepSystemFilter: true}) }
}

func viewFor(out io.Writer, asJSON bool) watchView {
	switch {
	case asJSON:
		return watchJSON{json.NewEncoder(out)}
	case isTerminal(out):
		return &watchScreen{out: out}
	}
	return watchLines{out}
}

// listSimulated lists the simulated rig as SDL sees it, with the ids and labels
// that its recordings have.
func listSimulated(seed uint64) ([]sdl.Found, error) {
	rig, err := openSimulated(seed)
	if err != nil {
		return nil, err
	}
	defer rig.source.Close()
	axes := 0
	for _, d := range rig.source.Devices() {
		axes += len(d.Axes)
	}
	// One poll lets the first reports through.
	if err := rig.source.Poll(make([]int16, axes), make([]bool, axes)); err != nil {
		return nil, err
	}
	found, err := sdl.List()
	if err != nil {
		return nil, err
	}
	found = slices.DeleteFunc(found, func(f sdl.Found) bool { return !f.Virtual })
	for i, d := range rig.source.Devices() {
		found[i].ID = d.ID
		for k, a := range d.Axes {
			found[i].Labels[k] = a.Label
		}
	}
	return found, nil
}

func addSimulated(cmd *cobra.Command, simulated *bool, seed *uint64) {
	cmd.Flags().BoolVar(simulated, "simulated", false, "use the simulated rig instead of controllers")
	cmd.Flags().Uint64Var(seed, "seed", defaultSeed, "seed of the simulated rig: the same seed gives the same devices")
}

// tellRefused says which controllers there are that may not be read.
func tellRefused(errs io.Writer) {
	for _, refusal := range evdev.Refused() {
		fmt.Fprintln(errs, refusal)
	}
}

func deviceTable(w io.Writer, found []sdl.Found) error {
	for i, d := range found {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s: %s\n", d.ID, d.Name)
		fmt.Fprintf(w, "  GUID %s\n", d.GUID)
		if d.Vendor != 0 || d.Product != 0 {
			fmt.Fprintf(w, "  vendor %04x, product %04x\n", d.Vendor, d.Product)
		}
		if d.Path != "" {
			fmt.Fprintf(w, "  at %s\n", d.Path)
		}
		if d.Serial != "" {
			fmt.Fprintf(w, "  serial number %s\n", d.Serial)
		}
		if d.Port != "" {
			fmt.Fprintf(w, "  plugged in at %s\n", d.Port)
		}
		if d.Virtual {
			fmt.Fprintln(w, "  a virtual joystick: simulated, no hardware behind it")
		}
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "  axis\tlabel\tusage\tcounts now\tthe system hides")
		for i, label := range d.Labels {
			usage := "not known"
			if i < len(d.Usages) && d.Usages[i] != "" {
				usage = d.Usages[i]
			}
			fmt.Fprintf(tw, "  %d\t%s\t%s\t%d\t%s\n", i, label, usage, d.Counts[i], hidden(d, i))
		}
		if err := tw.Flush(); err != nil {
			return err
		}
		for _, note := range d.Notes {
			fmt.Fprintf(w, "  %s\n", text.Wrap("note: "+note, lineWidth, "    "))
		}
	}
	return nil
}

// hidden says in plain words what the system keeps from every program.
func hidden(d sdl.Found, axis int) string {
	switch {
	case d.Virtual:
		return "nothing"
	case axis >= len(d.Filters) || d.Filters[axis] == nil:
		return "not known"
	}
	f := d.Filters[axis]
	var parts []string
	if f.Fuzz > 0 {
		parts = append(parts, fmt.Sprintf("changes below %d", f.Fuzz))
	}
	if f.Flat > 0 {
		parts = append(parts, fmt.Sprintf("%d either side of the middle, from programs that heed it", f.Flat))
	}
	if parts == nil {
		return "nothing"
	}
	return strings.Join(parts, ", and ") + " (in the device's own units)"
}
