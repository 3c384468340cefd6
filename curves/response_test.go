package curves

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// rudder is the example of the file format.
func rudder() Response {
	return Response{
		Kind:        TwoSided,
		Calibration: Calibration{Low: -31800, Centre: 112, High: 32250},
		Deadband:    Sides{Low: 0.034, High: 0.021},
		EndMargin:   Sides{Low: 0.01, High: 0.01},
		Low:         Power{1.62}, High: Power{1.62},
	}
}

func brake() Response {
	return Response{
		Kind:        OneSided,
		Calibration: Calibration{Low: -30000, High: 30000},
		Deadband:    Sides{Low: 0.1},
		EndMargin:   Sides{High: 0.1},
		High:        Power{2},
	}
}

// specified is the response as the file format states it, written a second
// time, in the format's own order and words.
func specified(r Response, counts float64) float64 {
	limit := func(x, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, x)) }
	c := r.Calibration
	if r.Kind == OneSided {
		u := limit((counts-c.Low)/(c.High-c.Low), 0, 1)
		d, m := r.Deadband.Low, r.EndMargin.High
		return r.High.At(limit((u-d)/(1-m-d), 0, 1))
	}
	u, d, m, shape, sign := 0.0, r.Deadband.High, r.EndMargin.High, r.High, 1.0
	if counts >= c.Centre {
		u = (counts - c.Centre) / (c.High - c.Centre)
	} else {
		u = (counts - c.Centre) / (c.Centre - c.Low)
		d, m, shape, sign = r.Deadband.Low, r.EndMargin.Low, r.Low, -1
	}
	u = limit(u, -1, 1)
	return sign * shape.At(limit((math.Abs(u)-d)/(1-m-d), 0, 1))
}

func TestResponseIsAsSpecified(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		if err := r.Check(); err != nil {
			t.Fatal(err)
		}
		counts := float64(rapid.IntRange(-32768, 32767).Draw(t, "counts"))
		if y, want := r.FromCounts(counts), specified(r, counts); math.Abs(y-want) > 1e-12 {
			t.Fatalf("%v counts command %v, expected %v", counts, y, want)
		}
	})
}

// Numbers worked out by hand.
func TestResponseByHand(t *testing.T) {
	r, b := rudder(), brake()
	for _, c := range []struct {
		r         *Response
		counts, y float64
	}{
		{&r, 112, 0},
		{&r, 112 + 0.021*32138, 0},
		{&r, 112 - 0.034*31912, 0},
		{&r, 32250, 1}, {&r, 32767, 1}, {&r, -31800, -1}, {&r, -32768, -1},
		// Half-way between deadband and end margin: 0.5^1.62 = 0.32534…
		{&r, 112 + (0.021+0.5*0.969)*32138, math.Exp2(-1.62)},
		{&r, 112 - (0.034+0.5*0.956)*31912, -math.Exp2(-1.62)},
		{&b, -30000, 0}, {&b, -24000, 0}, {&b, 0, 0.25}, {&b, 24000, 1}, {&b, 30000, 1},
		{&b, -12000, 0.0625},
	} {
		if y := c.r.FromCounts(c.counts); math.Abs(y-c.y) > 1e-12 {
			t.Errorf("%s: %v counts command %v, expected %v", c.r.Kind, c.counts, y, c.y)
		}
	}
}

func TestResponseNeverFallsAndEndsExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		if lo, hi := r.Command(lowest(r)), r.Command(1); lo != lowest(r) || hi != 1 {
			t.Fatalf("the ends command %v and %v", lo, hi)
		}
		if lo, hi := r.FromCounts(r.Calibration.Low), r.FromCounts(r.Calibration.High); lo != lowest(r) || hi != 1 {
			t.Fatalf("the stops command %v and %v", lo, hi)
		}
		a, b := anyPosition(t, r, "a"), anyPosition(t, r, "b")
		if lo, hi := r.Command(min(a, b)), r.Command(max(a, b)); lo > hi+1e-14 {
			t.Fatalf("falls from %v at %v to %v at %v", lo, min(a, b), hi, max(a, b))
		}
	})
}

// At a corner of the deadband the command is exactly 0, and just outside it no
// more than the shape makes of so small a step; likewise at full command.
func TestResponseIsContinuousAtItsCorners(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		for _, sign := range []float64{-1, 1} {
			if sign < lowest(r) {
				continue
			}
			s := r.sideOf(sign)
			step := rapid.Float64Range(1e-12, 1e-3).Draw(t, "step")
			most := s.shape.At(step/(s.full-s.dead)*(1+1e-9) + 1e-12)
			missing := 1 - s.shape.At(1-step/(s.full-s.dead)*(1+1e-9)-1e-12)
			if y := r.Command(sign * s.dead); y != 0 || math.Signbit(y) {
				t.Fatalf("the deadband's corner commands %v", y)
			}
			if y := sign * r.Command(sign*(s.dead+step)); y < 0 || y > most+1e-14 {
				t.Fatalf("%v outside the deadband the command is %v, at most %v fits", step, y, most)
			}
			if y := r.Command(sign * s.full); y != sign {
				t.Fatalf("the end margin's corner commands %v", y)
			}
			if y := sign * r.Command(sign*(s.full-step)); 1-y > missing+1e-14 {
				t.Fatalf("%v before the end margin the command is %v", step, y)
			}
		}
	})
}

func TestResponseSlopeIsTheDerivative(t *testing.T) {
	const h = 1e-7
	compared, flat := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		u := anyPosition(t, r, "u")
		if distanceTo(kinks(r, u), math.Abs(u)) < 1e-3 {
			t.Skip("too near a corner")
		}
		slope, numerical := r.Slope(u), (r.Command(u+h)-r.Command(u-h))/(2*h)
		s := r.sideOf(u)
		if a := math.Abs(u); a < s.dead || a > s.full {
			flat++
			if slope != 0 {
				t.Fatalf("flat at %v, but its slope is %v", u, slope)
			}
		}
		compared++
		if !near(slope, numerical, 1e-4) {
			t.Fatalf("slope at %v is %v, differences give %v", u, slope, numerical)
		}
	})
	if compared < 50 || flat == 0 {
		t.Errorf("compared %d slopes, %d of them in flat places", compared, flat)
	}
}

func TestResponseSlopeAtCornersAndBeyond(t *testing.T) {
	r := rudder()
	for _, u := range []float64{0, 0.021, -0.034, 0.01, -0.01, 0.99, -0.99, 0.995, 1, -1, 1.5, -1.5} {
		if slope := r.Slope(u); slope != 0 {
			t.Errorf("slope at %v is %v, expected 0", u, slope)
		}
	}
	through := StraightThrough(TwoSided)
	for u, want := range map[float64]float64{0: 1, 1: 1, -1: 1, 0.5: 1, 1.01: 0, -1.01: 0} {
		if slope := through.Slope(u); slope != want {
			t.Errorf("straight through: slope at %v is %v, expected %v", u, slope, want)
		}
	}
	b := brake() // 2·v/0.8 at the middle
	if slope := b.Slope(0.5); !near(slope, 1.25, 1e-12) {
		t.Errorf("slope of the brake at its middle is %v, expected 1.25", slope)
	}
	if b.Slope(-0.1) != 0 {
		t.Error("a one-sided axis has a slope below its stop")
	}
}

func TestInverseOfResponse(t *testing.T) {
	invertible := 0
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		y := rapid.Float64Range(lowest(r), 1).Draw(t, "y")
		u := r.Inverse(y)
		// A step of one bit in u may be a large one in y where the slope is steep.
		if got := r.Command(u); math.Abs(got-y) > 1e-9 && !steepAt(r, u, y) {
			t.Fatalf("%v is commanded at %v, which commands %v", y, u, got)
		}
		at := anyPosition(t, r, "u")
		back := r.Inverse(r.Command(at))
		if math.Abs(back) > math.Abs(at)+1e-9 {
			t.Fatalf("Inverse(Command(%v)) = %v is farther out", at, back)
		}
		// With a slope the response is invertible; how well follows from it.
		if slope := r.Slope(at); slope > 1e-3 {
			invertible++
			if math.Abs(back-at) > 1e-9 {
				t.Fatalf("Inverse(Command(%v)) = %v", at, back)
			}
		}
	})
	if invertible < 30 {
		t.Errorf("only %d invertible places met", invertible)
	}
}

// steepAt says whether y lies between the commands of u's two neighbours.
func steepAt(r Response, u, y float64) bool {
	const nearby = 1e-15
	return r.Command(u-nearby) <= y && y <= r.Command(u+nearby)
}

func TestInverseAtTheEndsAndAtRest(t *testing.T) {
	r, b := rudder(), brake()
	for _, c := range []struct {
		r    *Response
		y, u float64
	}{
		{&r, 0, 0}, {&r, 1, 0.99}, {&r, -1, -0.99}, {&r, 2, 0.99}, {&b, 0, 0}, {&b, 1, 0.9}, {&b, -1, 0}, {&b, 0.25, 0.5},
	} {
		if u := c.r.Inverse(c.y); !near(u, c.u, 1e-12) || math.Signbit(u) != (c.u < 0) {
			t.Errorf("%s: Inverse(%v) = %v, expected %v", c.r.Kind, c.y, u, c.u)
		}
	}
}

func TestCountsOfPositionsAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		u := anyPosition(t, r, "u")
		if back := r.Position(r.ToCounts(u)); math.Abs(back-u) > 1e-10 {
			t.Fatalf("position %v comes back as %v", u, back)
		}
		c := r.Calibration
		counts := rapid.Float64Range(c.Low, c.High).Draw(t, "counts")
		if back := r.ToCounts(r.Position(counts)); math.Abs(back-counts) > 1e-8 {
			t.Fatalf("%v counts come back as %v", counts, back)
		}
		beyond := rapid.Float64Range(0, 5000).Draw(t, "beyond the stops")
		if lo, hi := r.Position(c.Low-beyond), r.Position(c.High+beyond); lo != lowest(r) || hi != 1 {
			t.Fatalf("%v counts beyond the stops are at %v and %v", beyond, lo, hi)
		}
		if r.ToCounts(lowest(r)-1) != r.ToCounts(lowest(r)) || r.ToCounts(2) != r.ToCounts(1) {
			t.Fatal("positions beyond the stops have counts of their own")
		}
	})
}

func TestCompiledIsTheResponse(t *testing.T) {
	for _, r := range []Response{rudder(), brake(), StraightThrough(TwoSided), StraightThrough(OneSided)} {
		c := r.Compile()
		previous := -1.0
		for i := math.MinInt16; i <= math.MaxInt16; i++ {
			got, want := c.Command(int16(i)), specified(r, float64(i))
			if !near(got, want, 1e-12) || got < previous {
				t.Fatalf("%d counts compile to %v after %v, expected %v", i, got, previous, want)
			}
			previous = got
		}
	}
}

func TestCompiledIsTheResponseAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		c := r.Compile()
		for i := math.MinInt16; i <= math.MaxInt16; i += 97 {
			if got, want := c.Command(int16(i)), r.FromCounts(float64(i)); got != want {
				t.Fatalf("%d counts compile to %v, expected %v", i, got, want)
			}
		}
	})
}

func TestCompiledDoesNotAllocate(t *testing.T) {
	r := rudder()
	c := r.Compile()
	sum := 0.0
	if n := testing.AllocsPerRun(1000, func() { sum += c.Command(12345) }); n != 0 || sum == 0 {
		t.Errorf("%v allocations a command, sum %v", n, sum)
	}
}

// A minute of samples at 1000 Hz: of a stick that is held and corrected, and of one
// that is thrown from stop to stop twice a second, each with noise. How far apart
// neighbouring samples lie decides how much of the table is in the cache.
func BenchmarkCompiled(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	for name, at := range map[string]func(seconds float64) float64{
		"held":   func(t float64) float64 { return 3000*math.Sin(0.7*t) + 1500*math.Sin(2.9*t) },
		"thrown": func(t float64) float64 { return 32000 * math.Sin(4*math.Pi*t) },
	} {
		samples := make([]int16, 60_000)
		for i := range samples {
			samples[i] = int16(at(float64(i)/1000) + 40*rng.NormFloat64())
		}
		r := rudder()
		c := r.Compile()
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			sum := 0.0
			for done := 0; done < b.N; done += len(samples) {
				for _, v := range samples[:min(len(samples), b.N-done)] {
					sum += c.Command(v)
				}
			}
			if b.N > len(samples) && sum == 0 {
				b.Fatal("all commands are 0")
			}
		})
	}
}

func BenchmarkResponse(b *testing.B) {
	r := rudder()
	b.ReportAllocs()
	for i := range b.N {
		r.FromCounts(float64(int16(i)))
	}
}

func BenchmarkCompile(b *testing.B) {
	r := rudder()
	for range b.N {
		r.Compile()
	}
}

func TestCheckRefuses(t *testing.T) {
	for says, spoil := range map[string]func(*Response){
		`kind: is "", expected "two-sided" or "one-sided"`:     func(r *Response) { r.Kind = "" },
		"calibration.low: is -40000, expected -32768 to 32767": func(r *Response) { r.Calibration.Low = -40000 },
		"calibration.high: is NaN":                             func(r *Response) { r.Calibration.High = math.NaN() },
		"calibration.centre: is 32250": func(r *Response) {
			r.Calibration.Centre = math.Inf(1)
			r.Calibration.Centre = 32250
			r.Calibration.High = 32250.5
			r.Calibration.Low = 32249.5
		},
		"calibration.high: is 100, expected at least 1 count above the centre":   func(r *Response) { r.Calibration.High = 100 },
		"calibration.centre: is -32000, expected at least 1 count above the low": func(r *Response) { r.Calibration.Centre = -32000 },
		"deadband.low: is -0.1, expected 0 to 0.999":                             func(r *Response) { r.Deadband.Low = -0.1 },
		"deadband.high: is 1":                                                       func(r *Response) { r.Deadband.High = 1 },
		"end_margin.high: is 0.98, expected 0 to 0.97":                              func(r *Response) { r.EndMargin.High = 0.98 },
		"end_margin.low: is NaN":                                                    func(r *Response) { r.EndMargin.Low = math.NaN() },
		"shape.low: is missing":                                                     func(r *Response) { r.Low = nil },
		"shape.high: is missing":                                                    func(r *Response) { r.High = nil },
		"shape.high.exponent: is 0.19, expected 0.2 to 8":                           func(r *Response) { r.High = Power{0.19} },
		"shape.low.share: is -0.51, expected -0.5 to 1":                             func(r *Response) { r.Low = Blend{-0.51} },
		"deadband.high: is 0.021, expected 0; a one-sided axis has its deadband at": func(r *Response) { r.Kind = OneSided },
	} {
		r := rudder()
		spoil(&r)
		if err := r.Check(); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("the error is %v, expected %q", err, says)
		}
	}
	b := brake()
	b.EndMargin.Low = 0.1
	if err := b.Check(); err == nil || !strings.HasPrefix(err.Error(), "end_margin.low: is 0.1, expected 0") {
		t.Errorf("the error is %v", err)
	}
	b = brake()
	b.Calibration.High = b.Calibration.Low
	if err := b.Check(); err == nil || !strings.HasPrefix(err.Error(), "calibration.high") {
		t.Errorf("the error is %v", err)
	}
}
