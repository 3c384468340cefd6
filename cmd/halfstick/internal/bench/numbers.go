package bench

import (
	"fmt"
	"math"
	"reflect"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/propose"
)

// numberRow is one number of what the straight response and every candidate do,
// in words.
type numberRow struct {
	Name   string   `json:"name"`
	Gloss  string   `json:"gloss"`
	Values []string `json:"values"` // straight first, then the candidates
}

// knownEffect is an effect that need not be worked out again.
type knownEffect struct {
	of     curves.Response
	effect *propose.Effect
}

// mostKnown effects are remembered: those of the candidates, and of some steps
// back.
const mostKnown = 12

func sameResponse(a, b curves.Response) bool { return reflect.DeepEqual(a, b) }

// numbersOf sets responses side by side.
func numbersOf(responses []curves.Response, effects []*propose.Effect) []numberRow {
	var rows []numberRow
	add := func(name, gloss string, value func(r *curves.Response, e *propose.Effect) string) {
		row := numberRow{Name: name, Gloss: gloss}
		for i := range effects {
			row.Values = append(row.Values, value(&responses[i], effects[i]))
		}
		rows = append(rows, row)
	}
	add("resolution share", "the share of the throw that serves the commands of normal flight; more is finer",
		func(_ *curves.Response, e *propose.Effect) string { return text.Percent(e.ResolutionAfter) })
	if effects[0].Jitter != nil {
		for i, j := range effects[0].Jitter {
			add("command jitter "+j.Where, "what the measured noise makes of the command, RMS, of full command",
				func(_ *curves.Response, e *propose.Effect) string { return text.PercentValue(e.Jitter[i].After) })
		}
		add("false motions expected", "how often a minute the noise alone leaves the deadband, resting as far off as it was seen to",
			func(_ *curves.Response, e *propose.Effect) string { return perMinute(*e.FalseMotionsPerMinute) })
	}
	if effects[0].RestMinutes > 0 {
		add(fmt.Sprintf("false motions in the %s s recorded", text.Number(60*effects[0].RestMinutes, 0)), "how often the command left zero while nobody touched the control; – without a deadband, where it is hardly ever at zero",
			func(r *curves.Response, e *propose.Effect) string {
				if r.Deadband.Low == 0 && r.Deadband.High == 0 {
					return "–"
				}
				return text.Number(float64(e.FalseMotions), 0)
			})
	}
	add("share of the possible gain", "how much of the jitter that any curve could save this one saves",
		func(_ *curves.Response, e *propose.Effect) string { return wholePercent(e.Gain) })
	add("command at half throw", "low side, high side", func(r *curves.Response, _ *propose.Effect) string {
		if r.Kind == curves.OneSided {
			return text.Percent(r.Command(0.5))
		}
		return sides(r.Command(-0.5), r.Command(0.5))
	})
	add("full command from", "where the end margin begins: low side, high side, of the throw", func(r *curves.Response, _ *propose.Effect) string {
		if r.Kind == curves.OneSided {
			return text.Percent(1 - r.EndMargin.High)
		}
		return sides(-(1 - r.EndMargin.Low), 1-r.EndMargin.High)
	})
	add("slope at the centre", "how fast the command follows the hand there: 1 is straight",
		func(_ *curves.Response, e *propose.Effect) string { return text.Number(e.CentreSlope, 2) })
	add("largest slope", "how fast the command follows the hand where it is fastest",
		func(_ *curves.Response, e *propose.Effect) string { return text.Number(e.MaxSlope, 2) })
	return rows
}

// sides writes the numbers of both sides, or one where they read alike.
func sides(low, high float64) string {
	l, h := text.Percent(math.Abs(low)), text.Percent(high)
	if l == h {
		return h
	}
	return l + ", " + h
}

// wholePercent writes a share that may be below 0.
func wholePercent(share float64) string { return text.Number(100*share, 0) + " %" }

// perMinute writes a rate as a person feels it.
func perMinute(rate float64) string {
	switch {
	case rate < 1e-4:
		return "none"
	case rate < 0.1:
		return "one in " + text.Significant(1/rate, 2) + " min"
	}
	return text.Significant(rate, 2) + " a minute"
}
