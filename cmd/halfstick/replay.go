package main

import (
	"bufio"
	"fmt"
	"io"
	"strconv"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/fit/propose"
	"halfstick/input"
)

func newReplay() *cobra.Command {
	var profile, axis, smooth string
	crossover := fmt.Sprintf("%grad/s", propose.DefaultCrossover)
	var asJSON bool
	var series, plot outFile
	cmd := &cobra.Command{
		Use:   "replay RECORDING --profile PROFILE",
		Short: "what the recording would have commanded, before and after",
		Long: `Replays a recording through a profile, against the straight line with the same
calibration: the command jitter by deflection, false motions at rest, and the
largest difference at the same hand position, which is what you must get used to.

--smooth replays with the position smoothed before the response as well, and says
what that costs: the lag, and the phase at --crossover, which is how quickly a
person corrects by hand. Two filters are known:

  first-order:30ms   one time constant, here 30 ms
  one-euro:1Hz,20    the 1 € filter (Casiez and others, 2012): a cutoff of 1 Hz at
                     rest that rises by 20 Hz for each half-throw a second (throw a
                     second, for a one-sided axis) of speed, as the filter sees it

Both run once a sample of the recording. The 1 € filter sees speed as larger the
more often it runs, so that its numbers hold at the recording's rate.`,
		Example: `  halfstick replay demo/rig.csv --profile demo/profile.json
  halfstick replay demo/rig.csv --profile demo/profile.json --axis rudder --plot rudder.svg -o rudder.csv
  halfstick replay demo/rig.csv --profile demo/profile.json --axis rudder --smooth first-order:30ms
  halfstick replay demo/rig.csv --profile demo/profile.json --axis rudder --smooth one-euro:1Hz,20 --crossover 2rad/s --json`,
		Args: needs(1, 1, "one recording"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if profile == "" {
				return usagef("name the profile to replay through with --profile")
			}
			smoothing, err := parseSmoothing(smooth, crossover, cmd.Flags().Changed("crossover"))
			if err != nil {
				return err
			}
			plot.force = series.force
			format := ""
			if plot.path != "" {
				if format, err = figures.Format(plot.path); err != nil {
					return usageError{err}
				}
			}
			if err := allFree(series, plot); err != nil {
				return err
			}
			replayed, err := replayFiles(args[0], profile, axis, smoothing, cmd.ErrOrStderr())
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
	f.StringVar(&smooth, "smooth", "", "smooth the position too, by `FILTER`: first-order:TIME or one-euro:CUTOFF,RISE")
	f.StringVar(&crossover, "crossover", crossover, "where the phase that smoothing costs is stated")
	f.StringVarP(&series.path, "output", "o", "", "write the flight's commands before and after (and smoothed), row by row, to `FILE.csv`")
	f.StringVar(&plot.path, "plot", "", "draw the ten seconds with the largest jitter into `FILE.svg` or FILE.png")
	f.BoolVar(&asJSON, "json", false, "print the result as JSON")
	addForce(cmd, &series.force)
	return cmd
}

func replayFiles(recording, profile, axis string, smoothing propose.Smoothing, errs io.Writer) (*propose.Replayed, error) {
	p, err := openProfileAxis(profile, axis)
	if err != nil {
		return nil, err
	}
	rec, err := openRecording(recording, errs)
	if err != nil {
		return nil, err
	}
	return propose.Replay(rec, p, smoothing)
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
		JitterAfter:  worst.Worst.NoiseAfter, JitterSmoothed: worst.Worst.NoiseSmoothed,
	}
	for i, at := range worst.Seconds {
		if at >= worst.Worst.From && at <= worst.Worst.To {
			part.Seconds = append(part.Seconds, at)
			part.Before = append(part.Before, worst.Before[i])
			part.After = append(part.After, worst.After[i])
			if worst.Smoothed != nil {
				part.Smoothed = append(part.Smoothed, worst.Smoothed[i])
			}
		}
	}
	return part
}

// writeReplayCSV writes the commands of the flight, or, where none was
// recorded, of everything.
func writeReplayCSV(w io.Writer, r *propose.Replayed) error {
	b := bufio.NewWriter(w)
	smooth := len(r.Axes) > 0 && r.Axes[0].Smoothed != nil
	b.WriteString("axis,t_s,before_percent,after_percent")
	if smooth {
		b.WriteString(",smoothed_percent")
	}
	b.WriteByte('\n')
	number := func(v float64, places int) {
		b.WriteByte(',')
		b.Write(strconv.AppendFloat(b.AvailableBuffer(), v, 'f', places, 64))
	}
	for i := range r.Axes {
		a := &r.Axes[i]
		for k, at := range a.Seconds {
			if a.Moving == string(input.Flight) && a.Phases[k] != input.Flight {
				continue
			}
			b.WriteString(a.Label)
			number(at, 4)
			number(100*a.Before[k], 3)
			number(100*a.After[k], 3)
			if smooth {
				number(100*a.Smoothed[k], 3)
			}
			b.WriteByte('\n')
		}
	}
	return b.Flush()
}
