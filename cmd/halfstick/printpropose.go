package main

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/propose"
)

// printProposal writes what is proposed for each axis, why, and what it does.
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
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
		if len(a.Jitter) > 0 {
			fmt.Fprintln(tw, "  command jitter\tstraight\tproposed\t")
			for _, j := range a.Jitter {
				fmt.Fprintf(tw, "  %s\t%s\t%s\t\n", j.Where, text.PercentValue(j.Before), text.PercentValue(j.After))
			}
		}
		if err := tw.Flush(); err != nil {
			return err
		}
		if len(a.Fits) > 0 {
			fmt.Fprintln(tw, "  shape\tof the possible gain\tslope at centre\tlargest slope\t")
			for _, f := range a.Fits {
				mark := ""
				if f.Family == a.Chosen && len(a.Sides) == 0 {
					mark = "proposed: "
				}
				printFit(tw, mark, f)
			}
			for _, side := range a.Sides {
				for _, f := range side.Fits {
					if f.Family == a.Chosen {
						printFit(tw, "proposed, "+side.Side+" side: ", f)
					}
				}
			}
		}
		if err := tw.Flush(); err != nil {
			return err
		}
	}
	return nil
}

func printFit(w io.Writer, mark string, f propose.Fit) {
	fmt.Fprintf(w, "  %s%s\t%s\t%.2f\t%.2f\t\n", mark, f.Family, text.Percent(f.Gain), f.CentreSlope, f.MaxSlope)
}
