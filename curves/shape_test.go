package curves

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

func TestShapesRiseFromZeroToOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyShape().Draw(t, "shape")
		for _, end := range []struct{ v, y float64 }{{0, 0}, {1, 1}, {-0.3, 0}, {1.3, 1}} {
			if y := s.At(end.v); y != end.y {
				t.Fatalf("At(%v) = %v, expected %v exactly", end.v, y, end.y)
			}
		}
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		const rounding = 1e-14
		if lo, hi := s.At(min(a, b)), s.At(max(a, b)); lo > hi+rounding || lo < 0 || hi > 1 {
			t.Fatalf("falls or leaves 0…1: At(%v) = %v, At(%v) = %v", min(a, b), lo, max(a, b), hi)
		}
	})
}

// The formulas of the file format, written a second time.
func TestShapeFormulas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 1).Draw(t, "v")
		p := rapid.Float64Range(MinExponent, MaxExponent).Draw(t, "p")
		k := rapid.Float64Range(MinShare, MaxShare).Draw(t, "k")
		for _, c := range []struct {
			shape Shape
			want  float64
		}{
			{Straight{}, v},
			{Power{p}, math.Exp(p * math.Log(v))},
			{Blend{k}, (1-k)*v + k*v*v*v},
		} {
			if y := c.shape.At(v); !near(y, c.want, 1e-13) {
				t.Fatalf("%s %v at %v is %v, expected %v", c.shape.Name(), c.shape, v, y, c.want)
			}
		}
	})
}

func TestShapeSlopeIsTheDerivative(t *testing.T) {
	const h = 1e-7
	rapid.Check(t, func(t *rapid.T) {
		s := anyShape().Draw(t, "shape")
		v := rapid.Float64Range(0.02, 0.98).Draw(t, "v")
		marks := []float64{0, 1}
		if p, ok := s.(*Points); ok {
			marks = p.xs // the second derivative jumps there
		}
		if distanceTo(marks, v) < 2*h {
			t.Skip("too near a node")
		}
		numerical := (s.At(v+h) - s.At(v-h)) / (2 * h)
		if slope := s.Slope(v); !near(slope, numerical, 1e-5) {
			t.Fatalf("slope at %v is %v, differences give %v", v, slope, numerical)
		}
		if s.Slope(-0.01) != 0 || s.Slope(1.01) != 0 {
			t.Fatal("the slope outside 0…1 is not 0, but the curve is constant there")
		}
	})
}

func TestShapeSlopeAtTheEnds(t *testing.T) {
	bent, err := NewPoints([][2]float64{{0, 0}, {0.5, 0.2}, {1, 1}})
	if err != nil {
		t.Fatal(err)
	}
	// Three-point formula: ((2h+h)·0.4 − h·1.6)/2h < 0, so 0; (3·1.6 − 0.4)/2 = 2.2.
	for _, c := range []struct {
		shape       Shape
		start, stop float64
	}{
		{Straight{}, 1, 1},
		{Power{1}, 1, 1},
		{Power{2}, 0, 2},
		{Power{0.5}, math.Inf(1), 0.5},
		{Blend{0.4}, 0.6, 1.8},
		{Blend{-0.5}, 1.5, 0},
		{bent, 0, 2.2},
	} {
		if a, b := c.shape.Slope(0), c.shape.Slope(1); a != c.start && !near(a, c.start, 1e-12) || !near(b, c.stop, 1e-12) {
			t.Errorf("%s: slopes %v and %v, expected %v and %v", c.shape.Name(), a, b, c.start, c.stop)
		}
	}
}

func TestShapeInverseIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyShape().Draw(t, "shape")
		y := rapid.Float64Range(0, 1).Draw(t, "y")
		v := s.Inverse(y)
		if !near(s.At(v), y, 1e-12) {
			t.Fatalf("At(Inverse(%v)) = %v", y, s.At(v))
		}
		if before := v - 1e-6; before > 0 && s.At(before) > y+1e-14 {
			t.Fatalf("Inverse(%v) = %v, but %v reaches it already", y, v, before)
		}
		at := rapid.Float64Range(0, 1).Draw(t, "v")
		if back := s.Inverse(s.At(at)); back > at+1e-9 {
			t.Fatalf("Inverse(At(%v)) = %v is not the smallest", at, back)
		}
		if s.Inverse(-0.1) != 0 || s.Inverse(1.1) != s.Inverse(1) {
			t.Fatal("Inverse does not clamp")
		}
	})
}

// Where a curve is flat, the inverse is the start of the flat stretch.
func TestInverseOfAFlatStretch(t *testing.T) {
	p, err := NewPoints([][2]float64{{0, 0}, {0.25, 0.5}, {0.75, 0.5}, {1, 1}})
	if err != nil {
		t.Fatal(err)
	}
	if v := p.Inverse(0.5); v != 0.25 {
		t.Errorf("Inverse(0.5) = %v, expected 0.25", v)
	}
	if p.At(0.6) != 0.5 || p.Slope(0.6) != 0 {
		t.Errorf("the flat stretch has command %v and slope %v", p.At(0.6), p.Slope(0.6))
	}
}

// Between two turns the slope only rises or only falls; the error of a table
// relies on it.
func TestSlopeTurnsOnlyAtTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { checkTurns(t, anyPoints(t)) })
	// The last piece runs over 5/6 of the throw, and 1/6 + 5/6 rounds to above 1.
	p, err := NewPoints(cumulated([]int{3, 15}, []int{0, 1}))
	if err != nil {
		t.Fatal(err)
	}
	checkTurns(t, p)
}

func checkTurns(t rapid.TB, p *Points) {
	t.Helper()
	turns := p.turns()
	for i := 1; i < len(turns); i++ {
		const n = 50
		at := func(j int) float64 { // never past the turn: beyond 1 the slope is 0
			return min(turns[i], turns[i-1]+(turns[i]-turns[i-1])*float64(j)/n)
		}
		rises, falls := false, false
		for j := range n {
			a, b := p.Slope(at(j)), p.Slope(at(j+1))
			rises = rises || b > a+1e-9
			falls = falls || b < a-1e-9
		}
		if rises && falls {
			t.Fatalf("between %v and %v the slope rises and falls", turns[i-1], turns[i])
		}
	}
}

// Mean square slopes: ∫f′² is p²/(2p−1) for a power and (1−k)² + 2k(1−k) + 9k²/5
// for a blend (Bennett's integral for a curve; values checked with SciPy quad).
func TestMeanSquareSlope(t *testing.T) {
	for _, c := range []struct {
		curve string
		want  float64
	}{
		{"power:1.5", 1.125}, {"power:2", 4.0 / 3}, {"power:3", 1.8}, {"blend:0.5", 1.2}, {"blend:0.8", 1.512},
	} {
		s, err := ParseCurve(c.curve)
		if err != nil {
			t.Fatal(err)
		}
		got := quad.Fixed(func(v float64) float64 { return s.Slope(v) * s.Slope(v) }, 0, 1, 40, nil, 0)
		if !near(got, c.want, 1e-12) {
			t.Errorf("%s: mean square slope %v, expected %v", c.curve, got, c.want)
		}
	}
}

func TestParseCurve(t *testing.T) {
	for text, want := range map[string]Shape{
		"straight": Straight{}, "power:1.6": Power{1.6}, "blend:0.4": Blend{0.4}, "blend:-0.5": Blend{-0.5},
	} {
		if got, err := ParseCurve(text); err != nil || got != want {
			t.Errorf("%q gives %v, %v", text, got, err)
		}
	}
	for text, says := range map[string]string{
		"":            "straight, power:1.6 or blend:0.4",
		"straight:1":  "straight, power:1.6 or blend:0.4",
		"cube":        "straight, power:1.6 or blend:0.4",
		"power":       "straight, power:1.6 or blend:0.4",
		"power:":      "not a number",
		"power:x":     "not a number",
		"power:-1":    "exponent: is -1, expected 0.2 to 8",
		"power:NaN":   "exponent: is NaN, expected 0.2 to 8",
		"blend:1.01":  "share: is 1.01, expected -0.5 to 1",
		"points:0,0":  "straight, power:1.6 or blend:0.4",
		"blend:0.4,1": "not a number",
	} {
		if got, err := ParseCurve(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q gives %v and the error %v, expected one that says %q", text, got, err, says)
		}
	}
}

func TestNewPointsRefuses(t *testing.T) {
	for says, points := range map[string][][2]float64{
		"points: is 0 long":                   nil,
		"points: is 1 long":                   {{0, 0}},
		"points[0]: is [0.1,0]":               {{0.1, 0}, {1, 1}},
		"points[1]: is [1,0.9]":               {{0, 0}, {1, 0.9}},
		"points[2]: is [0.6,0.3]":             {{0, 0}, {0.5, 0.4}, {0.6, 0.3}, {1, 1}},
		"points[2]: is [0.5,0.5]":             {{0, 0}, {0.5, 0.4}, {0.5, 0.5}, {1, 1}},
		"points[1]: is [NaN,0.4]":             {{0, 0}, {math.NaN(), 0.4}, {1, 1}},
		"points[1]: is [0.5,-1]":              {{0, 0}, {0.5, -1}, {1, 1}},
		"points[2]: is [0.5000001,0.5], expe": {{0, 0}, {0.5, 0.4}, {0.5000001, 0.5}, {1, 1}},
	} {
		if _, err := NewPoints(points); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("%v gives the error %v, expected %q", points, err, says)
		}
	}
}

// FuzzParseCurve: whatever is written, it is refused with what would do, or a
// shape that keeps the promises of shapes.
func FuzzParseCurve(f *testing.F) {
	for _, seed := range []string{"straight", "power:1.6", "blend:-0.5", "blend:1", "power:0.2", "power:0x1p1", "power:1e-1", "points:0,0", "power:NaN", ":", "blend:\x00"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseCurve(text)
		if err != nil {
			if s != nil || !strings.HasPrefix(err.Error(), "curve ") || strings.Contains(err.Error(), "\n") {
				t.Fatalf("%q gives %v and the error %q", text, s, err)
			}
			return
		}
		before := 0.0
		for i := range 65 {
			v := float64(i) / 64
			y := s.At(v)
			if !(y >= before && y <= 1) || i == 64 && y != 1 {
				t.Fatalf("%q is %v at %v, after %v", text, y, v, before)
			}
			before = y
		}
	})
}
