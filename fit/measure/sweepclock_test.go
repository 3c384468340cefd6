package measure

import (
	"math"
	"slices"
	"testing"
)

// ramp is a steady motion of 100 counts a report as a recorder sees it: rows of
// 2 ms show the newest report.
func ramp(seconds, period float64, quiet func(report int) bool) segment {
	var g segment
	for row := range int(seconds / 0.002) {
		t := 0.002 * float64(row)
		k := int(t / period)
		for k > 0 && quiet(k) {
			k-- // a report that repeats the count of the one before
		}
		g.t, g.x = append(g.t, t), append(g.x, 100*float64(k))
	}
	return g
}

func allMove(int) bool { return false }

// throwClock is an analysis whose clock is a comb of the given period, found as
// it is from a device's changes.
func throwClock(t *testing.T, period float64) *analysis {
	t.Helper()
	g := ramp(20, period, allMove)
	var events []float64
	for i := 1; i < len(g.x); i++ {
		if g.x[i] != g.x[i-1] {
			events = append(events, (g.t[i-1]+g.t[i])/2)
		}
	}
	c := combClock(slices.Values(events), []window{{changes: len(events), first: events[0], last: events[len(events)-1]}}, math.Floor(period/0.002), 0.002)
	if c.comb == nil || math.Abs(c.period/period-1) > 1e-3 {
		t.Fatalf("period %.4f s: found %.5f s", period, c.period)
	}
	return &analysis{series: &series{rowTime: 0.002}, out: &Axis{}, step: 1, clock: c}
}

// Whatever the ratio of reports to rows, the samples are the reports, evenly
// spaced, and a report that changed nothing has its place.
func TestSweepReports(t *testing.T) {
	for _, period := range []float64{0.0022, 0.00266, 0.0033, 0.00402, 0.0051, 0.0161} {
		s := throwClock(t, period).sweepReports(ramp(3, period, allMove))
		if n := int(3 / period); len(s.x) < n-3 || len(s.x) > n+1 {
			t.Errorf("period %.4f s: %d samples, want %d", period, len(s.x), n)
		}
		for i := 2; i < len(s.x)-1; i++ {
			if s.x[i]-s.x[i-1] != 100 {
				t.Fatalf("period %.4f s: sample %d moves by %g, want 100", period, i, s.x[i]-s.x[i-1])
			}
			// The comb's moments are known to a small part of a row.
			if math.Abs(s.t[i]-s.x[i]/100*period) > 0.0003 {
				t.Fatalf("period %.4f s: sample of %g at %.4f s, want %.4f", period, s.x[i], s.t[i], s.x[i]/100*period)
			}
		}
	}
	s := throwClock(t, 0.0033).sweepReports(ramp(3, 0.0033, func(k int) bool { return k%50 == 20 }))
	for i := 2; i < len(s.x)-1; i++ {
		k := math.Round(s.t[i] / 0.0033)
		if math.Mod(k, 50) == 20 {
			k--
		}
		if s.x[i] != 100*k {
			t.Fatalf("with repeats: sample at %.4f s is %g, want %g", s.t[i], s.x[i], 100*k)
		}
	}
}

// A report a little early or late has its place, and none is made up or lost.
func TestSweepReportsOffTheirMoment(t *testing.T) {
	const period = 0.0022
	a := throwClock(t, period)
	var g segment
	for row := range 1500 {
		at, k := 0.002*float64(row), 0
		for k = int(at/period) + 2; k > 0; k-- {
			if early := 0.05 * math.Sin(float64(7*k)); (float64(k)+early)*period <= at {
				break
			}
		}
		g.t, g.x = append(g.t, at), append(g.x, 100*float64(k))
	}
	s := a.sweepReports(g)
	for i := 2; i < len(s.x)-1; i++ {
		if math.Abs(s.t[i]-s.x[i]/100*period) > 0.1*period || s.x[i]-s.x[i-1] != 100 {
			t.Fatalf("sample of %g at %.4f s, want %.4f", s.x[i], s.t[i], s.x[i]/100*period)
		}
	}
}

// Reports that fell between two late rows lie on a straight line.
func TestSweepReportsUnseen(t *testing.T) {
	a := throwClock(t, 0.0051)
	g := ramp(3, 0.0051, allMove)
	g.t = append(g.t[:400:400], g.t[430:]...)
	g.x = append(g.x[:400:400], g.x[430:]...)
	s := a.sweepReports(g)
	for i := 2; i < len(s.x)-1; i++ {
		if math.Abs(s.x[i]-100*s.t[i]/0.0051) > 110 {
			t.Fatalf("sample of %g at %.4f s", s.x[i], s.t[i])
		}
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

// Beside a worn band the places around are quiet: their scatter is no measure of
// its own, and its noise is no bend.
func TestUnbentBesideWorn(t *testing.T) {
	a := &analysis{series: &series{rowTime: 0.004}, out: &Axis{}, step: 1}
	lost := 0
	for seed := range uint64(20) {
		noise := newScatter(seed)
		var res []residual
		for way := range 4 {
			for i := range 1000 {
				r := residual{u: -1 + float64(i)/500, r: 2 * noise(), v: 30, way: way, segment: way, at: i}
				if r.u > 0.5 && r.u < 0.56 {
					r.r *= 8
				}
				res = append(res, r)
			}
		}
		lost += len(res) - len(a.unbent(res))
	}
	if lost > 0 {
		t.Errorf("%d residuals of twenty worn bands are taken for bent", lost)
	}
}

// What a spike has left in one way is not taken off the others.
func TestLevelled(t *testing.T) {
	a := &analysis{series: &series{rowTime: 0.004}, out: &Axis{}, step: 1}
	res := bentResiduals(12, 2)
	for i := range res {
		if res[i].way == 2 && math.Abs(res[i].u+0.5) < 0.02 {
			res[i].r = 5000
		}
	}
	a.levelled(res)
	for _, r := range res {
		if r.way != 2 && math.Abs(r.r) > 14 {
			t.Fatalf("way %d at %.3f is off by %.0f", r.way, r.u, r.r)
		}
	}
	sum, n := 0.0, 0.0
	for _, r := range res {
		if math.Abs(r.u-0.505) < 0.005 {
			sum, n = sum+r.r, n+1
		}
	}
	if math.Abs(sum/n) > 0.5 {
		t.Errorf("a bend of 12 is left with %.2f", sum/n)
	}
}

func TestBridge(t *testing.T) {
	x := []float64{9, 1, 9, 9, 4, 9, 9}
	bridge(x, []bool{true, false, true, true, false, true, true})
	if !slices.Equal(x, []float64{1, 1, 2, 3, 4, 4, 4}) {
		t.Errorf("%v", x)
	}
	none := []float64{5, 6}
	if bridge(none, []bool{true, true}); !slices.Equal(none, []float64{5, 6}) {
		t.Errorf("nothing to lay it from: %v", none)
	}
}

// A motion turns where it comes back far enough; a jump of the reading or a
// swing of noise on the way is no turn.
func TestTurns(t *testing.T) {
	turn := turns{back: 5, farthest: 0}
	var at []int // noticed, and since when
	for i, x := range []float64{0, 10, 20, 15.5, 30, 27, 24, 0, 3, -10, -6, 5, 9} {
		if since, turned := turn.at(i, x); turned {
			at = append(at, i, since)
		}
	}
	if !slices.Equal(at, []int{6, 4, 11, 9}) {
		t.Errorf("turns at %v, want the sixth, which is that at the fourth, and the eleventh, at the ninth", at)
	}
	down := turns{back: 5, farthest: 30}
	noticed := 0
	for i, x := range []float64{28, 20, 10} {
		if _, turned := down.at(i, x); turned {
			noticed++
		}
	}
	if noticed != 1 {
		t.Error("a motion that begins downwards turns once, into it")
	}
}
