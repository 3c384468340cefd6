package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"halfstick/input/sdl"
)

func newDevices() *cobra.Command {
	var asJSON, simulated bool
	var seed uint64
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "list the controllers and their axes",
		Long: `Lists the controllers that SDL sees, with their axes, the counts that each axis
shows now, and what the operating system hides of them where that is known.`,
		Example: `  halfstick devices --simulated
  halfstick devices --simulated --json`,
		Args: needs(0, 0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if simulated {
				rig, err := openSimulated(seed)
				if err != nil {
					return err
				}
				defer rig.source.Close()
			}
			found, err := sdl.List()
			if err != nil {
				return err
			}
			return writeOut(cmd, outFile{}, func(w io.Writer) error {
				if asJSON {
					return writeJSON(w, found)
				}
				return deviceTable(w, found)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	addSimulated(cmd, &simulated, &seed)
	return cmd
}

func addSimulated(cmd *cobra.Command, simulated *bool, seed *uint64) {
	cmd.Flags().BoolVar(simulated, "simulated", false, "use the simulated rig instead of controllers")
	cmd.Flags().Uint64Var(seed, "seed", defaultSeed, "seed of the simulated rig: the same seed gives the same devices")
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
		if d.Virtual {
			fmt.Fprintln(w, "  a virtual joystick: simulated, no hardware behind it")
		}
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "  axis\tlabel\tcounts now\tthe system hides")
		for i, label := range d.Labels {
			hidden := "not known"
			if i < len(d.Filters) && d.Filters[i] != nil {
				hidden = fmt.Sprintf("changes below %d and the middle %d either way, in the device's own units",
					d.Filters[i].Fuzz, d.Filters[i].Flat)
			}
			if d.Virtual {
				hidden = "nothing"
			}
			fmt.Fprintf(tw, "  %d\t%s\t%d\t%s\n", i, label, d.Counts[i], hidden)
		}
		if err := tw.Flush(); err != nil {
			return err
		}
	}
	return nil
}
