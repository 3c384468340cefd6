package main

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/measure"
	"halfstick/input"
)

// loadChange measures an old and a new recording of the same devices and
// compares them: the new one, with what changed.
func loadChange(paths []string, errs io.Writer) (*measured, error) {
	before, err := loadMeasured(paths[:1], errs)
	if err != nil {
		return nil, err
	}
	now, err := loadMeasured(paths[1:], errs)
	if err != nil {
		return nil, err
	}
	if err := sameDevices(before.recording, now.recording, paths[0], paths[1]); err != nil {
		return nil, err
	}
	now.since, err = measure.Compare(before.measurement, now.measurement)
	return now, err
}

// sameDevices holds the GUIDs against each other, which a measurement does not
// carry: two devices may have been given the same id.
func sameDevices(before, now *input.Recording, oldPath, newPath string) error {
	for _, d := range before.Header.Devices {
		at := slices.IndexFunc(now.Header.Devices, func(o input.Device) bool { return o.ID == d.ID })
		if at >= 0 && now.Header.Devices[at].GUID != d.GUID {
			return fmt.Errorf("%s: the device %s has GUID %s, but %s in %s; compare two recordings of the same device",
				newPath, d.ID, now.Header.Devices[at].GUID, d.GUID, oldPath)
		}
	}
	return nil
}

// printChange writes what changed first, then what did not.
func printChange(w io.Writer, c *measure.Change) error {
	fmt.Fprintf(w, "%s against %s: %s\n", c.New, c.Old, text.Wrap(text.ChangeSummary(c), lineWidth, "  "))
	for i := range c.Axes {
		a := &c.Axes[i]
		fmt.Fprintf(w, "\n%s · %s\n", a.Device, a.Label)
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "  quantity\tbefore\tnow\tdifference\t95 % interval\t")
		for _, changed := range []bool{true, false} {
			for _, q := range a.Quantities {
				if q.Changed != changed {
					continue
				}
				fmt.Fprintf(tw, "  %s\t%s\t%s\t%s\t%s\t%s\n", q.Name, text.Value(q.Old), text.Value(q.New),
					difference(q.Difference), text.Interval(q.Difference), changeVerdict(q))
			}
		}
		if err := tw.Flush(); err != nil {
			return err
		}
	}
	return nil
}

func difference(q *measure.Quantity) string {
	if !text.Measured(q) {
		return ""
	}
	return text.Value(q)
}

func changeVerdict(q measure.QuantityChange) string {
	switch {
	case q.Changed:
		return "changed"
	case q.P == nil:
		return "not tested: " + q.Why
	}
	return "not beyond the noise"
}
