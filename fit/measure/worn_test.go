package measure

import (
	"math"
	"testing"

	"halfstick/input"
)

// noisyWays are the residuals of ways over a two-sided throw of ±30,000 counts,
// one report each 30 counts a way, with deviation 20 and times as much where
// loud says so.
func noisyWays(ways int, times func(way int, u float64) float64) []residual {
	noise := newScatter(11)
	var out []residual
	for way := range ways {
		for i := range 1000 {
			u := -0.95 + 1.9*float64(i)/1000
			out = append(out, residual{u: u, r: 20 * noise() * times(way, u), v: 57, way: way, segment: way, at: i})
		}
	}
	return out
}

func throwAnalysis() *analysis {
	a := &analysis{series: &series{rowTime: 0.001}, out: &Axis{Kind: string(input.TwoSided)}, step: 1, hasGrid: true,
		low: -30000, high: 30000, hasTravel: true, clock: clock{period: 0.004}}
	return a
}

func measureWorn(res []residual) SweepPart {
	a := throwAnalysis()
	a.out.Sweep.Bands = nil
	a.worn(res)
	return a.out.Sweep
}

// The ends of a band and its ratio come out within what so many reports allow.
func TestWornBand(t *testing.T) {
	w := measureWorn(noisyWays(6, func(_ int, u float64) float64 {
		if u > 0.2 && u < 0.35 {
			return 5
		}
		return 1
	}))
	if w.WornRatio == nil {
		t.Fatal("no worn band found")
	}
	if !has(w.WornFrom, 0.2) || !has(w.WornTo, 0.35) || math.Abs(w.WornFrom.Value-0.2) > 0.01 || math.Abs(w.WornTo.Value-0.35) > 0.01 {
		t.Errorf("ends %+v and %+v, want 0.2 and 0.35", w.WornFrom, w.WornTo)
	}
	if *w.WornTo.High-*w.WornFrom.Low > 0.19 {
		t.Errorf("intervals from %.3f to %.3f say too little", *w.WornFrom.Low, *w.WornTo.High)
	}
	if !has(w.WornRatio, 5) || math.Abs(w.WornRatio.Value-5) > 0.5 {
		t.Errorf("ratio %+v, want 5", w.WornRatio)
	}
}

// One wild report does not make a way louder, though there is one in each.
func TestWornOneReportIsNoWay(t *testing.T) {
	inside := func(u float64) bool { return u >= 0.2 && u < 0.5 }
	res := noisyWays(5, func(way int, u float64) float64 {
		if way < 2 && inside(u) {
			return 3
		}
		return 1
	})
	if a := throwAnalysis(); a.inMostWays(res, 0.2, 0.5, 3600, 400) {
		t.Fatal("two ways of five pass for most")
	}
	wild := map[int]bool{}
	for i := range res {
		if r := &res[i]; inside(r.u) && !wild[r.way] {
			wild[r.way], r.r = true, 400
		}
	}
	if a := throwAnalysis(); a.inMostWays(res, 0.2, 0.5, 3600, 400) {
		t.Error("a wild report made a quiet way louder")
	}
}

// Worn track is loud in most ways that pass. A stretch that is loud in two ways
// of six is no worn band, however loud it is.
func TestWornInMostWays(t *testing.T) {
	w := measureWorn(noisyWays(6, func(way int, u float64) float64 {
		if way < 2 && u > 0.2 && u < 0.35 {
			return 8
		}
		return 1
	}))
	if w.WornRatio != nil {
		t.Errorf("found %+v from two ways of six", w.WornRatio)
	}
}

// More noise in most ways, and nearly all the evidence from one: without it the
// other three leave less than half of what a band needs.
func TestWornWithoutTheLoudestWay(t *testing.T) {
	for _, c := range []struct {
		loudest, others, to float64
	}{{20, 1.3, 0.23}, {4, 1.6, 0.22}} {
		w := measureWorn(noisyWays(4, func(way int, u float64) float64 {
			switch {
			case u < 0.2 || u > c.to:
				return 1
			case way == 0:
				return c.loudest
			}
			return c.others
		}))
		if w.WornRatio != nil {
			t.Errorf("%+v: found %+v from one way", c, w.WornRatio)
		}
	}
}

// What is quieter than the motion's own unevenness is not called worn: 15 % of
// the 57 counts from report to report are 8.6.
func TestWornHiddenByMotion(t *testing.T) {
	for times, found := range map[float64]bool{0.36: false, 0.5: true} {
		a := throwAnalysis()
		a.clock.period = 0.001 // a report lasts one row
		a.worn(noisyWays(6, func(_ int, u float64) float64 {
			if u > 0.2 && u < 0.35 {
				return times
			}
			return 0.1
		}))
		if q := a.out.Sweep.WornRatio; (q != nil) != found {
			t.Errorf("%g counts against 57 a report, found %+v", 20*times, q)
		}
	}
}

// A way counts as louder from a third of the logarithm of the stretch's ratio on:
// where one of six is deaf to the wear five speak for it, and a hair more noise in
// four of them, with two that roar, is none.
func TestWornLouderWays(t *testing.T) {
	for _, c := range []struct {
		others float64
		found  bool
	}{{4, true}, {1.2, false}} {
		w := measureWorn(noisyWays(6, func(way int, u float64) float64 {
			switch {
			case u < 0.2 || u > 0.35:
				return 1
			case way == 0:
				return 1
			case way <= 2:
				return 6
			}
			return c.others
		}))
		if (w.WornRatio != nil) != c.found {
			t.Errorf("ways of %g times the noise beside two of 6: found %+v", c.others, w.WornRatio)
		}
	}
}

// The set of places that an end may have holds it as often as it says, for
// independent residuals and a small change, of which the set's law is known.
func TestEdgeCovers(t *testing.T) {
	const draws, n = 150, 3000
	noise := newScatter(21)
	f := &wornFit{energy: kernelEnergy(7)}
	hits, width := 0, 0.0
	for range draws {
		all := make([]moment, n)
		for i := range all {
			u := -1 + 2*(float64(i)+0.5)/n
			r := noise()
			if u > 0.1 && u < 0.7 {
				r *= 1.25
			}
			all[i] = moment{u: u, pace: 1e-6, square: r * r}
		}
		f.from, f.to, f.out, f.in = 0.1, 0.7, 1, 1.25*1.25
		_, low, high := f.edge(all, false, -1, 1)
		if low <= 0.1 && 0.1 <= high {
			hits++
		}
		width += (high - low) / draws
	}
	if share := float64(hits) / draws; share < 0.93 || share > 0.985 {
		t.Errorf("%.1f %% of the sets, %.4f wide on average, hold the end, want 95", 100*share, width)
	}
}

// About an end the running fit carries the same loud reports into many residuals;
// independent ones are worth themselves, and those of a moving mean less.
func TestEdgeWorth(t *testing.T) {
	a := throwAnalysis()
	f := &wornFit{from: 0.2, to: 0.35, out: 400, in: 400, energy: kernelEnergy(a.window())}
	res := noisyWays(6, func(int, float64) float64 { return 1 })
	if w := f.worth(a, res, 0.2); w < 0.9 {
		t.Errorf("independent residuals are worth %.2f", w)
	}
	// x_i + x_{i−1} has correlation 1/2 with its neighbours: 1/(1 + 2/4).
	for i := len(res) - 1; i > 0; i-- {
		res[i].r += res[i-1].r
	}
	if w := f.worth(a, res, 0.2); math.Abs(w-2.0/3) > 0.08 {
		t.Errorf("sums of two are worth %.2f, want 0.67", w)
	}
}

// The weights of the running parabola carry a little over an end and no more
// than half a window far.
func TestKernelEnergy(t *testing.T) {
	f := &wornFit{from: 0, to: 9, energy: kernelEnergy(9)}
	if f.inside(-5, 1) != 0 || f.inside(4.5, 1) < 0.999 {
		t.Errorf("far outside %.3f, far inside %.3f", f.inside(-5, 1), f.inside(4.5, 1))
	}
	// Of nine points the parabola gives the middle 59/231 and the next 54/231.
	out, in := f.inside(-1, 1), f.inside(0, 1)
	total := math.Pow(1-59.0/231, 2) + 2*(math.Pow(54.0/231, 2)+math.Pow(39.0/231, 2)+math.Pow(14.0/231, 2)+math.Pow(21.0/231, 2))
	side := (math.Pow(54.0/231, 2) + math.Pow(39.0/231, 2) + math.Pow(14.0/231, 2) + math.Pow(21.0/231, 2)) / total
	if math.Abs(out-side) > 1e-9 || math.Abs(in-(1-side)) > 1e-9 {
		t.Errorf("one report outside %.4f, at the end %.4f; want %.4f and %.4f", out, in, side, 1-side)
	}
}

// A place keeps its u while the reading drifts: the stops were read at 10 and
// 20 s, the centre at 100 s, the place is passed at 15 s.
func TestWithoutDrift(t *testing.T) {
	const drift = 7.0 // counts a second
	for _, kind := range []input.Kind{input.TwoSided, input.OneSided} {
		a := throwAnalysis()
		a.out.Kind = string(kind)
		a.hasCentre, a.centreAt, a.stopTime = true, 1000+drift*100, [2]float64{10, 20}
		a.low, a.high = -29000+drift*10, 31000+drift*20
		for _, share := range []float64{-1, -0.6, -0.1, 0, 0.4, 1} {
			if kind == input.OneSided {
				share = math.Abs(share)
			}
			x := 1000 + 30000*share
			if kind == input.OneSided {
				x = -29000 + 60000*share
			}
			if got := a.withoutDrift(x+drift*15, 15, drift, 100); math.Abs(got-share) > 2e-4 {
				t.Errorf("%s: u %.5f, want %.5f", kind, got, share)
			}
		}
	}
}
