package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
)

func newCompare() *cobra.Command {
	var file outFile
	noise := fmt.Sprintf("%g%%", 100*figures.UsualNoise)
	cmd := &cobra.Command{
		Use:   "compare CURVE… -o FILE.svg|.png",
		Short: "draw curves over one another: response, slope, command jitter",
		Long: `Draws curves over one another: the response, its slope, and the command jitter
that a given noise of the axis makes. A CURVE is a profile file (each of its
axes, or one with FILE#LABEL) or one of straight, power:EXPONENT, blend:SHARE.
A short table of the same curves goes to standard output.`,
		Example: `  halfstick compare straight power:1.5 blend:0.33 -o curves.svg
  halfstick compare straight demo/profile.json#rudder demo/profile.json#pitch -o axes.png`,
		Args: needs(1, -1, "one or more curves"),
		RunE: func(cmd *cobra.Command, args []string) error {
			sigma, err := parseShare(noise)
			if err != nil || sigma < 0 {
				return usagef("--noise is %q; write the noise of the axis as a share of half-throw, such as 0.2%%", noise)
			}
			if file.path == "" {
				return usagef("name the picture to write with -o")
			}
			format, err := figures.Format(file.path)
			if err != nil {
				return usageError{err}
			}
			if err := file.free(); err != nil {
				return err
			}
			var named []figures.NamedCurve
			for _, arg := range args {
				found, err := findCurves(arg)
				if err != nil {
					return err
				}
				named = append(named, found...)
			}
			if err := writeOut(cmd, outFile{}, func(w io.Writer) error { return curveTable(w, named) }); err != nil {
				return err
			}
			return file.write(func(w io.Writer) error { return figures.Curves(named, sigma).Write(w, format) })
		},
	}
	cmd.Flags().StringVarP(&file.path, "output", "o", "", "the picture, `FILE.svg` or FILE.png")
	cmd.Flags().StringVar(&noise, "noise", noise, "rest noise of the axis for the jitter panel, share of half-throw")
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

func curveTable(w io.Writer, named []figures.NamedCurve) error {
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(tw, "curve\tat 25 %\tat 50 %\tat 75 %\tslope at 5 %\tslope at 50 %\tlargest slope\t")
	for _, c := range named {
		r := c.Response
		fmt.Fprintf(tw, "%s\t%.1f %%\t%.1f %%\t%.1f %%\t%.2f\t%.2f\t%.2f\t\n", c.Name,
			100*r.Command(0.25), 100*r.Command(0.5), 100*r.Command(0.75),
			r.Slope(0.05), r.Slope(0.5), largestSlope(r))
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, "positions and commands in percent of half-throw and of full command; slope in command per position")
	return err
}

// largestSlope looks at every thousandth of the high side of the throw. A shape
// with an exponent below 1 is infinitely steep at the edge of the deadband.
func largestSlope(r *curves.Response) float64 {
	largest := 0.0
	for i := range 1001 {
		largest = max(largest, r.Slope(float64(i)/1000))
	}
	return largest
}
