package measure

import (
	"math"
	"testing"

	"halfstick/input"
)

// spiked adds a spike of one report to a part, at so many seconds.
func (p part) spiked(at float64) part {
	inner := p.at
	p.at = func(t float64) float64 {
		if t >= at && t < at+1/125.0 {
			return inner(t) + 40
		}
		return inner(t)
	}
	return p
}

// Ten seconds of rest show one spike of six a minute, which is no more than a
// touch; the ends of releases are watched too, and their time counts. Neither
// the fall nor what comes just after it does.
func TestSpikesInTheEndsOfReleases(t *testing.T) {
	d := usual()
	whole := func(tail, fall float64) *Axis {
		parts := d.whole()
		parts[3] = resting(10, 2047).spiked(4)
		for i := range parts {
			if k := parts[i].phase.Kind; k == input.ReleaseLow || k == input.ReleaseHigh {
				parts[i] = parts[i].spiked(tail).spiked(fall)
			}
		}
		return d.measure(t, parts...)
	}
	for _, c := range []struct {
		tail, fall float64
		spikes     float64
		severity   Severity
	}{{2.2, -1, 7, Repair}, {-1, 0.2, 1, Watch}, {-1, 0.56, 1, Watch}} {
		a := whole(c.tail, c.fall)
		q := a.Rest.SpikesPerMinute
		// 9.5 s of rest and six ends of 1.7 s.
		if q == nil || math.Abs(q.Value-c.spikes*60/19.7) > 0.04*q.Value || *q.Low > q.Value || *q.High < q.Value {
			t.Errorf("%+v: %+v", c, q)
			continue
		}
		if f := code(a, "spikes"); f == nil || f.Severity != c.severity {
			t.Errorf("%+v: finding %+v", c, f)
		}
	}
}
