package main

import (
	"strings"
	"testing"
	"unicode/utf8"

	"halfstick/input/guide"
)

// No line is longer than the terminal is wide, whatever is shown.
func TestGuideScreenFitsItsWidth(t *testing.T) {
	position, zone := 0.7, [2]float64{0.85, 1}
	state := guide.State{
		Step: 3, Steps: 12, Kind: guide.Name, Axis: strings.Repeat("long-", 12) + "axis",
		Do:   "Move the control for " + strings.Repeat("long-", 12) + "axis to both of its stops, then let it go.",
		Hint: "without such a control, wait", Position: &position, Zone: &zone, Progress: 0.5,
		SecondsLeft: 7.2, Labels: guide.Offered, Recording: true,
	}
	for width := 1; width <= 120; width++ {
		for _, line := range screenLines(state, width, &guideKeys{on: true}) {
			line = strings.NewReplacer("\x1b[1m", "", "\x1b[0m", "").Replace(line)
			if n := utf8.RuneCountInString(line); n > width {
				t.Errorf("width %d: a line of %d: %q", width, n, line)
			}
			if strings.ContainsAny(line, "\r\n") {
				t.Errorf("width %d: a line that is more than one: %q", width, line)
			}
		}
	}
}

// The mark stands where the control is, and the zone where it should be.
func TestPositionBar(t *testing.T) {
	bar := func(at float64, zone *[2]float64) string {
		return positionBar(guide.State{Position: &at, Zone: zone}, 12)
	}
	for _, c := range []struct {
		at   float64
		zone *[2]float64
		want string
	}{
		{0, nil, "|o---------|"}, {1, nil, "|---------o|"}, {0.5, nil, "|-----o----|"},
		{0, &[2]float64{0.5, 1}, "|o----=====|"}, {1, &[2]float64{0, 0.3}, "|====-----o|"},
	} {
		if got := bar(c.at, c.zone); got != c.want {
			t.Errorf("at %g of zone %v: %s, want %s", c.at, c.zone, got, c.want)
		}
	}
}
