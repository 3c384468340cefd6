package sheet

import (
	"strings"
	"testing"

	"halfstick/fit/measure"
)

func TestSinceLastTime(t *testing.T) {
	d := full()
	if strings.Contains(render(t, d), "Since last time") {
		t.Error("a sheet without an older recording speaks of one")
	}
	q := func(v float64) *measure.Quantity {
		low, high := v-1, v+1
		return &measure.Quantity{Value: v, Low: &low, High: &high, Unit: "counts", N: 5}
	}
	d.Change = &measure.Change{
		Old: "may.csv", Method: "by a test", FalseCries: 0.05, Tested: 17, Changed: 1,
		Axes: []measure.AxisChange{{Label: "rudder", Quantities: []measure.QuantityChange{
			{Name: "rest noise σ", Old: q(20), New: q(33), Difference: q(13), Changed: true},
			{Name: "unmoved thing", Old: q(5), New: q(5), Difference: q(0)},
		}}},
	}
	page := render(t, d)
	outline(t, page)
	for _, says := range []string{"Since last time", "Against may.csv: of 17 quantities tested, 1 changed", "33\u00a0counts", "12 to 14", "by a test"} {
		if !strings.Contains(page, says) {
			t.Errorf("the sheet does not say %q", says)
		}
	}
	if strings.Contains(page, "unmoved thing") {
		t.Error("the sheet lists what did not change")
	}
}
