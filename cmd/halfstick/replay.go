package main

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/propose"
	"halfstick/input"
)

func newReplay() *cobra.Command {
	var profile, axis string
	var asJSON bool
	var series, plot outFile
	cmd := &cobra.Command{
		Use:   "replay RECORDING --profile PROFILE",
		Short: "what the recording would have commanded, before and after",
		Long: `Replays a recording through a profile, against the straight line with the same
calibration: the command jitter by deflection, false motions at rest, and the
largest difference at the same hand position, which is what you must get used to.`,
		Example: `  halfstick replay demo/rig.csv --profile demo/profile.json
  halfstick replay demo/rig.csv --profile demo/profile.json --axis rudder --plot rudder.svg -o rudder.csv`,
		Args: needs(1, 1, "one recording"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if profile == "" {
				return usagef("name the profile to replay through with --profile")
			}
			plot.force = series.force
			format := ""
			if plot.path != "" {
				var err error
				if format, err = figures.Format(plot.path); err != nil {
					return usageError{err}
				}
			}
			if err := allFree(series, plot); err != nil {
				return err
			}
			replayed, err := replayFiles(args[0], profile, axis, cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			if err := writeOut(cmd, outFile{}, func(w io.Writer) error {
				if asJSON {
					return writeJSON(w, replayed)
				}
				return printReplay(w, replayed)
			}); err != nil {
				return err
			}
			if series.path != "" {
				if err := series.write(func(w io.Writer) error { return writeReplayCSV(w, replayed) }); err != nil {
					return err
				}
			}
			if plot.path == "" {
				return nil
			}
			return plot.write(func(w io.Writer) error { return figures.Replay(worstPart(replayed)).Write(w, format) })
		},
	}
	f := cmd.Flags()
	f.StringVar(&profile, "profile", "", "the `PROFILE` to replay through")
	f.StringVar(&axis, "axis", "", "only the axis with this `LABEL`")
	f.StringVarP(&series.path, "output", "o", "", "write the flight's commands before and after, row by row, to `FILE.csv`")
	f.StringVar(&plot.path, "plot", "", "draw the ten seconds with the largest jitter into `FILE.svg` or FILE.png")
	f.BoolVar(&asJSON, "json", false, "print the result as JSON")
	addForce(cmd, &series.force)
	return cmd
}

func replayFiles(recording, profile, axis string, errs io.Writer) (*propose.Replayed, error) {
	p, err := openProfileAxis(profile, axis)
	if err != nil {
		return nil, err
	}
	rec, err := openRecording(recording, errs)
	if err != nil {
		return nil, err
	}
	return propose.Replay(rec, p)
}

// worstPart is the axis whose command jittered most before, over its worst ten
// seconds.
func worstPart(r *propose.Replayed) figures.ReplayPart {
	var worst *propose.ReplayedAxis
	for i := range r.Axes {
		a := &r.Axes[i]
		if a.Worst != nil && (worst == nil || a.Worst.Before > worst.Worst.Before) {
			worst = a
		}
	}
	if worst == nil {
		return figures.ReplayPart{}
	}
	part := figures.ReplayPart{
		Label:        worst.Label,
		JitterBefore: worst.Worst.NoiseBefore,
		JitterAfter:  worst.Worst.NoiseAfter,
	}
	for i, at := range worst.Seconds {
		if at >= worst.Worst.From && at <= worst.Worst.To {
			part.Seconds = append(part.Seconds, at)
			part.Before = append(part.Before, worst.Before[i])
			part.After = append(part.After, worst.After[i])
		}
	}
	return part
}

// writeReplayCSV writes the commands of the flight, or, where none was
// recorded, of everything.
func writeReplayCSV(w io.Writer, r *propose.Replayed) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "axis,t_s,before_percent,after_percent")
	for i := range r.Axes {
		a := &r.Axes[i]
		for k, at := range a.Seconds {
			if a.Moving == string(input.Flight) && a.Phases[k] != input.Flight {
				continue
			}
			b.WriteString(a.Label)
			for _, v := range []struct {
				value  float64
				places int
			}{{at, 4}, {100 * a.Before[k], 3}, {100 * a.After[k], 3}} {
				b.WriteByte(',')
				b.Write(strconv.AppendFloat(b.AvailableBuffer(), v.value, 'f', v.places, 64))
			}
			b.WriteByte('\n')
		}
	}
	return b.Flush()
}

func printReplay(w io.Writer, r *propose.Replayed) error {
	for i := range r.Axes {
		a := &r.Axes[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s · %s (%s)\n", a.Device, a.Label, a.Kind)
		fmt.Fprintf(w, "  %s\n", text.Wrap(a.LargestDifference.Says, lineWidth, "    "))
		if a.FalseMotionsPerMinute != nil {
			fmt.Fprintf(w, "  false motions at rest: %d in %.1f minutes\n", a.FalseMotions, a.RestMinutes)
		}
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(tw, "  command jitter\tbefore\tafter\tsamples\t")
		if a.Rest != nil {
			printJitter(tw, "at rest", *a.Rest)
		}
		for _, band := range a.Bands {
			printJitter(tw, fmt.Sprintf("%s, %.0f to %.0f %% deflection", a.Moving, 100*band.From, 100*band.To), band.JitterRMS)
		}
		if a.Worst != nil {
			printJitter(tw, fmt.Sprintf("worst ten seconds, from %.0f s", a.Worst.From), a.Worst.JitterRMS)
		}
		if err := tw.Flush(); err != nil {
			return err
		}
	}
	return nil
}

func printJitter(w io.Writer, where string, j propose.JitterRMS) {
	fmt.Fprintf(w, "  %s\t%s\t%s\t%d\t\n", where, text.PercentValue(j.Before), text.PercentValue(j.After), j.Rows)
}
