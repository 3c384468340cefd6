package measure

import (
	"testing"

	"halfstick/input"
)

// An axis beside a guided one lacks nothing; without a guide it does.
func TestAxisBesideAGuidedOneLacksNothing(t *testing.T) {
	for _, guided := range []bool{true, false} {
		first := input.Axis{Label: "a", Kind: input.TwoSided}
		if guided {
			first = first.WithGuided()
		}
		h := input.Header{RateHz: 100, Source: "test", Devices: []input.Device{
			{ID: "d", Axes: []input.Axis{first, {Label: "b", Index: 1, Kind: input.TwoSided}}}}}
		c, err := input.NewCollector(h)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 100 {
			if err := c.Write(input.Row{AtUS: int64(i) * 10_000, Counts: []int16{int16(i), int16(i)}}); err != nil {
				t.Fatal(err)
			}
		}
		m, err := Recording(c.Recording(), "test")
		if err != nil {
			t.Fatal(err)
		}
		for i, wants := range []bool{true, !guided} {
			found := false
			for _, f := range m.Axes[i].Findings {
				found = found || f.Code == "too-little-data"
			}
			if found != wants {
				t.Errorf("guided %v, axis %d: too-little-data is %v", guided, i, found)
			}
		}
	}
}
