package main

import (
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/fit/propose"
)

func newPropose() *cobra.Command {
	opts := propose.Defaults()
	normal := "50%"
	var asJSON bool
	var flownWith string
	var profile, page, frontier outFile
	var drawn frontierFlags
	cmd := &cobra.Command{
		Use:   "propose RECORDING… -o PROFILE",
		Short: "propose a response for every axis, with reasons",
		Long: `Proposes a deadband and a shape for every axis from its measurements and from
how it was flown, and says what they do and cost. The profile goes to the file
named with -o, the reasons to standard output.

Stretches of flight in which a large command is held still, such as the take-off
roll, are listed with their times and left out of the demand; --keep-holds keeps
them. Their times count from the first recording's start, the others after it.

--frontier shows what a little more or less would do. Its marks have the deadband
and end margins of the axis that is drawn.`,
		Example: `  halfstick propose demo/rig.csv -o proposal.json
  halfstick propose demo/rig.csv -o points.json --shape points --max-slope 2.5
  halfstick propose demo/rig.csv -o calm.json --normal 40% --false-motions 0.02 --json
  halfstick propose demo/rig.csv -o both.json --sides apart --frontier frontier.svg --axis rudder --mark power:1.4`,
		Args: needs(1, -1, "one or more recordings"),
		RunE: func(cmd *cobra.Command, args []string) error {
			var err error
			if opts.Normal, err = parseShare(normal); err != nil {
				return usagef("--normal: %w", err)
			}
			if err := opts.Check(); err != nil {
				return usageError{err}
			}
			if profile.path == "" {
				return usagef("name the profile file to write with -o")
			}
			if err := drawn.check(frontier.path); err != nil {
				return err
			}
			page.force, frontier.force = profile.force, profile.force
			if err := allFree(profile, page, frontier); err != nil {
				return err
			}
			if flownWith != "" {
				if opts.FlownWith, err = openProfile(flownWith); err != nil {
					return err
				}
			}
			m, err := loadMeasured(args, cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			p, err := m.propose(opts)
			if err != nil {
				return err
			}
			var picture *figures.Figure
			if frontier.path != "" {
				if picture, err = drawn.draw(p, opts); err != nil {
					return err
				}
			}
			if err := writeOut(cmd, outFile{}, func(w io.Writer) error {
				if asJSON {
					return writeJSON(w, p)
				}
				return printProposal(w, p)
			}); err != nil {
				return err
			}
			if err := profile.write(p.Profile().Write); err != nil {
				return err
			}
			if picture != nil {
				if err := frontier.write(func(w io.Writer) error { return picture.Write(w, drawn.format) }); err != nil {
					return err
				}
			}
			if page.path == "" {
				return nil
			}
			return writeSheet(page, m, p, opts.Normal)
		},
	}
	f := cmd.Flags()
	f.StringVarP(&profile.path, "output", "o", "", "write the profile to `FILE`")
	f.StringVar(&page.path, "sheet", "", "also write the sheet, an HTML page to read and print, to `FILE`")
	f.StringVar(&normal, "normal", normal, "normal deflection: the share of half-throw within which nearly all of normal flight is flown")
	f.StringVar(&opts.Shape, "shape", opts.Shape, "power, blend or points; empty takes the better of power and blend")
	f.StringVar(&opts.Sides, "sides", propose.SidesTogether, "together or apart: one shape for both sides of a two-sided axis, or one each by its own demand")
	f.Float64Var(&opts.MaxSlope, "max-slope", opts.MaxSlope, "largest slope allowed, commands per position")
	f.Float64Var(&opts.FalseMotions, "false-motions", opts.FalseMotions, "how often per minute the noise alone may leave the deadband")
	f.BoolVar(&opts.KeepHolds, "keep-holds", false, "count long holds at large deflection, such as the take-off roll, in the demand")
	f.StringVar(&flownWith, "flown-with", "", "the `PROFILE` that was active during the recorded flight")
	f.StringVar(&frontier.path, "frontier", "", "draw command jitter against largest slope, for each family of shapes, into `FILE.svg` or FILE.png")
	f.StringVar(&drawn.axis, "axis", "", "the `LABEL` of the axis that --frontier draws; empty takes the first two-sided one")
	f.StringArrayVar(&drawn.marks, "mark", nil, "mark a `CURVE` on --frontier too, as compare names them; repeat it for more")
	f.BoolVar(&asJSON, "json", false, "print the proposal as JSON")
	addForce(cmd, &profile.force)
	return cmd
}

// parseShare reads a share such as 50%, 0.5 or 50 %.
func parseShare(s string) (float64, error) {
	number, isPercent := strings.CutSuffix(strings.TrimSpace(s), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil {
		return 0, usagef("%q is not a share; write it as 50%% or 0.5", s)
	}
	if isPercent {
		v /= 100
	}
	return v, nil
}
