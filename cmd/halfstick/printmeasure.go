package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/measure"
)

// lineWidth is how wide running text may get on a terminal.
const lineWidth = 78

// printMeasurement writes findings first, then the numbers behind them.
func printMeasurement(w io.Writer, m *measure.Measurement) error {
	for i := range m.Axes {
		a := &m.Axes[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s · %s (%s)\n", a.Device, a.Label, a.Kind)
		for _, f := range a.Findings {
			fmt.Fprintf(w, "  %s\n", text.Wrap(string(f.Severity)+": "+f.Says, lineWidth, "    "))
			if f.Advice != "" {
				fmt.Fprintf(w, "    %s\n", text.Wrap(f.Advice, lineWidth, "    "))
			}
		}
		if err := printQuantities(w, a); err != nil {
			return err
		}
		for _, note := range a.Notes {
			fmt.Fprintf(w, "  %s\n", text.Wrap("note: "+note, lineWidth, "    "))
		}
	}
	printMaking(w, m)
	return nil
}

// printMaking says how the recording was made, where it tells.
func printMaking(w io.Writer, m *measure.Measurement) {
	if len(m.Sampling)+len(m.Events) == 0 {
		return
	}
	fmt.Fprintln(w, "\nrecording")
	for _, s := range m.Sampling {
		fmt.Fprintf(w, "  %s\n", text.Wrap(text.Sampling(s), lineWidth, "    "))
	}
	for _, e := range m.Events {
		fmt.Fprintf(w, "  %s\n", text.Wrap(text.Event(e), lineWidth, "    "))
	}
}

func printQuantities(w io.Writer, a *measure.Axis) error {
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, row := range text.Quantities(a) {
		if text.Measured(row.Quantity) {
			fmt.Fprintf(tw, "  %s\t%s\t%s\n", row.Name, text.Value(row.Quantity), text.Interval(row.Quantity))
		}
	}
	return tw.Flush()
}
