package main

import (
	"math"
	"testing"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
)

// Each side of an axis is by itself where they differ. Of a blend of 0.5 behind a
// deadband of a fifth, half-throw is v = (0.5 − 0.2)/0.8 = 0.375 and commands
// 0.5·0.375 + 0.5·0.375³ = 21.387 %, at a slope of (0.5 + 1.5·0.375²)/0.8 = 0.88867;
// the largest is (0.5 + 1.5)/0.8 = 2.5, at the stop.
func TestComparedInNumbers(t *testing.T) {
	shape, err := curves.ParseCurve("blend:0.5")
	if err != nil {
		t.Fatal(err)
	}
	named := figures.OfShape("even", curves.TwoSided, shape)
	r := *named.Response
	r.Deadband.Low = 0.2
	list := compared([]figures.NamedCurve{named, {Name: "uneven", Response: &r}})
	if len(list) != 3 || list[0].Side != "both" || list[1].Side != "low" || list[2].Side != "high" {
		t.Fatalf("%+v", list)
	}
	low := list[1]
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"command", low.Commands[1].Value, 21.38671875},
		{"slope", low.Slopes[1].Value, 0.888671875},
		{"slope in the deadband", low.Slopes[0].Value, 0},
		{"largest", *low.Largest, 2.5},
		{"the other side's", *list[2].Largest, 2},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s %g, want %g", c.what, c.got, c.want)
		}
	}
}
