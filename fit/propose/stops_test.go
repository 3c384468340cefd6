package propose

import (
	"strings"
	"testing"

	"halfstick/fit/measure"
	"halfstick/input"
)

// A calibration that stands on a stop reached once, or on one that is hardly
// known, says so; on good stops it says nothing.
func TestProposalTellsOfLooseStops(t *testing.T) {
	for _, c := range []struct {
		name string
		high *measure.Quantity
		want string
	}{
		{"good", quantity(30100, 600, 3), ""},
		{"loose", quantity(30100, 660, 2), "high stop: known only to ±2.20 %"},
		{"once", &measure.Quantity{Value: 30100, Unit: "counts", N: 1}, "high stop: reached once only"},
	} {
		a := measuredAxis("roll")
		a.Travel.High = c.high
		r := newRecorded(125, input.TwoSided, "roll")
		r.add("", 1, func(float64) float64 { return 100 })
		p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(a)}, Defaults())
		if err != nil {
			t.Fatal(err)
		}
		said := ""
		for _, s := range p.Axes[0].Reasons {
			if strings.Contains(s, " stop: ") && !strings.HasPrefix(s, "deadband") {
				said += s
			}
		}
		if !strings.HasPrefix(said, c.want) || (c.want == "") != (said == "") {
			t.Errorf("%s: %q, want %q", c.name, said, c.want)
		}
	}
}
