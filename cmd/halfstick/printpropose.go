package main

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/propose"
)

// printProposal writes what is proposed for each axis, why, and what it does
// beside the other families. Jitter is in percent of full command, RMS.
func printProposal(w io.Writer, p *propose.Proposal) error {
	for i := range p.Axes {
		a := &p.Axes[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s · %s\n", a.Profile.Device.Name, a.Profile.Label)
		for _, reason := range a.Reasons {
			fmt.Fprintf(w, "  %s\n", text.Wrap(reason, lineWidth, "    "))
		}
		if slices.ContainsFunc(a.Demand.Holds, func(h propose.Hold) bool { return !h.Kept }) {
			fmt.Fprintln(w, "  --keep-holds counts the holds in the demand")
		}
		if len(a.Fits) > 0 {
			if err := printFamilies(w, a); err != nil {
				return err
			}
		}
	}
	_, err := fmt.Fprintf(w, "\n%s\n", text.Wrap(familiesGloss, lineWidth, ""))
	return err
}

// familiesGloss explains the table's columns.
const familiesGloss = "Gain: share of the jitter that any curve could save in flight. Throw in flight: what serves the commands of normal flight (resolution share). Jitter: command jitter from the noise, RMS in % of full command. Slope: command per position. All but the first row have the deadband."

// printFamilies writes what each family of shapes would do.
func printFamilies(w io.Writer, a *propose.AxisProposal) error {
	normal, stop := "normal", "near stop"
	if len(a.Jitter) == 3 {
		normal, stop = "at "+text.Percent(a.Jitter[1].At), "at "+text.Percent(a.Jitter[2].At)
	}
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(tw, "  \t\tthrow in\tjitter\tjitter\tjitter\tslope at\tlargest\t")
	fmt.Fprintf(tw, "  shape\tgain\tflight\tat rest\t%s\t%s\tcentre\tslope\t\n", normal, stop)
	for _, f := range text.Families(a) {
		name := f.Name
		if f.Parameter != "" {
			name += " " + f.Parameter
		}
		switch {
		case f.Side != "":
			name = "proposed, " + f.Side + ": " + name
		case f.Chosen:
			name = "proposed: " + name
		}
		fmt.Fprintf(tw, "  %s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", name, f.Gain, f.Share, f.AtRest, f.AtNormal, f.NearStop, f.Centre, f.Largest)
	}
	return tw.Flush()
}
