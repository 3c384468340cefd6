package figures

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"halfstick/cmd/halfstick/internal/figures/fixture"
	"halfstick/curves"
)

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		ticks     ticks
		low, high float64
		want      string
	}{
		{ticks{about: 8, quarters: true}, -100, 100, "−100 −75 −50 −25 0 25 50 75 100"},
		{ticks{about: 4, quarters: true}, 0, 10, "0.0 2.5 5.0 7.5 10.0"},
		{ticks{about: 5}, -0.35, 0.35, "−0.2 0.0 0.2"},
		{ticks{about: 5}, 0, 1.1, "0.0 0.5 1.0"},
		{ticks{about: 3}, 0, 48, "0 20 40"},
		{ticks{about: 5}, -31830, -31790, "−31830 −31820 −31810 −31800 −31790"},
		{ticks{about: 5}, 0.001, 0.0042, "0.001 0.002 0.003 0.004"},
		{ticks{about: 5}, 3, 3, ""},
		{ticks{about: 5}, math.Inf(-1), 3, ""},
	} {
		var labels []string
		for _, tick := range c.ticks.Ticks(c.low, c.high) {
			labels = append(labels, tick.Label)
			if tick.Value < c.low || tick.Value > c.high {
				t.Errorf("tick %g lies outside %g…%g", tick.Value, c.low, c.high)
			}
		}
		if got := strings.Join(labels, " "); got != c.want {
			t.Errorf("%+v of %g…%g: %q, want %q", c.ticks, c.low, c.high, got, c.want)
		}
	}
}

func TestSpreadKeepsLabelsApart(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		heights := make([]vg.Length, 1+r.IntN(8))
		for i := range heights {
			heights[i] = vg.Length(120 * r.Float64())
			if i > 0 {
				heights[i] = max(heights[i], heights[i-1])
			}
		}
		spread(heights, 10, 5, 115)
		for i, h := range heights {
			if h < 5-1e-9 || h > 115+1e-9 || i > 0 && h < heights[i-1]+10-1e-9 {
				t.Fatalf("labels at %v", heights)
			}
		}
	}
	alone := []vg.Length{20, 50}
	if spread(alone, 10, 5, 115); alone[0] != 20 || alone[1] != 50 {
		t.Errorf("labels with room were moved to %v", alone)
	}
}

func TestThinningLosesNoSpike(t *testing.T) {
	a := fixture.Rudder()
	s, c := a.Plots.RestSeconds, a.Plots.RestCounts
	c[7001], c[7777] = 500, -300
	low, high := restWindow(c, 64)
	line, beyond := thinned(s, c, low, high)
	if len(line) > 2*(columns+1) {
		t.Errorf("%d points are left", len(line))
	}
	if len(beyond) != 4 {
		t.Errorf("%d readings beyond the window, want the fixture's 4 spikes", len(beyond))
	}
	has := func(x, y float64) bool {
		for _, q := range line {
			if q == (plotter.XY{X: x, Y: y}) {
				return true
			}
		}
		return false
	}
	if !has(s[7001], 500) || !has(s[7777], -300) {
		t.Error("a spike inside the window is gone")
	}
	for i := 1; i < len(line); i++ {
		if line[i].X < line[i-1].X {
			t.Fatalf("time runs back at %v", line[i])
		}
	}
}

func TestHistogramCountsEveryReading(t *testing.T) {
	counts := []float64{-64, 0, 0, 0, 64, 64, 128, 1e6}
	bars := histogramBars(counts, -96, 160, 64)
	want := []box{
		{0, 12.5, -96, -32}, {0, 37.5, -32, 32}, {0, 25, 32, 96}, {0, 12.5, 96, 160},
	}
	if len(bars) != len(want) {
		t.Fatalf("bars %v", bars)
	}
	for i, b := range bars {
		// The drawn bar leaves a gap to its neighbours.
		if b.x1 != want[i].x1 || b.y0 < want[i].y0 || b.y1 > want[i].y1 || b.y1-b.y0 < 50 {
			t.Errorf("bar %d is %v, want %v", i, b, want[i])
		}
	}
}

// A step that is no whole number, and a lattice that does not pass through 0,
// must leave no bin empty and none with two codes.
func TestHistogramFollowsTheLattice(t *testing.T) {
	var counts []float64
	for i := range 20 {
		counts = append(counts, math.Round(-32768+64.06*float64(i+3)))
	}
	bars := histogramBars(counts, -32600, -31300, 64.06)
	if len(bars) != len(counts) {
		t.Fatalf("%d bars for %d codes", len(bars), len(counts))
	}
}

func TestSamplesLieOnTheCurve(t *testing.T) {
	c := OfShape("x", curves.TwoSided, curves.Power{Exponent: 2})
	points := sample(c, c.Response.Command, 100)
	for _, want := range []plotter.XY{{X: -100, Y: -100}, {X: -50, Y: -25}, {X: 0, Y: 0}, {X: 50, Y: 25}, {X: 100, Y: 100}} {
		at := points[int((want.X+100)/200*samples)]
		if math.Abs(at.X-want.X) > 1e-9 || math.Abs(at.Y-want.Y) > 1e-9 {
			t.Errorf("%v, want %v", at, want)
		}
	}
	jitter := slopes(c, 100*0.003)[0]
	if at := jitter[3*samples/4]; math.Abs(at.Y-0.3) > 1e-9 { // slope 2·0.5, noise 0.3 %
		t.Errorf("jitter at %g %% is %g %%, want 0.3 %%", at.X, at.Y)
	}
	steep := OfShape("x", curves.TwoSided, curves.Power{Exponent: 0.5})
	if pieces := slopes(steep, 1); len(pieces) != 2 {
		t.Errorf("%d pieces, want 2 with the infinite slope between", len(pieces))
	}
}

func TestShorten(t *testing.T) {
	for name, want := range map[string]string{"rudder": "rudder", "abcdefgh": "abcdefgh", "profile.json#rudder": "pro…dder", "äöüäöüäöü": "äöü…üäöü"} {
		if got := shorten(name, 8); got != want {
			t.Errorf("shorten(%q) = %q, want %q", name, got, want)
		}
	}
}

// A leader right across a panel must not look like more of its line.
func TestLongLeadersAreNoLines(t *testing.T) {
	if s := leader(inkBlue, 12); s.Color != inkBlue.light || s.Dashes != nil {
		t.Errorf("a short leader is drawn as %+v", s)
	}
	if s := leader(inkBlue, 120); s.Color != inkMuted.light || s.Dashes == nil {
		t.Errorf("a long leader is drawn as %+v", s)
	}
}

// Colours alone do not tell lines apart for everyone.
func TestPensDifferInDashes(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range pens {
		dashes := fmt.Sprint(p.dashes)
		if seen[dashes] {
			t.Errorf("two pens have the dashes %s", dashes)
		}
		seen[dashes] = true
	}
}
