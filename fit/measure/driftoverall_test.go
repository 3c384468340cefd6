package measure

import (
	"math"
	"strings"
	"testing"

	"halfstick/input"
)

// allDrifting lets the reading of a whole recording move by so many steps a minute.
func allDrifting(parts []part, perMinute float64) []part {
	begun := 0.0
	out := make([]part, len(parts))
	for i, p := range parts {
		inner, from := p.at, begun
		p.at = func(t float64) float64 { return inner(t) + perMinute/60*(from+t) }
		out[i] = p
		begun += p.seconds
	}
	return out
}

// Two places, each with its own level, and the slope by hand: about their means the
// times are ±10 and the levels −1 and 3 at the first, −1 and 1 at the second, so that
// Σtt = 400, Σtx = 40 + 20 = 60, Σxx = 8 + 2 = 10; of the four values two levels and
// one slope leave one degree of freedom.
func TestSlopeOfPlaces(t *testing.T) {
	a := analysis{step: 3}
	s := a.slopeOf([]seenLevel{{0, 100}, {20, 104}}, []seenLevel{{30, 7}, {50, 9}}, []seenLevel{{60, 50}})
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"slope", s.at, 60.0 / 400},
		{"variance", s.variance, (10 - 60.0*60/400 + 9.0/12) / 400},
		{"degrees of freedom", s.free, 1},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s %g, want %g", c.what, c.got, c.want)
		}
	}
	if s := a.slopeOf([]seenLevel{{0, 100}, {20, 104}}); s != (slope{}) {
		t.Errorf("two stays at one place leave no degree of freedom, yet %+v", s)
	}
}

// Ten seconds of rest say little of the drift; the stops and releases of the same
// minute say much more, and what they say holds.
func TestDriftOverAllKnowsMore(t *testing.T) {
	hits, narrower, n := 0, 0.0, 0
	for _, sigma := range []float64{0.1, 0.6, 2} {
		for seed := range uint64(6) {
			for _, drift := range []float64{-6, 0.5, 3} {
				d := usual()
				d.sigma, d.seed = sigma, seed
				parts := d.whole()
				parts[3] = resting(10, 0.5*d.most())
				a := d.measure(t, allDrifting(parts, drift)...)
				rest, all := a.Rest.DriftPerMinute, a.Rest.DriftOverallPerMinute
				if rest == nil || all == nil || all.Low == nil || all.N != 3 {
					t.Fatalf("σ %g, drift %g: at rest %+v, over all %+v; %q", sigma, drift, rest, all, a.Notes)
				}
				n++
				if has(all, drift*a.Step.Value) {
					hits++
				}
				narrower += (*all.High - *all.Low) / (*rest.High - *rest.Low)
			}
		}
	}
	// Of 54 intervals that hold with 95 %, 4 or fewer fail in 86 of 100 runs.
	if hits < n-4 {
		t.Errorf("%d of %d intervals hold the drift", hits, n)
	}
	if narrower /= float64(n); narrower > 0.5 {
		t.Errorf("intervals are %.2f times those at rest, want half or less", narrower)
	}
}

// Where stops and rest move differently it is no drift; where time is missing, none is
// known; and an end of the scale holds the reading whatever drifts.
func TestNoDriftOverAll(t *testing.T) {
	d := usual()
	m := d.most()
	moving := d.whole()
	for i, p := range allDrifting(d.whole(), 300) {
		if p.phase.Kind == input.Sweep || p.phase.Kind == input.ReleaseLow || p.phase.Kind == input.ReleaseHigh {
			moving[i] = p
		}
	}
	a := d.measure(t, moving...)
	if q := a.Rest.DriftOverallPerMinute; q != nil {
		t.Errorf("the stops move by 300 steps a minute and the rest does not: %+v", q)
	}
	if notes := strings.Join(a.Notes, "\n"); !strings.Contains(notes, "move differently") {
		t.Errorf("notes %q", notes)
	}

	rec := d.record(d.whole()...)
	half := rec.Rows() / 2
	edit(rec, func(i int, row *input.Row) bool {
		if i >= half {
			row.AtUS += input.AppendGapUS - 2000
		}
		return true
	})
	out, err := Recording(rec, "gone on with")
	if err != nil {
		t.Fatal(err)
	}
	if q := out.Axes[0].Rest.DriftOverallPerMinute; q != nil || out.Axes[0].Rest.DriftPerMinute == nil {
		t.Errorf("gone on with after an unknown time: %+v", q)
	}

	clipped := []part{pause(0.5, m/2), sweeping(-0.02*m, 1.02*m, 4, 3), resting(10, m/2)}
	if q := d.measure(t, clipped...).Rest.DriftOverallPerMinute; q == nil || q.N != 1 {
		t.Errorf("stops at the ends of the scale count: %+v", q)
	}
}

// Two slopes of the same certainty, by hand. At rest the standard error is 0.1 counts
// a second. At the stops Σtt = 400 and one degree of freedom is left, so that Student's
// t of 12.7062 (tables) counts in place of 1.96, and a step of 1.06870 counts makes
// step²/12/400·(12.7062/1.96)² = 0.1². So the mean lies half way, known to
// 1.96·0.1/√2, and their distance d has χ² = d²/(2·0.1²), which one in a thousand
// passes at 10.828 (tables).
func TestDriftOverAllByHand(t *testing.T) {
	for _, c := range []struct {
		apart float64 // counts a second
		agree bool
	}{{0.46, true}, {0.47, false}} {
		a := analysis{step: 1.06870, series: &series{track: &track{}}, out: &Axis{}}
		a.out.Rest.DriftPerMinute = within(0, -1.96*6, 1.96*6, unitCountsPerMinute, 24, "")
		for side := range 2 {
			a.stays[side] = []seenLevel{{0, 100}, {20, 100 + 20*c.apart}}
		}
		a.driftOverall()
		q := a.out.Rest.DriftOverallPerMinute
		if (q != nil) != c.agree {
			t.Fatalf("%g apart: %+v", c.apart, q)
		}
		if !c.agree {
			continue
		}
		if half := 60 * 1.96 * 0.1 / math.Sqrt2; math.Abs(q.Value-30*c.apart) > 0.01 || math.Abs(*q.High-q.Value-half) > 0.01 || math.Abs(q.Value-*q.Low-half) > 0.01 {
			t.Errorf("%s a minute, want %.2f ± %.2f", show(q), 30*c.apart, half)
		}
	}
}
