package stats

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"
)

// combEventsOf are the moments, known to a row, of a comb's events: each moment has
// one with a chance, up to 5 % of a period early or late.
func combEventsOf(f, row, seconds, chance float64, rng *rand.Rand) []float64 {
	offset := rng.Float64() / f
	var out []float64
	last := -1.0
	for k := 0.0; k < seconds*f; k++ {
		if rng.Float64() >= chance {
			continue
		}
		t := offset + (k+0.1*rng.Float64()-0.05)/f
		at := math.Ceil(t/row)*row - row/2
		if at > last {
			out, last = append(out, at), at
		}
	}
	return out
}

// Frequencies well below, about and above half of the rows'; the interval must
// hold the truth nearly as often as it says and be narrow, and the moments must
// be told to a fraction of a period.
func TestFindComb(t *testing.T) {
	const row, seconds, runs = 0.003, 30, 20
	for _, f := range []float64{61.37, 118.1, 181.3, 213.7, 249.9} {
		held := 0
		for s := range uint64(runs) {
			rng := rand.New(rand.NewPCG(s, 4))
			events := combEventsOf(f, row, seconds, 0.6, rng)
			c, ok := FindComb(events, row, 0.6*f, 0.95/row)
			if !ok {
				t.Fatalf("%v Hz: no comb found", f)
			}
			if math.Abs(c.Frequency-f) > 0.01 || c.High-c.Low > 0.02 {
				t.Errorf("%v Hz: found %v, %v to %v", f, c.Frequency, c.Low, c.High)
			}
			if c.Low <= f && f <= c.High {
				held++
			}
			if s > 5 {
				continue
			}
			var off float64
			for _, at := range events {
				_, frac := math.Modf(c.Cycles(at) + 0.5)
				off += (frac - 0.5) / float64(len(events))
			}
			if math.Abs(off) > 0.03 {
				t.Errorf("%v Hz: events are %.3f periods off the comb's moments on the mean", f, off)
			}
		}
		// 19 on the mean; below 16 lies one in 400.
		if held < 16 {
			t.Errorf("%v Hz: %d of %d intervals hold it", f, held, runs)
		}
	}
}

// A comb whose frequency wanders is followed.
func TestCombFollows(t *testing.T) {
	const row = 0.001
	rng := rand.New(rand.NewPCG(3, 9))
	// 125 Hz whose phase swings by a period once in 100 s.
	late := func(k float64) float64 { return math.Sin(2 * math.Pi * k / 125 / 100) }
	var events []float64
	for k := 0.0; k < 125*100; k++ {
		if rng.Float64() < 0.5 {
			events = append(events, math.Ceil((k+late(k))/125/row)*row-row/2)
		}
	}
	c, ok := FindComb(events, row, 80, 900)
	if !ok {
		t.Fatal("no comb found")
	}
	for k := 500.0; k < 12000; k += 500 {
		from, to := c.Cycles((k-250+late(k-250))/125), c.Cycles((k+250+late(k+250))/125)
		if math.Abs(to-from-500) > 0.25 {
			t.Errorf("around report %.0f: %.2f reports counted, want 500", k, to-from)
		}
	}
}

// Chance and slow rhythms are no comb.
func TestNoComb(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var chance []float64
	for at := 0.0; at < 60; at += 0.002 * math.Ceil(rng.ExpFloat64()*3) {
		chance = append(chance, at)
	}
	if c, ok := FindComb(chance, 0.002, 100, 460); ok {
		t.Errorf("a comb of %v Hz in events by chance", c.Frequency)
	}
	// A crossing every 72 ms looks like 333 − 13.9 Hz.
	var slow []float64
	for at := 0.0; at < 60; at += 0.072 {
		slow = append(slow, math.Ceil((at+0.03*rng.Float64())/0.003)*0.003)
	}
	if c, ok := FindComb(slow, 0.003, 200, 0.97/0.003); ok {
		t.Errorf("a comb of %v Hz in slow events", c.Frequency)
	}
	if _, ok := FindComb(slow[:20], 0.003, 5, 20); ok {
		t.Error("a comb in 20 events")
	}
}

// A comb in step with its rows looks the same a little faster or slower: the
// interval must say so.
func TestCombInStep(t *testing.T) {
	var events []float64
	for k := 0; k < 3000; k++ {
		events = append(events, float64(k)*0.01)
	}
	c, ok := FindComb(events, 0.002, 80, 460)
	if !ok || math.Abs(c.Frequency-100) > 1e-3 {
		t.Fatalf("found %v", c.Frequency)
	}
	// Half a row of 2 ms, a tenth of a period, over 30 s.
	if half := (c.High - c.Low) / 2; math.Abs(half-0.1/30) > 1e-4 {
		t.Errorf("known to ±%v Hz", half)
	}
}

// A pause costs nothing, however long: a clock that is set while it runs can
// make one of a year, or of what no clock can show.
func TestFindCombAcrossAnEndlessPause(t *testing.T) {
	const f, row = 125.0, 0.003
	events := combEventsOf(f, row, 60, 0.6, rand.New(rand.NewPCG(5, 6)))
	for _, pause := range []float64{365.25 * 86400, 1e12} {
		paused := append([]float64(nil), events...)
		for i := range paused {
			if paused[i] > 30 {
				paused[i] += pause
			}
		}
		// No comb can be told from two places a year apart; it must not take
		// memory for all the time between them to find that out.
		if c, ok := FindComb(paused, row, 0.6*f, 0.95/row); ok && math.Abs(c.Frequency-f) > 0.01 {
			t.Errorf("a pause of %g s: found %v Hz", pause, c.Frequency)
		}
	}
	c, _ := FindComb(events, row, 0.6*f, 0.95/row)
	if got := (Comb{Frequency: 1, length: 10, phase: []combPhase{{0, 0.1}, {1e9, 0.3}}}).Cycles(5e9) - 5e9; math.Abs(got+0.1) > 1e-6 {
		t.Errorf("in the pause the grid is %v late, want 0.1 as before it", -got)
	}
	if len(c.phase) == 0 || len(c.phase) > 5 {
		t.Errorf("%d phases of a minute", len(c.phase))
	}
}

// Just below and just above half of the rows' frequency, with moments a little
// early and late and some of them missed, the comb is not its mirror image.
func TestCombBesideHalf(t *testing.T) {
	const row = 0.004
	for _, f := range []float64{122, 124.3, 125.7, 128} {
		rng := rand.New(rand.NewPCG(8, 1))
		var events []float64
		for k := 0.0; k < f*60; k++ {
			at := (k + 0.1*(rng.Float64()-0.5)) / f
			if rng.Float64() < 0.9 {
				events = append(events, math.Ceil(at/row)*row-row/2)
			}
		}
		c, ok := FindComb(events, row, 100, 0.93/row)
		if !ok || math.Abs(c.Frequency-f) > 0.05 {
			t.Errorf("%v Hz: found %v", f, c.Frequency)
		}
	}
}

// power is the power of events' phasors at a frequency, within stretches, as a share
// of a perfect comb's: what score gives for bundles of them.
func power(c *Comb, t []float64, f, length float64) float64 {
	sum, all := 0.0, 0.0
	for _, s := range c.stretches(t, f, length) {
		p := cmplx.Abs(s.mean) * s.n
		sum, all = sum+p*p, all+s.n*s.n
	}
	return sum / all
}

// Bundles, also joined ones, score as the events do.
func TestBundlesScoreAsEvents(t *testing.T) {
	const f, length = 118.1, 6.0
	events := combEventsOf(f, 0.003, 1500, 0.4, rand.New(rand.NewPCG(2, 2)))
	c := &Comb{start: events[0]}
	bundles := c.bundles(events, f, length/combBundles)
	for _, off := range []float64{0, 0.05 / length, -0.3 / length, 0.6 / length} {
		if got, want := score(bundles, off, length), power(c, events, f+off, length); math.Abs(got-want) > 1e-3 {
			t.Errorf("%v Hz off: score %v, events' %v", off, got, want)
		}
	}
	const moved = 0.02 / length
	twice := joined(bundles, moved, 2*length/combBundles)
	if n := len(bundles); len(twice) > n*51/100 {
		t.Errorf("%d bundles of %d are left", len(twice), n)
	}
	for _, off := range []float64{0, 0.2 / length} {
		if got, want := score(twice, off, 2*length), power(c, events, f+moved+off, 2*length); math.Abs(got-want) > 1e-3 {
			t.Errorf("joined, %v Hz off: score %v, events' %v", off, got, want)
		}
	}
}

// In a long recording a comb is found although most stretches hold only a few
// events by chance: the fullest are looked at.
func TestCombInTheFullestStretches(t *testing.T) {
	const f, row = 118.1, 0.003
	rng := rand.New(rand.NewPCG(7, 3))
	var events []float64
	for at := 0.0; at < 2*combSpectra*combRows*row; at += 0.5 + rng.Float64() {
		events = append(events, math.Ceil(at/row)*row-row/2)
	}
	busy := combEventsOf(f, row, 60, 0.9, rng)
	last := events[len(events)-1] + row
	for _, at := range busy {
		events = append(events, last+math.Round(at/row)*row)
	}
	if n := len(cutStretches(events, row)); n < combSpectra+100 {
		t.Fatalf("%d stretches", n)
	}
	if c, ok := FindComb(events, row, 100, 0.93/row); !ok || math.Abs(c.Frequency-f) > 0.01 {
		t.Errorf("found %v, %v; want %v Hz", c.Frequency, ok, f)
	}
	var all [][]float64
	for i := range 300 {
		all = append(all, make([]float64, 1+i*7%30, 50))
		all[i][0] = float64(i)
	}
	kept := fullest(all, 200)
	if len(kept) != 200 || !slices.IsSortedFunc(kept, func(a, b []float64) int { return int(a[0] - b[0]) }) {
		t.Errorf("%d stretches are kept, want 200 in order of time", len(kept))
	}
	for _, s := range kept {
		if len(s) <= 10 {
			t.Errorf("one of %d events is kept; the fullest have more than 10", len(s))
		}
	}
}
