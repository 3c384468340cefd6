package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
)

func newCompare() *cobra.Command {
	var file outFile
	var asJSON bool
	noise := fmt.Sprintf("%g%%", 100*figures.UsualNoise)
	cmd := &cobra.Command{
		Use:   "compare CURVE… -o FILE.svg|.png | --json",
		Short: "draw curves over one another: response, slope, command jitter",
		Long: `Draws curves over one another: the response, its slope, and the command jitter
that a given noise of the axis makes. A CURVE is a profile file (each of its
axes, or one with FILE#LABEL) or one of straight, power:EXPONENT, blend:SHARE.
A short table of the same curves goes to standard output, as JSON with --json,
which needs no picture.`,
		Example: `  halfstick compare straight power:1.5 blend:0.33 -o curves.svg
  halfstick compare straight demo/profile.json#rudder demo/profile.json#pitch -o axes.png
  halfstick compare straight demo/profile.json --json`,
		Args: needs(1, -1, "one or more curves"),
		RunE: func(cmd *cobra.Command, args []string) error {
			sigma, err := parseShare(noise)
			if err != nil || sigma < 0 {
				return usagef("--noise is %q; write the noise of the axis as a share of half-throw, such as 0.2%%", noise)
			}
			var format string
			switch {
			case file.path != "":
				if format, err = figures.Format(file.path); err != nil {
					return usageError{err}
				}
				if err := file.free(); err != nil {
					return err
				}
			case !asJSON:
				return usagef("name the picture to write with -o, or ask for the table alone with --json")
			}
			var named []figures.NamedCurve
			for _, arg := range args {
				found, err := findCurves(arg)
				if err != nil {
					return err
				}
				named = append(named, found...)
			}
			if err := writeOut(cmd, outFile{}, func(w io.Writer) error {
				if asJSON {
					return writeJSON(w, comparison{Format: "halfstick comparison 1", Curves: compared(named)})
				}
				return curveTable(w, compared(named))
			}); err != nil || file.path == "" {
				return err
			}
			return file.write(func(w io.Writer) error { return figures.Curves(named, sigma).Write(w, format) })
		},
	}
	cmd.Flags().StringVarP(&file.path, "output", "o", "", "the picture, `FILE.svg` or FILE.png")
	cmd.Flags().StringVar(&noise, "noise", noise, "rest noise of the axis for the jitter panel, share of half-throw")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the table as JSON")
	addForce(cmd, &file.force)
	return cmd
}

// findCurves turns one argument into the curves that it names.
func findCurves(arg string) ([]figures.NamedCurve, error) {
	if shape, err := curves.ParseCurve(arg); err == nil {
		return []figures.NamedCurve{figures.OfShape(arg, curves.TwoSided, shape)}, nil
	} else if isInline(arg) {
		return nil, usageError{err}
	}
	path, label, one := strings.Cut(arg, "#")
	p, err := openProfile(path)
	if err != nil {
		return nil, err
	}
	axes := p.Axes
	if one {
		axis, err := p.Axis(label)
		if err != nil {
			return nil, err
		}
		axes = []curves.ProfileAxis{*axis}
	}
	var found []figures.NamedCurve
	for _, axis := range axes {
		found = append(found, figures.NamedCurve{Name: axis.Label, Response: &axis.Response})
	}
	return found, nil
}

// isInline tells a mistyped inline curve from a file name.
func isInline(arg string) bool {
	for _, kind := range []string{"straight", "power:", "blend:"} {
		if strings.HasPrefix(arg, kind) {
			return true
		}
	}
	return false
}
