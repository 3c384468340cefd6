package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
)

// printTranslation writes which family the program's number stands for, and
// the setting for each axis.
func printTranslation(w io.Writer, t *translation) error {
	fmt.Fprintf(w, "%s: %s at %s, good to %s\n", t.Readings,
		counted(t.Count, "reading"), counted(t.Settings, "setting"), text.PercentValue(t.ReadingError))
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	// The last cell has no tab behind it, so that the names stand to the left.
	fmt.Fprintln(tw, "how likely\toff (RMS)\ta per setting\t95 % interval\t  family of shapes")
	for _, f := range t.Families {
		scale, interval := "–", "–"
		if f.Possible {
			scale = text.Significant(f.Scale, 3)
			interval = text.Significant(f.ScaleLow, 3) + " to " + text.Significant(f.ScaleHigh, 3)
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t  %s\n", likelihood(f.Weight), text.PercentValue(f.RMS), scale, interval, f.Name)
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "%s\n", text.Wrap(verdict(t), lineWidth, "  "))
	fmt.Fprintf(w, "%s\n", text.Wrap(furtherReading(t), lineWidth, "  "))
	for i := range t.Axes {
		fmt.Fprintf(w, "\n%s: setting %d\n", t.Axes[i].Label, t.Axes[i].Setting.Setting)
		for _, says := range settingSays(&t.Axes[i]) {
			fmt.Fprintf(w, "  %s\n", text.Wrap(says, lineWidth, "    "))
		}
	}
	return nil
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// likelihood writes a weight, which is never quite 0 or 1.
func likelihood(w float64) string {
	switch {
	case w < 0.001:
		return "below 0.1 %"
	case w > 0.999:
		return "above 99.9 %"
	}
	return text.Percent(w)
}

func verdict(t *translation) string {
	first := t.Families[0]
	distance := "setting"
	if t.StraightAt != 0 {
		distance = fmt.Sprintf("(setting − %g)", t.StraightAt)
	}
	formula := first.Formula
	if strings.Contains(formula, ", or") {
		formula += ","
	}
	is := fmt.Sprintf("%s, y = %s with a = %s·%s", first.Name, formula, text.Significant(first.Scale, 3), distance)
	switch t.Verdict {
	case "sure":
		return "if it is one of these families, it is surely this one: " + is
	case "likely":
		return "likely: " + is
	}
	return "not settled; the likeliest is " + is + ". The settings below rest on it"
}

func furtherReading(t *translation) string {
	if t.Further == nil {
		return "no further reading within reach would tell the first two apart by more than the reading error; either will do there"
	}
	lead := "to settle it, note"
	if t.Verdict == "sure" {
		lead = "to check it, note"
	}
	f := t.Further
	say := fmt.Sprintf("%s the command at setting %d and position %.0f %%: %s would give %s, %s %s",
		lead, f.Setting, f.Position, t.Families[0].Name, text.PercentValue(f.First), t.Families[1].Name, text.PercentValue(f.Second))
	if f.Beyond {
		say += ". If the program does not go that far, say with --settings how far it goes"
	}
	return say
}

// settingSays says what an axis's setting leaves, line by line.
func settingSays(a *translateAxis) []string {
	s := a.Setting
	says := []string{leaves(s, a.Kind), fmt.Sprintf("with the program's deadband and end margin set to the profile's, %s; with them off, up to %s from the proposal",
		corners(a), text.PercentValue(s.ErrorBare))}
	if s.Beyond {
		says = append(says, "this setting lies beyond those that were read; note a reading at it before you trust it")
	}
	for _, side := range a.Sides {
		says = append(says, fmt.Sprintf("%s side alone: setting %d, at most %s", side.Side, side.Setting, text.PercentValue(side.Error)))
	}
	for _, other := range a.Alternatives {
		says = append(says, fmt.Sprintf("if it is %s: setting %d leaves %s; setting %d then leaves %s",
			other.Name, other.Setting, text.PercentValue(other.Error), s.Setting, text.PercentValue(other.ErrorChosen)))
	}
	return says
}

// leaves says how far the setting is from the proposal.
func leaves(s translateSetting, kind curves.Kind) string {
	if s.Error < sameAs {
		return "the same as the proposal"
	}
	throw := "half-throw"
	if kind == curves.OneSided {
		throw = "throw"
	}
	return fmt.Sprintf("at most %s of full command from the proposal, up to %s with the scale anywhere in its interval; most at %s of %s, where it commands %.1f %% instead of %.1f %%",
		text.PercentValue(s.Error), text.PercentValue(s.ErrorHigh), text.PercentValue(s.At), throw,
		s.Program, s.Proposal)
}

// sameAs is the percent of full command below which nobody can tell.
const sameAs = 1e-3

func corners(a *translateAxis) string {
	if a.Kind == curves.OneSided {
		return fmt.Sprintf("deadband %s, end margin %s", text.Percent(a.Deadband.Low), text.Percent(a.EndMargin.High))
	}
	return fmt.Sprintf("deadband %s low and %s high, end margin %s low and %s high",
		text.Percent(a.Deadband.Low), text.Percent(a.Deadband.High), text.Percent(a.EndMargin.Low), text.Percent(a.EndMargin.High))
}
