package text

import (
	"strings"
	"testing"

	"halfstick/fit/measure"
)

func names(a *measure.Axis) string {
	var out []string
	last := Part("")
	for _, r := range Quantities(a) {
		if r.Part != last {
			out = append(out, "["+string(r.Part)+"]")
			last = r.Part
		}
		if r.Name == "" || r.Gloss == "" {
			out = append(out, "(nameless)")
		}
		out = append(out, r.Name)
	}
	return strings.Join(out, " ")
}

func TestQuantitiesKeepTheirPartsTogether(t *testing.T) {
	a := &measure.Axis{Kind: "two-sided", Coupling: []measure.Coupling{{With: "roll"}}}
	a.Rest.Periodic = make([]measure.Periodic, 1)
	got := names(a)
	for _, part := range []Part{Travel, Resolution, Rest, Return, Sweep, Timing, Coupling} {
		if strings.Count(got, "["+string(part)+"]") != 1 {
			t.Errorf("part %s is not in one piece: %s", part, got)
		}
	}
	for _, name := range []string{"centre", "return gap", "time, from high", "hum, amplitude", "in roll"} {
		if !strings.Contains(got, name) {
			t.Errorf("no %s in %s", name, got)
		}
	}
	if strings.Contains(got, "nameless") || strings.Contains(got, "worn") {
		t.Errorf("a nameless quantity, or a worn band where there is none: %s", got)
	}
}

func TestOneSidedAxesHaveNoCentre(t *testing.T) {
	a := &measure.Axis{Kind: "one-sided"}
	a.Sweep.WornRatio = &measure.Quantity{Value: 3}
	got := names(a)
	if strings.Contains(got, "centre") || strings.Contains(got, "return") || !strings.Contains(got, "worn from") {
		t.Errorf("one-sided: %s", got)
	}
}
