package measure

import (
	"math"
	"slices"
	"testing"

	"halfstick/input"
)

// Beyond 4 robust deviations from the median values are left out, and x stays as it
// is: where most are 0 and the others −1 or 1, MAD is 0 and the central 90 % range
// over 3.29 is 0.61, so that 2 counts and −3 does not. Where nearly all are equal,
// nothing is left out.
func TestTrimmed(t *testing.T) {
	var x []float64
	for range 30 {
		x = append(x, 1, -1, 0, 0, 0)
	}
	for _, c := range []struct {
		more, sd float64
		kept     int
	}{
		{2, math.Sqrt((60 + 4 - 4.0/151) / 150), 151},
		{-3, math.Sqrt(60.0 / 149), 150},
	} {
		all := append(slices.Clone(x), c.more)
		before := slices.Clone(all)
		if sd, n := trimmed(all); math.Abs(sd-c.sd) > 1e-12 || n != c.kept {
			t.Errorf("with %v: %v of %d values, want %v of %d", c.more, sd, n, c.sd, c.kept)
		}
		if !slices.Equal(all, before) {
			t.Errorf("with %v: the values were changed", c.more)
		}
	}
	if sd, n := trimmed([]float64{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 22}); n != 22 || math.Abs(sd-22/math.Sqrt(22)) > 1e-12 {
		t.Errorf("%v of %d equal values and one other", sd, n)
	}
}

// The plot of the rest begins at 0 and is the longest rest, as recorded.
func TestRestPlotIsTheLongestRest(t *testing.T) {
	rec := rows(300, 100,
		input.Stretch{Phase: input.Phase{Kind: input.Rest}, To: 100},
		input.Stretch{Phase: input.Phase{Kind: input.Rest}, From: 100, To: 300})
	a := newAnalysis(newSeries(newTrack(rec), 0), &Axis{})
	rests := a.series.of(input.Rest)
	a.restPlot(rests)
	p := a.out.Plots
	if !slices.Equal(p.RestCounts, rests[1].x) || len(p.RestSeconds) != 200 || p.RestSeconds[0] != 0 || math.Abs(p.RestSeconds[199]-1.99) > 1e-9 {
		t.Errorf("%d counts, %v", len(p.RestCounts), p.RestSeconds)
	}
}
