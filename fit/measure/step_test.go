package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"halfstick/input"
)

// sdlCounts scales a code as the input library does, in single precision
// (SDL 2.26.5, joystick/linux, read from its source).
func sdlCounts(code, most int) int {
	return int(math.Floor(float64(float32(float32(code)*65535)/float32(most)-32768) + 0.5))
}

// Every width from 5 to 15 bits, all codes seen or a few, a short stretch or
// the whole: the step must come out as 65,535 over the number of codes.
func TestLatticeOfScaledCodes(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	n := 0
	for bits := 5; bits <= 15; bits++ {
		most := 1<<bits - 1
		for _, share := range []float64{1, 0.6, 0.2} {
			for _, span := range []float64{1, 0.5} {
				from := rng.IntN(1 + int(float64(most)*(1-span)))
				var values []int
				for c := from; c <= from+int(float64(most)*span); c++ {
					if rng.Float64() <= share {
						values = append(values, sdlCounts(c, most))
					}
				}
				if len(values) < 20 {
					continue
				}
				l, ok := findLattice(values)
				want := 65535 / float64(most)
				n++
				if !ok || math.Abs(l.step/want-1) > 1e-3/float64(most) && l.low > want || l.high < want || math.Abs(l.step/want-1) > 1e-4 {
					t.Errorf("%d bits, %d codes over %.0f %%: step %v [%v, %v], want %v (%s)", bits, len(values), 100*span, l.step, l.low, l.high, want, l.how)
				}
			}
		}
	}
	if n < 50 {
		t.Fatalf("only %d cases", n)
	}
}

func TestLatticeTenBits(t *testing.T) {
	var values []int
	for c := range 1024 {
		values = append(values, sdlCounts(c, 1023))
	}
	l, ok := findLattice(values)
	if !ok || l.step != 65535.0/1023 {
		t.Fatalf("step %v, want 65535/1023 = %v", l.step, 65535.0/1023)
	}
	if q := l.bits(); math.Abs(q.Value-math.Log2(65536*1023/65535.0)) > 1e-12 {
		t.Errorf("effective bits %v", q.Value)
	}
}

// A 12-bit code that leaves its two low bits unused is a step of four codes,
// not a 10-bit range: 65535·4/4095.
func TestLatticeUnusedBits(t *testing.T) {
	var values []int
	for c := 0; c < 4096; c += 4 {
		values = append(values, sdlCounts(c, 4095))
	}
	want := 4 * 65535.0 / 4095
	if l, ok := findLattice(values); !ok || math.Abs(l.step-want) > 1e-3 || l.low > want || l.high < want {
		t.Errorf("from counts: %v [%v, %v], want %v", l.step, l.low, l.high, want)
	}
	if l, ok := codeLattice(values, 0, 4095); !ok || l.step != want {
		t.Errorf("from codes: %v, want %v", l.step, want)
	}
}

func TestLatticeOfTooFew(t *testing.T) {
	if l, ok := findLattice([]int{0, 64, 128}); ok {
		t.Errorf("three counts gave %v", l)
	}
	if l, ok := findLattice(nil); ok {
		t.Errorf("no counts gave %v", l)
	}
	if l, ok := codeLattice([]int{0, 128, 256}, 0, 1023); !ok || l.step != 65535.0/1023 {
		t.Errorf("three counts of known codes gave %v", l)
	}
}

// Blended values, as a filter between sensor and program makes them, lie on no
// lattice wider than a count or two.
func TestLatticeOfBlended(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	seen := map[int]bool{}
	var values []int
	for range 20000 {
		seen[rng.IntN(60000)-30000] = true
	}
	for v := -30000; v < 30000; v++ {
		if seen[v] {
			values = append(values, v)
		}
	}
	if l, ok := findLattice(values); !ok || l.step != 1 {
		t.Errorf("step %v, want 1", l.step)
	}
}

// The report rate must come out whatever the sampling, and never as the
// sampling rate's own.
func TestReportRate(t *testing.T) {
	for _, c := range []struct{ report, rate float64 }{
		{60, 250}, {60, 1000}, {100, 500}, {125, 250}, {125, 500}, {125, 1000}, {200, 500}, {250, 500}, {250, 1000}, {333, 1000},
	} {
		d := usual()
		d.reportHz, d.rateHz = c.report, c.rate
		a := d.measure(t, d.whole()...)
		q := a.Timing.ReportHz
		if q == nil || math.Abs(q.Value/c.report-1) > 0.01 {
			t.Errorf("%g Hz sampled at %g: %+v", c.report, c.rate, q)
		}
	}
	d := usual()
	d.reportHz, d.rateHz = 1000, 500
	q := d.measure(t, d.whole()...).Timing.ReportHz
	if q == nil || q.Low != nil || q.Value < 400 || q.Value > 510 {
		t.Errorf("faster than sampled: %+v", q)
	}
}

func TestAbsentCells(t *testing.T) {
	d := usual()
	rec := d.record(d.whole()...)
	edit(rec, func(i int, row *input.Row) bool {
		// Not there at first, and gone for 0.4 s within the rest.
		row.Present[0] = i >= 100 && (i < 14000 || i >= 14200)
		return true
	})
	m, err := Recording(rec, "absent")
	if err != nil {
		t.Fatal(err)
	}
	a := &m.Axes[0]
	if q := a.Timing.LostSamples; q == nil || q.Value != 200 {
		t.Errorf("lost samples %+v, want 200: those before the first report are not lost", q)
	}
	if f := code(a, "dropouts"); f == nil || f.Severity != Repair {
		t.Errorf("a device gone for 0.4 s: %+v", f)
	}
	if s := a.Rest.Sigma; s == nil || math.Abs(s.Value/(1.5*65535/4095)-1) > 0.1 {
		t.Errorf("σ %+v with a gap in the rest", s)
	}
}

// Where a recording was gone on with, cells are empty until the axis is moved:
// no device was gone.
func TestAbsentAfterGoingOn(t *testing.T) {
	for _, gapUS := range []int64{input.AppendGapUS, 0} {
		d := usual()
		rec := d.record(d.whole()...)
		period := rec.Times.At(1) - rec.Times.At(0)
		edit(rec, func(i int, row *input.Row) bool {
			row.Present[0] = i < 14000 || i >= 14200
			if i >= 14000 && gapUS > 0 {
				row.AtUS += gapUS - period
			}
			return true
		})
		m, err := Recording(rec, "gone on with")
		if err != nil {
			t.Fatal(err)
		}
		want := map[bool]float64{true: 0, false: 200}[gapUS > 0]
		if q := m.Axes[0].Timing.LostSamples; q == nil || q.Value != want {
			t.Errorf("gap of %d µs: lost samples %+v, want %g", gapUS, q, want)
		}
		if f := code(&m.Axes[0], "dropouts"); (f == nil) != (want == 0) {
			t.Errorf("gap of %d µs: %+v", gapUS, f)
		}
	}
}

func TestAxisNeverPresent(t *testing.T) {
	d := usual()
	rec := d.record(d.whole()...)
	edit(rec, func(_ int, row *input.Row) bool { row.Present[0] = false; return true })
	m, err := Recording(rec, "never")
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Axes[0].Notes) == 0 || code(&m.Axes[0], "too-little-data") == nil {
		t.Errorf("%+v", m.Axes[0])
	}
}
