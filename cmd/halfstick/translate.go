package main

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"halfstick/curves"
	"halfstick/fit/translate"
)

func newTranslate() *cobra.Command {
	opts := translate.Options{}
	readings, axis := "", ""
	readingError, settings := "0.5%", ""
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "translate PROFILE --readings FILE.csv",
		Short: "find the whole-number setting of a program that takes no table",
		Long: `For a program that offers one unlabelled number and no table: finds out from a
few noted readings which one-parameter family of shapes the number stands for,
how sure that is and which further reading would settle it, and gives the whole
number that brings the program nearest to each response of the profile: the one
with the least largest difference in command, with that difference.

FILE.csv holds a line of column names and one line a reading,

  setting,position_percent,command_percent
  50,40,18

that is: with the program's number at 50 and the control at 40 % of its throw
(of the way from centre to stop), the program commands 18 % of full. Note them
with the program's own deadband and end margin off. Six at two settings or three
are usually enough; one tells little. The program is taken to be straight at
setting 0; where it is straight at another, say so with --straight-at.`,
		Example: `  halfstick translate demo/profile.json --readings readings.csv
  halfstick translate demo/profile.json --readings readings.csv --axis rudder --settings=-100:100 --json`,
		Args: needs(1, 1, "one profile"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if readings == "" {
				return usagef("name the file of noted readings with --readings")
			}
			var err error
			if opts.ReadingError, err = parseShare(readingError); err != nil {
				return err
			}
			if settings != "" {
				if opts.Settings, err = parseSettings(settings); err != nil {
					return err
				}
			}
			if err := opts.Check(); err != nil {
				return usageError{err}
			}
			t, err := translateFiles(args[0], readings, axis, opts)
			if err != nil {
				return err
			}
			return writeOut(cmd, outFile{}, func(w io.Writer) error {
				if asJSON {
					return writeJSON(w, t)
				}
				return printTranslation(w, t)
			})
		},
	}
	f := cmd.Flags()
	f.StringVar(&readings, "readings", "", "the noted readings, `FILE.csv`")
	f.StringVar(&axis, "axis", "", "only the axis with this `LABEL`")
	f.Float64Var(&opts.StraightAt, "straight-at", 0, "the `SETTING` at which the program is straight")
	f.StringVar(&settings, "settings", "", "the whole numbers that the program accepts, `LOW:HIGH`, where known")
	f.StringVar(&readingError, "reading-error", readingError, "largest error of a noted position or command; 0.5% where whole percents were noted")
	f.BoolVar(&asJSON, "json", false, "print the result as JSON")
	return cmd
}

func parseSettings(s string) (*translate.Range, error) {
	low, high, _ := strings.Cut(s, ":")
	from, lowErr := strconv.Atoi(low)
	to, highErr := strconv.Atoi(high)
	if lowErr != nil || highErr != nil {
		return nil, usagef("--settings is %q; write two whole numbers, such as 0:100", s)
	}
	return &translate.Range{Low: from, High: to}, nil
}

// translation is the result of the command, as --json prints it.
type translation struct {
	Format       string            `json:"format"`
	Readings     string            `json:"readings"`
	Count        int               `json:"count"`
	Settings     int               `json:"distinct_settings"`
	ReadingError float64           `json:"reading_error_percent"`
	StraightAt   float64           `json:"straight_at"`
	Verdict      string            `json:"verdict"` // sure, likely or open
	Families     []translateFamily `json:"families"`
	Further      *translateFurther `json:"further_reading"`
	Axes         []translateAxis   `json:"axes"`
}

type translateFamily struct {
	Name      string  `json:"name"`
	Formula   string  `json:"formula"` // y of v, with a = scale·(setting − straight_at)
	Weight    float64 `json:"weight"`
	Possible  bool    `json:"possible"` // not to be left out: weight 5 % or more
	RMS       float64 `json:"rms_percent"`
	ChiSquare float64 `json:"chi_square"`
	Scale     float64 `json:"scale"`
	ScaleLow  float64 `json:"scale_low"`
	ScaleHigh float64 `json:"scale_high"`
}

type translateFurther struct {
	Setting  int     `json:"setting"`
	Position float64 `json:"position_percent"`
	First    float64 `json:"first_family_percent"`
	Second   float64 `json:"second_family_percent"`
	Beyond   bool    `json:"beyond_readings"`
}

type translateAxis struct {
	Label        string              `json:"label"`
	Kind         curves.Kind         `json:"kind"`
	Deadband     curves.Sides        `json:"deadband"`
	EndMargin    curves.Sides        `json:"end_margin"`
	Setting      translateSetting    `json:"nearest"`
	Sides        []translateSetting  `json:"sides_apart,omitempty"` // where a side alone would have another setting
	Alternatives []translateIfFamily `json:"if_another_family,omitempty"`
}

type translateSetting struct {
	Side      translate.Side `json:"side"`
	Setting   int            `json:"setting"`
	Parameter float64        `json:"parameter"`
	Error     float64        `json:"largest_error_percent"`
	ErrorHigh float64        `json:"largest_error_high_percent"` // with the scale anywhere in its interval
	At        float64        `json:"at_position_percent"`
	Program   float64        `json:"program_command_percent"`  // there
	Proposal  float64        `json:"proposed_command_percent"` // there
	ErrorBare float64        `json:"largest_error_without_deadband_percent"`
	Beyond    bool           `json:"beyond_readings"`
}

type translateIfFamily struct {
	Name        string  `json:"name"`
	Weight      float64 `json:"weight"`
	Setting     int     `json:"setting"`
	Error       float64 `json:"largest_error_percent"`
	ErrorChosen float64 `json:"largest_error_of_nearest_percent"` // of the setting given under nearest
}

func translateFiles(profile, readings, axis string, opts translate.Options) (*translation, error) {
	p, err := openProfileAxis(profile, axis)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(readings)
	if err != nil {
		return nil, fmt.Errorf("cannot open the readings: %w; note them as translate --help shows", err)
	}
	defer f.Close()
	noted, err := translate.Read(f, readings)
	if err != nil {
		return nil, err
	}
	id, err := translate.Identify(noted, opts)
	if err != nil {
		return nil, err
	}
	t := identified(id)
	for i := range p.Axes {
		a, err := translatedAxis(id, &p.Axes[i])
		if err != nil {
			return nil, err
		}
		t.Axes = append(t.Axes, a)
	}
	return t, nil
}

func identified(id *translate.Identified) *translation {
	settings := map[float64]bool{}
	for _, row := range id.Readings.Rows {
		settings[row.Setting] = true
	}
	t := &translation{
		Format: "halfstick translation 1", Readings: id.Readings.File,
		Count: len(id.Readings.Rows), Settings: len(settings),
		ReadingError: 100 * id.Options.ReadingError, StraightAt: id.Options.StraightAt, Verdict: id.Verdict(),
	}
	possible := len(id.Possible())
	for i, c := range id.Candidates {
		t.Families = append(t.Families, translateFamily{
			Name: c.Name, Formula: c.Formula, Weight: c.Weight, Possible: i < possible, RMS: 100 * c.RMS, ChiSquare: c.ChiSquare,
			Scale: c.Scale, ScaleLow: c.ScaleLow, ScaleHigh: c.ScaleHigh,
		})
	}
	if more := id.Further; more != nil {
		t.Further = &translateFurther{
			Setting: more.Setting, Position: 100 * more.Position, First: 100 * more.First, Second: 100 * more.Second,
			Beyond: more.Beyond,
		}
	}
	return t
}

func translatedAxis(id *translate.Identified, axis *curves.ProfileAxis) (translateAxis, error) {
	r := &axis.Response
	a := translateAxis{Label: axis.Label, Kind: r.Kind, Deadband: r.Deadband, EndMargin: r.EndMargin}
	var err error
	if a.Setting, err = nearest(id, r, translate.Both); err != nil {
		return a, fmt.Errorf("axis %q: %w", axis.Label, err)
	}
	if r.Kind == curves.TwoSided {
		if a.Sides, err = sidesApart(id, r, a.Setting.Setting); err != nil {
			return a, fmt.Errorf("axis %q: %w", axis.Label, err)
		}
	}
	for _, c := range id.Possible()[1:] {
		// A family that has no setting for this axis is no alternative.
		if n, err := id.Nearest(&c, r, translate.Both); err == nil {
			a.Alternatives = append(a.Alternatives, translateIfFamily{
				Name: c.Name, Weight: c.Weight, Setting: n.Setting, Error: 100 * n.Error,
				ErrorChosen: 100 * id.ErrorIf(&c, a.Setting.Setting, r, translate.Both),
			})
		}
	}
	return a, nil
}

// sidesApart gives each side's own setting where one of them has another than
// the joint one.
func sidesApart(id *translate.Identified, r *curves.Response, joint int) ([]translateSetting, error) {
	var sides []translateSetting
	differ := false
	for _, side := range []translate.Side{translate.Low, translate.High} {
		s, err := nearest(id, r, side)
		if err != nil {
			return nil, err
		}
		sides = append(sides, s)
		differ = differ || s.Setting != joint
	}
	if !differ {
		return nil, nil
	}
	return sides, nil
}

func nearest(id *translate.Identified, r *curves.Response, side translate.Side) (translateSetting, error) {
	n, err := id.Nearest(id.Best(), r, side)
	if err != nil {
		return translateSetting{}, err
	}
	sign := 1.0
	if n.At < 0 {
		sign = -1
	}
	proposed := r.Command(n.At)
	return translateSetting{
		Side: side, Setting: n.Setting, Parameter: n.Parameter,
		Error: 100 * n.Error, ErrorHigh: 100 * n.ErrorHigh, At: 100 * n.At,
		Program: 100 * (proposed + sign*n.Off), Proposal: 100 * proposed,
		ErrorBare: 100 * n.ErrorBare, Beyond: n.Beyond,
	}, nil
}
