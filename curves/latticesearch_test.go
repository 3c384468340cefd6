package curves

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// everyPath visits every path of so many pieces.
func (s latticeSide) everyPath(pieces int, visit func([]int)) {
	var from func(path []int)
	from = func(path []int) {
		if len(path) == pieces {
			visit(append(path, s.full))
			return
		}
		for a := path[len(path)-1] + 1; a < s.full; a++ {
			from(append(path, a))
		}
	}
	from([]int{s.dead})
}

// leastOfAll tries every path of so many pieces.
func leastOfAll(s latticeSide, pieces int) float64 {
	least := math.Inf(1)
	s.everyPath(pieces, func(path []int) { least = min(least, s.largestLineError(path)) })
	return least
}

// Of all tables in whole percents that have the corners and lie on the curve,
// the best errs least, for curves that bend one way.
func TestBestIsTheBestOfAllRoundedTables(t *testing.T) {
	better := 0
	rapid.Check(t, func(t *rapid.T) {
		r := StraightThrough(OneSided)
		r.Deadband.Low = rapid.Float64Range(0.3, 0.45).Draw(t, "deadband")
		r.EndMargin.High = rapid.Float64Range(0.35, 0.45).Draw(t, "end margin")
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0:
			r.High = Power{rapid.Float64Range(1.1, 4).Draw(t, "exponent")}
		case 1:
			r.High = Power{rapid.Float64Range(0.3, 0.9).Draw(t, "exponent")}
		default:
			r.High = Blend{rapid.Float64Range(0.1, 1).Draw(t, "share")}
		}
		s := r.sides(0)[0]
		pieces := rapid.IntRange(1, min(4, s.full-s.dead)).Draw(t, "pieces")
		want := leastOfAll(s, pieces)
		path, got := s.bestPath(pieces)
		if got > want+1e-12 || math.Abs(got-s.largestLineError(path)) > 1e-12 {
			t.Fatalf("%v errs by %v, said %v, the least is %v", path, s.largestLineError(path), got, want)
		}
		if s.largestLineError(s.onCurve(pieces)) > got+1e-6 {
			better++
		}
	})
	if better < 10 {
		t.Errorf("searching helped only %d times", better)
	}
}

// Every path that errs less than one already known lies in the windows, also
// where rounding is most of the error.
func TestWindowsHoldEveryPathAsGood(t *testing.T) {
	held := 0
	rapid.Check(t, func(t *rapid.T) {
		r := StraightThrough(OneSided)
		r.Deadband.Low = rapid.Float64Range(0.3, 0.45).Draw(t, "deadband")
		r.EndMargin.High = rapid.Float64Range(0.35, 0.45).Draw(t, "end margin")
		r.High = Blend{rapid.Float64Range(0.02, 0.4).Draw(t, "share")}
		s := r.sides(0)[0]
		pieces := rapid.IntRange(2, min(4, s.full-s.dead)).Draw(t, "pieces")
		err := s.largestLineError(s.onCurve(pieces))
		lo, hi := s.windows(pieces, err)
		s.everyPath(pieces, func(path []int) {
			if s.largestLineError(path) >= err*(1-1e-9) {
				return
			}
			held++
			for i, a := range path {
				if a < lo[i] || a > hi[i] {
					t.Fatalf("%v errs by less than %v but leaves the windows from %v to %v", path, err, lo, hi)
				}
			}
		})
	})
	if held < 100 {
		t.Errorf("only %d paths looked at", held)
	}
}

// The search never loses against the knots of the curve itself, rounded, and
// keeps what a table promises.
func TestSearchNeverLoses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResponse().Draw(t, "response")
		places := rapid.IntRange(0, 1).Draw(t, "places")
		for _, s := range r.sides(places) {
			if s.full-s.dead < 1 {
				t.Skip("no stretch")
			}
			pieces := rapid.IntRange(1, min(8, s.full-s.dead)).Draw(t, "pieces")
			path, err := s.bestPath(pieces)
			if rounded := s.largestLineError(s.onCurve(pieces)); err > rounded {
				t.Fatalf("%v errs by %v, the rounded knots by %v", path, err, rounded)
			}
			if path[0] != s.dead || path[len(path)-1] != s.full || len(path) > pieces+1 {
				t.Fatalf("%v from %d to %d in %d pieces", path, s.dead, s.full, pieces)
			}
			for i := 1; i < len(path); i++ {
				if path[i] <= path[i-1] {
					t.Fatalf("%v does not rise", path)
				}
			}
		}
	})
}

// Two sides of which one is straight: all pieces but one go to the other. And
// whatever the curves, no sharing out of the pieces that moves one is better.
func TestPiecesAreSharedOut(t *testing.T) {
	r := StraightThrough(TwoSided)
	r.High = Power{2.5}
	sides := r.sides(0)
	paths := bestPaths(sides, 7)
	if len(paths[0]) != 2 || len(paths[1]) != 7 {
		t.Errorf("%v", paths)
	}
	rapid.Check(t, func(t *rapid.T) {
		r.Low = Power{rapid.Float64Range(1.1, 4).Draw(t, "low")}
		r.High = Power{rapid.Float64Range(1.1, 4).Draw(t, "high")}
		sides := r.sides(0)
		const pieces = 6
		paths := bestPaths(sides, pieces)
		got := max(sides[0].largestLineError(paths[0]), sides[1].largestLineError(paths[1]))
		for low := 1; low < pieces; low++ {
			_, a := sides[0].bestPath(low)
			_, b := sides[1].bestPath(pieces - low)
			if max(a, b) < got-1e-12 {
				t.Fatalf("%d and %d pieces err by %v, best by %v with %v", low, pieces-low, max(a, b), got, paths)
			}
		}
	})
}

func TestReversedTurns(t *testing.T) {
	p, err := NewPoints([][2]float64{{0, 0}, {0.2, 0.5}, {0.7, 0.6}, {1, 1}})
	if err != nil {
		t.Fatal(err)
	}
	back := reversed{p}
	if turns := back.turns(); !slices.IsSorted(turns) || turns[0] != 0 || turns[len(turns)-1] != 1 {
		t.Errorf("turns %v", turns)
	}
	for _, v := range []float64{0.1, 0.33, 0.9} {
		if !near(back.At(v), 1-p.At(1-v), 1e-15) || !near(back.Slope(v), (back.At(v+1e-6)-back.At(v-1e-6))/2e-6, 1e-6) {
			t.Errorf("at %v: %v, slope %v", v, back.At(v), back.Slope(v))
		}
	}
}
