package measure

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"halfstick/input"
)

// drifting measures a device that is swept and then rests at a code, drifting by so
// many steps a minute.
func drifting(t *testing.T, d device, at float64, drift float64, seconds float64) *Axis {
	t.Helper()
	return d.measure(t, sweeping(20, 3500, 3, 2), pause(0.5, at),
		part{phase: input.Phase{Kind: input.Rest}, seconds: seconds, at: func(s float64) float64 { return at + drift*s/60 }})
}

// A sensor that drifts beyond its converter's range stands at the end of the
// scale; what it showed before must give its noise and drift.
func TestRestAtTheEndOfTheScale(t *testing.T) {
	step := 65535.0 / 4095
	for _, c := range []struct{ sigma, at, drift float64 }{{0.7, 4, -30}, {3, 5, 0}, {8, 40, -90}} {
		d := usual()
		d.kind, d.sigma = input.OneSided, c.sigma
		a := drifting(t, d, c.at, c.drift, 60)
		if q := a.Rest.Sigma; q == nil || math.Abs(q.Value/step/c.sigma-1) > 0.08 || !has(q, c.sigma*step) {
			t.Errorf("%+v: noise %+v", c, q)
		}
		if q := a.Rest.DriftPerMinute; q == nil || !has(q, c.drift*step) || *q.High-*q.Low > 20*step {
			t.Errorf("%+v: drift %+v", c, q)
		}
	}
}

// A device that stalls at rest repeats its last report, which says nothing of
// its noise.
func TestRestWithStalls(t *testing.T) {
	const n = 2000
	rng := rand.New(rand.NewPCG(2, 3))
	for _, sigma := range []float64{0.6, 2} {
		g := segment{}
		for i := range n {
			x := math.Round(20 + sigma*rng.NormFloat64())
			if i%200 >= 120 {
				x = g.x[i-1] // 80 of 200 reports held
			}
			g.t, g.x = append(g.t, float64(i)*0.01), append(g.x, x)
		}
		longest := longestRun([]segment{g})
		out, held := g.notHeld(longest)
		if longest < 8 || longest > 60 || math.Abs(held-8) > 0.3 || math.Abs(float64(len(out.x))-1210) > 25 {
			t.Errorf("σ %v: runs beyond %d reports count as held; %.2f s are, %d reports are left", sigma, longest, held, len(out.x))
		}
	}
	// A quiet axis stands still without a stall, and longer between two codes
	// than about their edge; a noisy one does not.
	for _, sigma := range []float64{0.05, 0.1, 0.25, 0.5, 1, 5} {
		g := segment{}
		for i := range n {
			g.t, g.x = append(g.t, float64(i)*0.01), append(g.x, math.Round(20.4+0.002*float64(i)+sigma*rng.NormFloat64()))
		}
		if out, held := g.notHeld(longestRun([]segment{g})); held > 0 || len(out.x) != n {
			t.Errorf("σ %v: %.2f s count as held", sigma, held)
		}
	}
}

// The highest code is the lowest one mirrored.
func TestChanceOfTheEnds(t *testing.T) {
	const mean, sigma, lowest = 3.3, 1.7, 2.0
	block := &blockEdges{mean: mean, sigma: sigma}
	low, by, byBy := cell{code: lowest, end: -1}.chance(block)
	inside, _, _ := cell{code: lowest}.chance(block)
	block.begin(-mean)
	high, byHigh, byByHigh := cell{code: -lowest, end: 1}.chance(block)
	if high != low || byHigh != -by || byByHigh != byBy || inside >= low {
		t.Errorf("lowest %v, %v, %v, highest %v, %v, %v, inside %v", low, by, byBy, high, byHigh, byByHigh, inside)
	}
}

// Of a run that is held the first report stays, of others all; nothing is copied
// where none is held.
func TestNotHeldKeepsTheFirst(t *testing.T) {
	g := segment{x: []float64{1, 1, 2, 2, 2, 2, 3, 4, 4, 4, 4, 4, 5, 5}}
	for i := range g.x {
		g.t = append(g.t, float64(i))
	}
	out, held := g.notHeld(3)
	if want := []float64{0, 1, 2, 6, 7, 12, 13}; !slices.Equal(out.t, want) || held != 3+4 {
		t.Errorf("times %v are left, %v s held; want %v and 7", out.t, held, want)
	}
	if want := []float64{1, 1, 2, 3, 4, 5, 5}; !slices.Equal(out.x, want) {
		t.Errorf("counts %v are left, want %v", out.x, want)
	}
	for _, longest := range []int{0, 5} {
		if out, held := g.notHeld(longest); held != 0 || &out.x[0] != &g.x[0] || len(out.x) != len(g.x) {
			t.Errorf("runs beyond %d: %d reports are left, %v s held", longest, len(out.x), held)
		}
	}
}
