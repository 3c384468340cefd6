package measure

import (
	"math"
	"strings"
	"testing"

	"halfstick/input"
)

// A sweep that breaks off half way is no sign of a stop: the place was reached
// once only, and nothing is said about the travel there.
func TestBrokenOffSweepIsNoShortTravel(t *testing.T) {
	d := usual()
	upToHalf := part{
		phase: input.Phase{Kind: input.Sweep}, seconds: 5,
		at: func(t float64) float64 { return min(d.most()/2, d.most()*t/8) },
	}
	for _, f := range d.measure(t, upToHalf).Findings {
		if strings.HasPrefix(f.Code, "short-travel") || strings.HasPrefix(f.Code, "dead-side") {
			t.Errorf("%s: %s", f.Code, f.Says)
		}
	}
}

// A stop that was reached once has no interval, and one whose visits differ a wide
// one. That is said, with how many sweeps settle it; with these it is settled.
func TestStopsNotSettled(t *testing.T) {
	d := usual()
	m := d.most()
	low, high := 0.03*m, 0.97*m
	// each sweep goes to a high end of its own
	swept := func(ends ...float64) []part {
		parts := []part{pause(0.5, m/2)}
		for _, end := range ends {
			parts = append(parts, sweeping(low, end, 3, 1), pause(0.3, low))
		}
		return append(parts, resting(9, m/2))
	}
	for _, c := range []struct {
		name, says, missing string
		ends                []float64
	}{
		{name: "once", ends: []float64{high, 0.9 * m, 0.9 * m}, missing: "2 sweeps more there and back",
			says: "The high stop, at 307"},
		{name: "twice", ends: []float64{high, high, 0.9 * m}},
		{name: "loose", ends: []float64{high, 0.985 * high, 0.9 * m}, missing: "6 sweeps more there and back",
			says: "The high stop is known only to ±20 % of half-throw from 2 visits"},
		{name: "less loose", ends: []float64{high, 0.987 * high, 0.992 * high, 0.989 * high}},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := d.measure(t, swept(c.ends...)...)
			f := code(a, "too-little-data")
			if f == nil {
				t.Fatal("no too-little-data, though there are no releases")
			}
			_, has := f.Evidence["high_stop"]
			if c.says == "" {
				if has || strings.Contains(f.Says, "stop") || strings.Contains(f.Says, "sweep") {
					t.Errorf("says %q", f.Says)
				}
				return
			}
			if !has || !strings.Contains(f.Says, c.says) || !strings.Contains(f.Says, c.missing) {
				t.Errorf("says %q", f.Says)
			}
			if code(a, "steady") != nil {
				t.Error("a stop that is not known is called steady")
			}
			if _, low := f.Evidence["low_stop"]; low {
				t.Error("the low stop was reached each time")
			}
		})
	}
}

// The slack is half of the interval as a share of the half-throw; two hundredths are
// too much, and a stop reached once is loose however it looks.
func TestStopSlack(t *testing.T) {
	for _, c := range []struct {
		low, high, slack float64
		loose            bool
	}{{990, 1010, 0.01, false}, {980, 1020, 0.02, false}, {979, 1021, 0.021, true}} {
		q := &Quantity{Value: 1000, Low: &c.low, High: &c.high}
		if slack, loose := StopSlack(q, 1000); math.Abs(slack-c.slack) > 1e-12 || loose != c.loose {
			t.Errorf("%+v: %g, loose %v", c, slack, loose)
		}
	}
	if slack, loose := StopSlack(&Quantity{Value: 1000}, 1000); slack != 0 || !loose {
		t.Errorf("once: %g, loose %v", slack, loose)
	}
}
