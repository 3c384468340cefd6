package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/propose"
)

// printReplay writes what each axis would have commanded: first what its pilot
// must get used to, then the jitter, then what smoothing costs.
func printReplay(w io.Writer, r *propose.Replayed) error {
	for i := range r.Axes {
		a := &r.Axes[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s · %s (%s)\n", a.Device, a.Label, a.Kind)
		say := func(format string, args ...any) {
			fmt.Fprintf(w, "  %s\n", text.Wrap(fmt.Sprintf(format, args...), lineWidth, "    "))
		}
		say("to get used to: %s", a.LargestDifference.Says)
		if q := a.FalseMotionsPerMinute; q != nil {
			smoothed := ""
			if a.Smoothing != nil {
				smoothed = fmt.Sprintf("; with smoothing %d", a.Smoothing.FalseMotions)
			}
			say("false motions at rest: %d in %.1f minutes, %s with 95 %% confidence%s",
				a.FalseMotions, a.RestMinutes, text.WithUnit(text.Interval(q), q.Unit), smoothed)
		}
		if c := a.Smoothing; c != nil {
			say("%s", c.Says)
			if q := c.Measured; q != nil {
				say("lag measured over the moving phases: %s", text.Quantity(q))
			}
			if err := printLags(w, c); err != nil {
				return err
			}
		}
		if err := printJitters(w, a); err != nil {
			return err
		}
	}
	if len(r.Axes) > 0 && r.Axes[0].Smoothing != nil {
		fmt.Fprintf(w, "\n%s\n", text.Wrap(smoothingGloss, lineWidth, ""))
	}
	return nil
}

// smoothingGloss explains the words of smoothing. The specification, 3.5.3, is
// quoted from memory.
var smoothingGloss = fmt.Sprintf("Near rest is the recorded rest, in motion where the hand is faster than its RMS speed. The phase is stated at the crossover, which is how quickly a person corrects by hand; margin and overshoot are those of McRuer's crossover model of a person with %g s of delay. The lag adds to the simulator's and the screen's: from stick to aircraft MIL-F-8785C allows 100\u00a0ms at its best level. The jitter left in motion takes the noise of different reports as independent.", propose.PilotDelay)

// printLags writes what smoothing costs beside no smoothing.
func printLags(w io.Writer, c *propose.SmoothingCost) error {
	lags, heads := []propose.Lag{c.AtRest}, "smoothed\t"
	if !c.OneLag() {
		lags, heads = append(lags, *c.InMotion), "near rest\tin motion\t"
	}
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tw, "  smoothing\tnone\t%s\n", heads)
	row := func(name, none string, cell func(propose.Lag) string) {
		fmt.Fprintf(tw, "  %s\t%s\t", name, none)
		for _, l := range lags {
			fmt.Fprintf(tw, "%s\t", cell(l))
		}
		fmt.Fprintln(tw)
	}
	row("lag", "0 ms", func(l propose.Lag) string { return propose.Milliseconds(l.MS) })
	if c.Unsmoothed != nil {
		row(fmt.Sprintf("phase lost at %g rad/s", c.Crossover), "0°", func(l propose.Lag) string { return text.Number(*l.PhaseDeg, 1) + "°" })
		row("phase margin left", margin(c.Unsmoothed), func(l propose.Lag) string { return margin(l.Loop) })
		row("a correction overshoots by", overshoot(c.Unsmoothed), func(l propose.Lag) string { return overshoot(l.Loop) })
	}
	return tw.Flush()
}

func margin(l *propose.Loop) string { return text.Number(math.Max(0, l.MarginDeg), 0) + "°" }

func overshoot(l *propose.Loop) string {
	if l.Overshoot == nil {
		return "does not settle"
	}
	return text.Number(*l.Overshoot, 0) + " %"
}

func printJitters(w io.Writer, a *propose.ReplayedAxis) error {
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	smoothed := ""
	if a.Smoothing != nil {
		smoothed = "smoothed\t"
	}
	fmt.Fprintf(tw, "  command jitter, RMS of full\tbefore\tafter\t%ssamples\t\n", smoothed)
	row := func(where string, j propose.JitterRMS) {
		smoothed := ""
		if j.Smoothed != nil {
			smoothed = text.PercentValue(*j.Smoothed) + "\t"
		}
		fmt.Fprintf(tw, "  %s\t%s\t%s\t%s%d\t\n", where, text.PercentValue(j.Before), text.PercentValue(j.After), smoothed, j.Rows)
	}
	if a.Rest != nil {
		row("at rest", *a.Rest)
	}
	for _, band := range a.Bands {
		row(fmt.Sprintf("%s, %.0f to %.0f %% deflection", a.Moving, 100*band.From, 100*band.To), band.JitterRMS)
	}
	if a.Worst != nil {
		row(fmt.Sprintf("worst ten seconds, from %.0f s", a.Worst.From), a.Worst.JitterRMS)
	}
	return tw.Flush()
}
