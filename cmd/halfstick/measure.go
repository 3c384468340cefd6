package main

import (
	"io"
	"strings"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/sheet"
	"halfstick/fit/propose"
)

func newMeasure() *cobra.Command {
	var asJSON, change bool
	var axis string
	var page outFile
	cmd := &cobra.Command{
		Use:   "measure RECORDING… | OLD NEW --change",
		Short: "measure every axis and say what is wrong with it",
		Long: `Measures every axis of a recording: travel, step, rest noise, drift, spikes,
where it returns to, noise along the throw, timing; and says what the numbers
mean. Several recordings of the same devices are measured as one.

With --change, two recordings of the same devices are held against each other,
the older first: what changed beyond the noise, such as wear over months or the
effect of a cleaning.`,
		Example: `  halfstick measure demo/rig.csv
  halfstick measure demo/rig.csv --json
  halfstick measure demo/rig.csv --axis rudder --sheet sheet.html
  halfstick measure demo/rig.csv demo/rig.csv --change`,
		Args: needs(1, -1, "one or more recordings"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if change && len(args) != 2 {
				return usagef("--change compares two recordings, not %d; name an old and a new one", len(args))
			}
			if change && axis != "" {
				return usagef("--change compares all axes; leave out --axis %s", axis)
			}
			if err := allFree(page); err != nil {
				return err
			}
			load := loadMeasured
			if change {
				load = loadChange
			}
			m, err := load(args, cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			if err := m.only(axis); err != nil {
				return err
			}
			if err := writeOut(cmd, outFile{}, func(w io.Writer) error {
				return printMeasured(w, m, asJSON)
			}); err != nil {
				return err
			}
			if page.path == "" {
				return nil
			}
			// The sheet shows what a response would do, so it carries the
			// proposal that the default choices give.
			opts := propose.Defaults()
			p, err := m.propose(opts)
			if err != nil {
				return err
			}
			return writeSheet(page, m, p, opts.Normal)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the measurement, or the change, as JSON")
	cmd.Flags().BoolVar(&change, "change", false, "say what changed between two recordings of the same devices, OLD and NEW")
	cmd.Flags().StringVar(&page.path, "sheet", "", "also write the sheet, an HTML page to read and print, to `FILE`")
	cmd.Flags().StringVar(&axis, "axis", "", "only the axis with this `LABEL`")
	addForce(cmd, &page.force)
	return cmd
}

func printMeasured(w io.Writer, m *measured, asJSON bool) error {
	switch {
	case m.since != nil && asJSON:
		return writeJSON(w, m.since)
	case m.since != nil:
		return printChange(w, m.since)
	case asJSON:
		return writeJSON(w, m.measurement)
	}
	return printMeasurement(w, m.measurement)
}

// writeSheet writes the sheet of a rig; normal is the normal deflection that
// the proposal was made for.
func writeSheet(o outFile, m *measured, p *propose.Proposal, normal float64) error {
	var names []string
	for _, d := range m.recording.Header.Devices {
		names = append(names, d.Name)
	}
	return o.write(func(w io.Writer) error {
		return sheet.Render(w, sheet.Data{
			Title:    strings.Join(names, " and "),
			Tool:     "halfstick " + version,
			Proposal: p,
			Normal:   normal,
			Change:   m.since,
			Recordings: []sheet.Recording{{
				File:        m.measurement.Recording,
				Header:      &m.recording.Header,
				Measurement: m.measurement,
			}},
		})
	})
}
