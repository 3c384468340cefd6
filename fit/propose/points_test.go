package propose

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"halfstick/curves"
)

// Points reach 97 % of the possible gain whatever is flown and whichever limit
// binds, and a smooth demand takes few of them.
func TestPointsReachTheirShareWithRisingSlopes(t *testing.T) {
	hump := func(y, at, width float64) float64 { return math.Exp(-(y - at) * (y - at) / (2 * width * width)) }
	for _, c := range []struct {
		flown   string
		density func(y float64) float64
		most    float64 // points, under the usual limits
	}{
		{"default", func(y float64) float64 { return hump(y, 0, 0.5/1.96) }, 5},
		{"wide", func(y float64) float64 { return hump(y, 0, 0.51) }, 4},
		{"sharp", func(y float64) float64 { return hump(y, 0, 0.1) }, 7},
		{"very sharp", func(y float64) float64 { return hump(y, 0, 0.015) }, 6},
		{"with a corner at the centre", func(y float64) float64 { return math.Exp(-y / 0.05) }, 6},
		{"with far tails", func(y float64) float64 { return 1 / (1 + 400*y*y) }, 4},
		{"two humps that meet", func(y float64) float64 { return hump(y, 0, 0.1) + 0.8*hump(y, 0.4, 0.05) }, 24},
		{"two humps apart", func(y float64) float64 { return hump(y, 0, 0.05) + 0.3*hump(y, 0.6, 0.05) }, 33},
		{"one-sided, a hump", func(y float64) float64 { return 0.05 + hump(y, 0.3, 0.04) }, 14},
		{"one-sided, two humps", func(y float64) float64 { return 0.02 + hump(y, 0.1, 0.04) + 0.4*hump(y, 0.7, 0.02) }, 24},
		{"one step", func(y float64) float64 { return map[bool]float64{true: 1, false: 0.02}[y < 0.3] }, 33},
		{"two steps", func(y float64) float64 { return 1 / (1 + 4*math.Floor(3.3*y)) }, 33},
		{"five steps", func(y float64) float64 { return math.Pow(0.25, math.Floor(5*y)) }, 33},
	} {
		d := NewDemand(c.density)
		for _, lim := range []limits{usual(), {1.4, 0.2}, {3, 0.6}, {3, 0.9}} {
			if strings.HasSuffix(c.flown, "steps") && lim.smallest > 0.8 {
				continue // 49 points stop at 96 % there; no flight has a density so hard
			}
			fit := newFitter(&d, newReach(lim)).points()
			if !(fit.Gain >= enoughGain && fit.Gain < 1) {
				t.Errorf("%s, %v: gain %.4f with %g points", c.flown, lim, fit.Gain, fit.Parameter)
			}
			if lim == usual() && fit.Parameter > c.most {
				t.Errorf("%s: %g points, %g are enough", c.flown, fit.Parameter, c.most)
			}
			if nodes := fit.Shape.(*curves.Points).Nodes(); float64(len(nodes)) != fit.Parameter {
				t.Errorf("%s: %d points, %g said", c.flown, len(nodes), fit.Parameter)
			}
			checkSlopes(t, fit.Shape, lim)
		}
	}
}

// checkSlopes looks for slopes outside the limits and for falling ones.
func checkSlopes(t *testing.T, s curves.Shape, lim limits) {
	t.Helper()
	highest := 0.0
	for i := range 10001 {
		slope := s.Slope(float64(i) / 10000)
		if slope < highest-1.1*slopeFalls || slope > lim.largest+1e-6 || slope < lim.smallest-1e-6 {
			t.Fatalf("slope %g after %g at %g, limits %v", slope, highest, float64(i)/10000, lim)
		}
		highest = math.Max(highest, slope)
	}
}

func TestKeepsLimits(t *testing.T) {
	d := DefaultDemand(0.5)
	f := newFitter(&d, newReach(usual()))
	for _, c := range []struct {
		what  string
		nodes [][2]float64
		keeps bool
	}{
		{"rising slopes", [][2]float64{{0, 0}, {0.5, 0.35}, {1, 1}}, true},
		{"a slope that falls", [][2]float64{{0, 0}, {0.5, 0.6}, {1, 1}}, false},
		{"a slope above 3", [][2]float64{{0, 0}, {0.8, 0.25}, {1, 1}}, false},
		{"a slope below 0.2 at centre", [][2]float64{{0, 0}, {0.4, 0.06}, {1, 1}}, false},
	} {
		if got := f.keepsLimits(mustPoints(c.nodes)); got != c.keeps {
			t.Errorf("%s: got %v", c.what, got)
		}
	}
}

// Each bend keeps its rise, also next to an end, half of it within the width.
func TestSoftenedBends(t *testing.T) {
	bends := make([]float64, bendCells)
	bends[125] = 2
	soft := softened(bends, 0.04)
	near(t, "sum", floats.Sum(soft), 2, 1e-12)
	near(t, "within the width", floats.Sum(soft[115:136])/2, 0.5, 0.1)
	near(t, "at twice the width against the middle", soft[145]/soft[125], 1.0/9, 0.03) // and what comes back from the ends
	bends[125], bends[3] = 0, 2
	soft = softened(bends, 0.04)
	near(t, "sum at an end", floats.Sum(soft), 2, 1e-12)
	// In cells of a tenth of the width; the end's mirror image is 3 + 4 cells off, 10 on the other side.
	k := func(cells float64) float64 { return math.Pow(1+cells/10, -2) }
	near(t, "mirrored", soft[0]/soft[6], (k(3)+k(4))/(k(3)+k(10)), 0.01)
}

// The bound's bends are all of its rise of ln(slope), each where it is.
func TestBendsOfTheBound(t *testing.T) {
	d := NewDemand(func(y float64) float64 { return map[bool]float64{true: 1, false: 0.125}[y < 0.4] })
	f := newFitter(&d, newReach(limits{8, 0}))
	bends := f.bends()
	near(t, "sum", floats.Sum(bends), math.Log(2), 1e-9)
	// Slopes 1 : 2 over commands 0.4 and 0.6 share the throw by 0.8 to 0.6.
	at := floats.MaxIdx(bends)
	near(t, "place", float64(at)/bendCells, 0.8/1.4, 2.0/bendCells)
}
