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
			c, ok := FindComb(slices.Values(events), row, 0.6*f, 0.95/row)
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
	c, ok := FindComb(slices.Values(events), row, 80, 900)
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
	if c, ok := FindComb(slices.Values(chance), 0.002, 100, 460); ok {
		t.Errorf("a comb of %v Hz in events by chance", c.Frequency)
	}
	// A crossing every 72 ms looks like 333 − 13.9 Hz.
	var slow []float64
	for at := 0.0; at < 60; at += 0.072 {
		slow = append(slow, math.Ceil((at+0.03*rng.Float64())/0.003)*0.003)
	}
	if c, ok := FindComb(slices.Values(slow), 0.003, 200, 0.97/0.003); ok {
		t.Errorf("a comb of %v Hz in slow events", c.Frequency)
	}
	if _, ok := FindComb(slices.Values(slow[:20]), 0.003, 5, 20); ok {
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
	c, ok := FindComb(slices.Values(events), 0.002, 80, 460)
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
		if c, ok := FindComb(slices.Values(paused), row, 0.6*f, 0.95/row); ok && math.Abs(c.Frequency-f) > 0.01 {
			t.Errorf("a pause of %g s: found %v Hz", pause, c.Frequency)
		}
	}
	c, _ := FindComb(slices.Values(events), row, 0.6*f, 0.95/row)
	if len(c.phases) == 0 || len(c.phases) > 5 {
		t.Errorf("%d phases of a minute", len(c.phases))
	}
}

// The grid's phase is straight between stretches that follow one another, and that
// of the nearest where it was not seen for longer.
func TestCombIsLateAsSeen(t *testing.T) {
	c := Comb{Frequency: 2, start: 100, length: 10, phases: []combPhase{{at: 5, late: 0.1}, {at: 15, late: 0.3}, {at: 95, late: 0.7}}}
	for _, w := range []struct{ at, late float64 }{{-50, 0.1}, {5, 0.1}, {10, 0.2}, {14, 0.28}, {50, 0.3}, {60, 0.7}, {95, 0.7}, {200, 0.7}} {
		if got := 2*w.at - c.Cycles(100+w.at); math.Abs(got-w.late) > 1e-9 {
			t.Errorf("at %v s the grid is %v late, want %v", w.at, got, w.late)
		}
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
		c, ok := FindComb(slices.Values(events), row, 100, 0.93/row)
		if !ok || math.Abs(c.Frequency-f) > 0.05 {
			t.Errorf("%v Hz: found %v", f, c.Frequency)
		}
	}
}

// power is the power of events' phasors at a frequency, within stretches, as a share
// of a perfect comb's: what score gives for bundles of them.
func power(t []float64, start, f, length float64) float64 {
	sums, counts := map[float64]complex128{}, map[float64]float64{}
	for _, at := range t {
		k := math.Floor((at - start) / length)
		sums[k] += cmplx.Rect(1, 2*math.Pi*f*(at-start))
		counts[k]++
	}
	sum, all := 0.0, 0.0
	for k, s := range sums {
		sum, all = sum+real(s)*real(s)+imag(s)*imag(s), all+counts[k]*counts[k]
	}
	return sum / all
}

// Bundles, also joined ones, score as the events do.
func TestBundlesScoreAsEvents(t *testing.T) {
	const f, length = 118.1, 6.0
	events := combEventsOf(f, 0.003, 1500, 0.4, rand.New(rand.NewPCG(2, 2)))
	c := &Comb{start: events[0]}
	b := c.bundles(slices.Values(events), f, length/combBundles)
	for _, off := range []float64{0, 0.05 / length, -0.3 / length, 0.6 / length} {
		if got, want := b.score(f+off, length), power(events, c.start, f+off, length); math.Abs(got-want) > 1.5e-3 {
			t.Errorf("%v Hz off: score %v, events' %v", off, got, want)
		}
	}
	const moved = f + 0.02/length
	twice := b.joined(moved, 2*length/combBundles)
	if n := len(b.list); len(twice.list) > n*51/100 {
		t.Errorf("%d bundles of %d are left", len(twice.list), n)
	}
	for _, off := range []float64{0, 0.2 / length} {
		if got, want := twice.score(moved+off, 2*length), power(events, c.start, moved+off, 2*length); math.Abs(got-want) > 1.5e-3 {
			t.Errorf("joined, %v Hz off: score %v, events' %v", off, got, want)
		}
	}
}

// The best frequency is found wherever within half a resolution it lies, and to
// a small part of one, from few places.
func TestBestFrequency(t *testing.T) {
	const f, length = 118.1, 6.0
	events := combEventsOf(f, 0.003, 60, 0.6, rand.New(rand.NewPCG(4, 2)))
	c := &Comb{start: events[0]}
	for _, off := range []float64{-0.5, -0.31, -0.1, 0, 0.24, 0.45} {
		b := c.bundles(slices.Values(events), f+off/length, length/combBundles)
		if got, s := b.best(f+off/length, length); math.Abs(got-f) > 0.03/length || s < b.score(f, length)-0.002 {
			t.Errorf("from %v resolutions off: found %v off, score %v, best %v", off, (got-f)*length, s, b.score(f, length))
		}
	}
}

// In a long recording a comb is found although most stretches hold only a few
// events by chance: the fullest are looked at.
func TestCombInTheFullestStretches(t *testing.T) {
	const f, row = 118.1, 0.003
	rng := rand.New(rand.NewPCG(7, 3))
	var events []float64
	for at := 0.0; at < 400*combRows*row; at += 0.5 + rng.Float64() {
		events = append(events, math.Ceil(at/row)*row-row/2)
	}
	busy := combEventsOf(f, row, 60, 0.9, rng)
	last := events[len(events)-1] + row
	for _, at := range busy {
		events = append(events, last+math.Round(at/row)*row)
	}
	if s := surveyOf(slices.Values(events), row); len(s.sizes) < 300 || s.n != len(events) || s.first != events[0] || s.last != events[len(events)-1] {
		t.Fatalf("%d stretches of %d events from %v to %v s", len(s.sizes), s.n, s.first, s.last)
	}
	if c, ok := FindComb(slices.Values(events), row, 100, 0.93/row); !ok || math.Abs(c.Frequency-f) > 0.01 {
		t.Errorf("found %v, %v; want %v Hz", c.Frequency, ok, f)
	}
	// Of equal ones the first are taken, and no more than asked for.
	if got, want := fullest([]int{3, 5, 1, 3, 4, 3}, 4), []bool{true, true, false, true, true, false}; !slices.Equal(got, want) {
		t.Errorf("the fullest are %v, want %v", got, want)
	}
	if got := fullest([]int{3, 5}, 4); !slices.Equal(got, []bool{true, true}) {
		t.Errorf("of two the fullest four are %v", got)
	}
}

// warmed is how many cycles a device's clock is late by and by: it gains while it
// warms up, and swings with the room.
func warmed(at float64) float64 {
	return 4*math.Exp(-at/1500) + 0.7*math.Sin(at/150)
}

// Late in hours, and behind a pause that the clock wandered through, the grid's
// moments are where the events are, and the interval holds the mean frequency.
func TestCombFollowsForHours(t *testing.T) {
	const f, row, hours = 123.7, 0.001, 3.0
	rng := rand.New(rand.NewPCG(6, 1))
	var events, ks []float64
	for k := 0.0; k < f*3600*hours; k++ {
		at := (k + warmed(k/f)) / f
		if at > 4000 && at < 6500 || math.Mod(at, 60) > 20 && rng.Float64() > 0.02 || rng.Float64() > 0.6 {
			continue
		}
		events, ks = append(events, math.Ceil(at/row)*row-row/2), append(ks, k)
	}
	c, ok := FindComb(slices.Values(events), row, 80, 900)
	if !ok {
		t.Fatal("no comb found")
	}
	last := len(ks) - 1
	mean := (ks[last] - ks[0]) / (events[last] - events[0])
	if c.Low > mean || c.High < mean || c.High-c.Low > 2e-3 {
		t.Errorf("%v to %v Hz; the mean is %v", c.Low, c.High, mean)
	}
	// Of each minute: the mean of what the moments are off. Within the first the
	// clock gains a sixth of a cycle, and there is no stretch before it.
	offs := map[int][]float64{}
	for _, at := range events {
		cycles := c.Cycles(at)
		offs[int(at/60)] = append(offs[int(at/60)], cycles-math.Round(cycles))
	}
	if len(offs) < 135 {
		t.Fatalf("%d minutes", len(offs))
	}
	for minute, off := range offs {
		if m, _ := MeanSD(off); len(off) > 100 && math.Abs(m) > 0.055 {
			t.Errorf("in minute %d moments are %.3f periods off", minute, m)
		}
	}
}

// What passes in a pause longer than the grid holds says nothing of its frequency;
// in a shorter one it does.
func TestSlopeOfParts(t *testing.T) {
	const f = 100.0
	var events []float64
	for k := range 10_000 {
		events = append(events, float64(k)/f)
	}
	for k := range 10_000 {
		events = append(events, 1100+(float64(k)+0.3)/f)
	}
	b := new(Comb).bundles(slices.Values(events), f, 1)
	slope, half, ok := slopeOf(b.phases(f, 5, 500))
	if !ok || math.Abs(slope) > 1e-9 || half > 1e-9 {
		t.Errorf("slope %v ± %v, want 0", slope, half)
	}
	// Two places 1100 s apart, each 100 s long.
	if slope, _, ok := slopeOf(b.phases(f, 5, 2000)); !ok || math.Abs(slope*1100/0.3-1) > 0.01 {
		t.Errorf("in one part: slope %v, want %v", slope, 0.3/1100)
	}
	if _, _, ok := slopeOf([]combPhase{{at: 0, n: 1}, {at: 1, n: 1, late: 0.1}, {at: 9, n: 1, part: 1}}); ok {
		t.Error("three phases of two parts leave no scatter, but an interval is given")
	}
}

// The interval holds the mean frequency of clocks that wander by chance.
func TestCombIntervalOfAWander(t *testing.T) {
	const f, row, runs = 61.37, 0.004, 60
	held := 0
	for s := range uint64(runs) {
		rng := rand.New(rand.NewPCG(s, 8))
		late := 0.0
		var events, ks []float64
		for k := 0.0; k < f*900; k++ {
			late += 0.003 * rng.NormFloat64()
			if rng.Float64() < 0.6 {
				events, ks = append(events, math.Ceil((k+late)/f/row)*row-row/2), append(ks, k)
			}
		}
		c, ok := FindComb(slices.Values(events), row, 0.6*f, 0.95/row)
		last := len(ks) - 1
		mean := (ks[last] - ks[0]) / (events[last] - events[0])
		if ok && c.Low <= mean && mean <= c.High {
			held++
		}
	}
	// 52: a few blocks tell little of how a clock wanders. Blocks taken as independent
	// gave 30.
	if held < 46 {
		t.Errorf("%d of %d intervals hold the mean frequency", held, runs)
	}
}
