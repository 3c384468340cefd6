package measure

import (
	"math"
	"testing"
)

// ramp is a steady motion of 100 counts a report as a recorder sees it: rows of
// 2 ms show the newest report.
func ramp(period float64, quiet func(report int) bool) segment {
	var g segment
	for row := range 1500 {
		t := 0.002 * float64(row)
		k := int(t / period)
		for k > 0 && quiet(k) {
			k-- // a report that repeats the count of the one before
		}
		g.t, g.x = append(g.t, t), append(g.x, 100*float64(k))
	}
	return g
}

// Whatever the ratio of reports to rows, the samples are the reports, evenly
// spaced, and a report that changed nothing has its place.
func TestSweepReports(t *testing.T) {
	never := func(int) bool { return false }
	for _, period := range []float64{0.0022, 0.00266, 0.0033, 0.004, 0.0051, 0.0161} {
		a := &analysis{series: &series{rowTime: 0.002}, out: &Axis{}, step: 1, clock: clock{period: period}}
		g := ramp(period, never)
		a.followReports([]segment{g})
		s := a.sweepReports(g)
		if n := int(3 / period); len(s.x) < n-3 || len(s.x) > n+1 {
			t.Errorf("period %.4f s: %d samples, want %d", period, len(s.x), n)
		}
		for i := 1; i < len(s.x); i++ {
			if s.x[i]-s.x[i-1] != 100 {
				t.Fatalf("period %.4f s: sample %d moves by %g, want 100", period, i, s.x[i]-s.x[i-1])
			}
			if math.Abs(s.t[i]-s.t[0]-float64(i)*period) > 0.0025 {
				t.Fatalf("period %.4f s: sample %d at %.4f s", period, i, s.t[i])
			}
		}
	}
	a := &analysis{series: &series{rowTime: 0.002}, out: &Axis{}, step: 1, clock: clock{period: 0.0033}}
	g := ramp(0.0033, func(k int) bool { return k%50 == 20 })
	a.followReports([]segment{g})
	s := a.sweepReports(g)
	for i := 1; i < len(s.x); i++ {
		want := 100.0
		switch (i + 1 + int(s.x[0])/100 - 1) % 50 {
		case 20:
			want = 0
		case 21:
			want = 200
		}
		if s.x[i]-s.x[i-1] != want {
			t.Fatalf("with repeats: sample %d moves by %g, want %g", i, s.x[i]-s.x[i-1], want)
		}
	}
}

// Where the motion is slow against the step, changes do not tell the reports.
func TestSlowSweepIsNotFollowed(t *testing.T) {
	a := &analysis{series: &series{rowTime: 0.002}, out: &Axis{}, step: 64, clock: clock{period: 0.0033}}
	a.followReports([]segment{ramp(0.0033, func(int) bool { return false })})
	if a.sweepPeriod != 0 {
		t.Error("100 counts a report at a step of 64 are followed")
	}
}

// bentResiduals are those of four ways over a place at u = 0.5 where each way
// is off to the same side by bend, with noise of deviation sigma.
func bentResiduals(bend, sigma float64) []residual {
	noise := newScatter(3)
	var out []residual
	for way := range 4 {
		for i := range 1000 {
			r := residual{u: -1 + float64(i)/500, r: sigma * noise(), v: 30, way: way, segment: way, at: i}
			if math.Abs(r.u-0.505) < 0.01 {
				r.r += bend
			}
			out = append(out, r)
		}
	}
	return out
}

// A place where all ways bend to one side is left out with a window either side;
// noise alone is not.
func TestUnbent(t *testing.T) {
	a := &analysis{series: &series{rowTime: 0.004}, out: &Axis{}, step: 1}
	w := a.window()
	left := a.unbent(bentResiduals(12, 2))
	for _, r := range left {
		if math.Abs(r.u-0.505) < 0.01+float64(w-2)/500 {
			t.Fatalf("a residual at %.3f is left, window %d", r.u, w)
		}
	}
	if n := 4000 - len(left); n < 4*2*w || n > 4*(2*w+21) {
		t.Errorf("%d of 4000 residuals left out, want about %d", n, 4*(2*w+20))
	}
	if left := a.unbent(bentResiduals(0, 2)); len(left) != 4000 {
		t.Errorf("of mere noise %d of 4000 residuals are left", len(left))
	}
	if left := a.unbent(bentResiduals(0.3, 0.1)); len(left) != 4000 {
		t.Errorf("of a bend within the step %d of 4000 residuals are left", len(left))
	}
}
