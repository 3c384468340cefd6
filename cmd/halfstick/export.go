package main

import (
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/sheet"
	"halfstick/curves"
)

// tableFormats writes tables in each format; name is the profile's.
var tableFormats = map[string]func(w io.Writer, name string, tables []curves.Table) error{
	"csv":  func(w io.Writer, _ string, tables []curves.Table) error { return curves.WriteTablesCSV(w, tables) },
	"json": func(w io.Writer, _ string, tables []curves.Table) error { return curves.WriteTablesJSON(w, tables) },
	"card": sheet.RenderCard,
}

func newExport() *cobra.Command {
	opts := curves.TableOptions{Points: 21, Places: 1, Spacing: "even"}
	format := "csv"
	var axis string
	var asJSON bool
	var file outFile
	cmd := &cobra.Command{
		Use:   "export PROFILE",
		Short: "turn a profile into a table of positions and commands",
		Long: `Turns each response of a profile into a table of breakpoints to enter in any
program, with the largest error that straight lines between them make.`,
		Example: `  halfstick export demo/profile.json
  halfstick export demo/profile.json --axis rudder --points 11 --places 0 --spacing best
  halfstick export demo/profile.json --format json -o table.json
  halfstick export demo/profile.json --axis rudder --format card -o card.html`,
		Args: needs(1, 1, "one profile"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if asJSON && cmd.Flags().Changed("format") && format != "json" {
				return usagef("--json and --format %s ask for two formats; leave one of them out", format)
			} else if asJSON {
				format = "json"
			}
			write, known := tableFormats[format]
			if !known {
				return usagef("--format is %q; use csv, json or card", format)
			}
			if err := opts.Check(); err != nil {
				return usageError{err}
			}
			p, err := openProfileAxis(args[0], axis)
			if err != nil {
				return err
			}
			tables, err := p.Tables(opts)
			if err != nil {
				return err
			}
			return writeOut(cmd, file, func(w io.Writer) error { return write(w, filepath.Base(args[0]), tables) })
		},
	}
	f := cmd.Flags()
	f.StringVar(&axis, "axis", "", "only the axis with this `LABEL`")
	f.IntVar(&opts.Points, "points", opts.Points, "breakpoints for each axis")
	f.IntVar(&opts.Places, "places", opts.Places, "decimals of the percentages; 0 gives whole percents")
	f.StringVar(&opts.Spacing, "spacing", opts.Spacing, "even, or best: placed where the error of straight lines is least")
	f.StringVar(&format, "format", format, "csv, json, or card: an HTML page to print and type from")
	f.BoolVar(&asJSON, "json", false, "the same as --format json")
	f.StringVarP(&file.path, "output", "o", "", "write to `FILE` instead of standard output")
	addForce(cmd, &file.force)
	return cmd
}
