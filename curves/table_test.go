package curves

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func anyOptions() *rapid.Generator[TableOptions] {
	return rapid.Custom(func(t *rapid.T) TableOptions {
		return TableOptions{
			Points:  rapid.IntRange(8, 25).Draw(t, "points"),
			Places:  rapid.IntRange(0, 3).Draw(t, "places"),
			Spacing: rapid.SampledFrom([]string{Even, Best}).Draw(t, "spacing"),
		}
	})
}

// tableOf draws a response and options that go together: too many points for
// the steps of position are refused, as another test checks.
func tableOf(t *rapid.T) (Response, TableOptions, Table) {
	r := anyResponse().Draw(t, "response")
	o := anyOptions().Draw(t, "options")
	table, err := r.Table(o)
	if e, ok := err.(*FieldError); ok && (e.Path == "points" || e.Path == "places") && o.Places == 0 {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r, o, table
}

func TestTableRisesAndEndsExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, o, table := tableOf(t)
		if n := len(table.Points); n > o.Points || (o.Spacing == Even && n != o.Points) {
			t.Fatalf("%d points, %d asked for", n, o.Points)
		}
		first, last := table.Points[0], table.Points[len(table.Points)-1]
		if first.Position != lowest(r) || first.Command != lowest(r) || last.Position != 1 || last.Command != 1 {
			t.Fatalf("ends %v and %v", first, last)
		}
		for i, p := range table.Points {
			if i > 0 && (p.Position <= table.Points[i-1].Position || p.Command < table.Points[i-1].Command) {
				t.Fatalf("%v follows %v", p, table.Points[i-1])
			}
			if p.Counts != int(math.Round(r.ToCounts(p.Position))) {
				t.Fatalf("%v has counts %d", p.Position, p.Counts)
			}
			for _, x := range []float64{p.Position, p.Command} {
				if steps := x * 100 * math.Pow10(o.Places); math.Abs(steps-math.Round(steps)) > 1e-7 {
					t.Fatalf("%v has more than %d places of a percent", x, o.Places)
				}
			}
		}
		if !table.Monotone() {
			t.Fatal("Monotone is false")
		}
	})
}

// The corners of deadband and end margin are breakpoints, rounded so that
// neither gets narrower, by less than a step of position.
func TestTableKeepsTheCorners(t *testing.T) {
	corners := 0
	rapid.Check(t, func(t *rapid.T) {
		r, o, table := tableOf(t)
		step := 1 / (100 * math.Pow10(o.Places))
		for _, sign := range []float64{-1, 1} {
			if sign < lowest(r) {
				continue
			}
			s := r.sideOf(sign)
			has := func(u, y float64, inward float64) {
				corners++
				for _, p := range table.Points {
					moved := (sign*p.Position - u) * inward
					if sign*p.Command == y && moved > -1e-7 && moved < step {
						return
					}
				}
				t.Fatalf("no breakpoint with command %v at the corner %v or just inside: %v", sign*y, sign*u, table.Points)
			}
			has(s.dead, 0, 1)
			has(s.full, 1, -1)
			for _, p := range table.Points {
				if a := sign * p.Position; a >= 0 && (a <= s.dead && p.Command != 0 || a >= s.full && p.Command != sign) {
					t.Fatalf("%v lies in a flat place", p)
				}
			}
		}
	})
	if corners < 100 {
		t.Errorf("only %d corners met", corners)
	}
}

// errorByForce is the error of straight lines at many positions.
func errorByForce(r Response, table Table) float64 {
	worst := 0.0
	for i := 1; i < len(table.Points); i++ {
		a, b := table.Points[i-1], table.Points[i]
		const n = 400
		for j := range n + 1 {
			share := float64(j) / n
			u := a.Position + share*(b.Position-a.Position)
			worst = max(worst, math.Abs(r.Command(u)-a.Command-share*(b.Command-a.Command)))
		}
	}
	return 100 * worst
}

func TestMaxErrorIsTrue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, _, table := tableOf(t)
		forced := errorByForce(r, table)
		if table.MaxError < forced-1e-9 {
			t.Fatalf("max_error %v, but %v is met", table.MaxError, forced)
		}
		// Between two of the positions tried, curve and line part by as much as
		// the curve rises there, at most.
		if slack := 100 * largestRise(r, table, 400); table.MaxError > forced+slack {
			t.Fatalf("max_error %v, but nothing above %v is met", table.MaxError, forced)
		}
	})
}

// largestRise bounds what errorByForce can miss with n positions a line.
func largestRise(r Response, table Table, n float64) float64 {
	rise := 0.0
	for i := 1; i < len(table.Points); i++ {
		a, b := table.Points[i-1].Position, table.Points[i].Position
		h := (b - a) / n
		for j := range int(n) {
			u := a + float64(j)*h
			rise = max(rise, r.Command(u+h)-r.Command(u))
		}
	}
	return rise
}

// The error of lines that pass over the corners, worked out by hand: two-sided,
// straight with a deadband of ½ low and ⅕ high, one line from stop to stop errs
// by ½ at −½; one from the low corner to full command by 7/11 at the high corner;
// one from the high corner to the stop by ½ where the end margin starts.
func TestErrorOfLinesOverCorners(t *testing.T) {
	r := StraightThrough(TwoSided)
	r.Deadband = Sides{Low: 0.5, High: 0.2}
	r.EndMargin.High = 0.4
	for _, c := range []struct {
		points []TablePoint
		want   float64
	}{
		{[]TablePoint{{Position: -1, Command: -1}, {Position: 1, Command: 1}}, 0.5},
		{[]TablePoint{{Position: -1, Command: -1}, {Position: -0.5}, {Position: 0.6, Command: 1}, {Position: 1, Command: 1}}, 0.7 / 1.1},
		{[]TablePoint{{Position: -1, Command: -1}, {Position: -0.5}, {Position: 0.2}, {Position: 1, Command: 1}}, 0.5},
	} {
		if got := r.tableError(c.points); !near(got, c.want, 1e-12) {
			t.Errorf("%v err by %v, expected %v", c.points, got, c.want)
		}
	}
	// The low side's shape starts at 0 here: a line across it errs most there.
	through := StraightThrough(TwoSided)
	through.EndMargin.High = 0.5
	if got := through.tableError([]TablePoint{{Position: -1, Command: -1}, {Position: 0.5, Command: 1}}); !near(got, 1.0/3, 1e-12) {
		t.Errorf("the line errs by %v, expected 1/3", got)
	}
}

// A line from corner to corner of y = v² errs by ¼ at the middle, whatever the
// deadband; n lines by 1/(4n²).
func TestMaxErrorByHand(t *testing.T) {
	r := brake() // one-sided, v², corners at 10 % and 90 %
	for n := 1; n <= 8; n *= 2 {
		for _, spacing := range []string{Even, Best} {
			table, err := r.Table(TableOptions{Points: n + 3, Places: 6, Spacing: spacing})
			if err != nil {
				t.Fatal(err)
			}
			want := 100 / (4 * float64(n*n))
			if len(table.Points) != n+3 || !near(table.MaxError, want, 1e-5) {
				t.Errorf("%s, %d lines: %d points, max_error %v %%, expected %v", spacing, n, len(table.Points), table.MaxError, want)
			}
		}
	}
}

func TestBestIsNeverWorseThanEven(t *testing.T) {
	better := 0
	rapid.Check(t, func(t *rapid.T) {
		r, o := anyResponse().Draw(t, "response"), anyOptions().Draw(t, "options")
		o.Spacing = Even
		even, err := r.Table(o)
		if err != nil {
			t.Skip(err)
		}
		o.Spacing = Best
		best, err := r.Table(o)
		if err != nil {
			t.Fatal(err)
		}
		if best.MaxError > even.MaxError {
			t.Fatalf("best errs by %v, even by %v", best.MaxError, even.MaxError)
		}
		if best.MaxError < 0.7*even.MaxError {
			better++
		}
	})
	if better < 5 {
		t.Errorf("best was clearly better only %d times", better)
	}
}

type freeKnots struct {
	Tolerance float64
	Cases     []struct {
		Curve, Kind string
		Parameter   float64
		N           int
		ErrorFree   float64 `json:"error_free"`
		ErrorEven   float64 `json:"error_even"`
		Knots       []float64
	}
}

// The least error that n lines between points of a curve can have; knots and
// errors come from an equal-error construction checked by random perturbation
// (source in the file).
func TestBestKnotsAreOptimal(t *testing.T) {
	var file freeKnots
	readReference(t, "free_knots.json", &file)
	if len(file.Cases) != 28 {
		t.Fatalf("%d cases", len(file.Cases))
	}
	for _, c := range file.Cases {
		s, err := ParseCurve(fmt.Sprintf("%s:%v", c.Kind, c.Parameter))
		if err != nil {
			t.Fatal(err)
		}
		got := slices.Concat([]float64{0}, bestKnots([]Shape{s}, c.N)[0], []float64{1})
		if len(got) != c.N+1 {
			t.Fatalf("%s, %d lines: knots %v", c.Curve, c.N, got)
		}
		free, even := 0.0, 0.0
		for i := range c.N {
			free = max(free, chordError(s, got[i], got[i+1]))
			even = max(even, chordError(s, float64(i)/float64(c.N), float64(i+1)/float64(c.N)))
			if math.Abs(got[i]-c.Knots[i]) > 1e-6 {
				t.Errorf("%s, %d lines: knot %d at %v, expected %v", c.Curve, c.N, i, got[i], c.Knots[i])
			}
		}
		if math.Abs(free-c.ErrorFree) > file.Tolerance || math.Abs(even-c.ErrorEven) > file.Tolerance {
			t.Errorf("%s, %d lines: error %v free and %v even, expected %v and %v", c.Curve, c.N, free, even, c.ErrorFree, c.ErrorEven)
		}
	}
}

// No knots drawn at random do better on a curve that bends one way.
func TestNoOtherKnotsAreBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 6).Draw(t, "lines")
		p := rapid.Float64Range(1.05, 4).Draw(t, "exponent")
		s := Power{p}
		best := slices.Concat([]float64{0}, bestKnots([]Shape{s}, n)[0], []float64{1})
		other := slices.Clone(best)
		for i := 1; i < n; i++ {
			shift := rapid.Float64Range(-0.02, 0.02).Draw(t, "shift")
			other[i] = clamp(other[i]+shift, 0, 1)
		}
		slices.Sort(other)
		if a, b := largestChordError(s, best), largestChordError(s, other); a > b+1e-10 {
			t.Fatalf("%v errs by %v, %v by %v", best, a, other, b)
		}
	})
}

func largestChordError(s Shape, knots []float64) float64 {
	worst := 0.0
	for i := 1; i < len(knots); i++ {
		worst = max(worst, chordError(s, knots[i-1], knots[i]))
	}
	return worst
}

// foreign hides what a shape tells about its turns.
type foreign struct{ Shape }

// A shape from elsewhere is looked at on a grid and comes out the same.
func TestForeignShapes(t *testing.T) {
	r := brake()
	o := TableOptions{Points: 9, Places: 3, Spacing: Best}
	want, err := r.Table(o)
	if err != nil {
		t.Fatal(err)
	}
	r.High = foreign{r.High}
	got, err := r.Table(o)
	if err != nil || !slices.Equal(got.Points, want.Points) || !near(got.MaxError, want.MaxError, 1e-9) {
		t.Errorf("%v, %v, expected %v", got, err, want)
	}
}

func TestWholePercents(t *testing.T) {
	r := rudder()
	table, err := r.Table(TableOptions{Points: 11, Places: 0, Spacing: Even})
	if err != nil {
		t.Fatal(err)
	}
	// Deadbands of 3.4 % and 2.1 % become 4 and 3, never less; three lines a side.
	want := [][2]float64{{-1, -1}, {-.99, -1}, {-.67, -.52}, {-.36, -.18}, {-.04, 0}, {0, 0},
		{.03, 0}, {.35, .17}, {.67, .52}, {.99, 1}, {1, 1}}
	for i, p := range table.Points {
		if [2]float64{p.Position, p.Command} != want[i] {
			t.Errorf("point %d is %v, expected %v", i, p, want[i])
		}
	}
	if len(table.Points) != len(want) {
		t.Errorf("%d points", len(table.Points))
	}
}

func TestStraightNeedsOnlyItsCorners(t *testing.T) {
	r := StraightThrough(TwoSided)
	table, err := r.Table(TableOptions{Points: 21, Places: 1, Spacing: Best})
	if err != nil || len(table.Points) != 3 || table.MaxError > 1e-9 {
		t.Errorf("%v, %v", table, err)
	}
}

func TestTableRefuses(t *testing.T) {
	r := rudder()
	for says, o := range map[string]TableOptions{
		`spacing: is "", expected "even" or "best"`:         {Points: 21, Places: 1},
		"places: is -1, expected 0 to 6":                    {Points: 21, Places: -1, Spacing: Even},
		"places: is 7, expected 0 to 6":                     {Points: 21, Places: 7, Spacing: Best},
		"points: is 1, expected 2 to 65536":                 {Points: 1, Places: 1, Spacing: Best},
		"points: is 6, expected at least 7":                 {Points: 6, Places: 1, Spacing: Even},
		"points: is 5, expected at least 6":                 {Points: 5, Places: 1, Spacing: Best},
		"points: is 97 pieces for 95 steps of position, ex": {Points: 200, Places: 0, Spacing: Even},
	} {
		if _, err := r.Table(o); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("%+v gives the error %v, expected %q", o, err, says)
		}
	}
	r.Deadband.High, r.EndMargin.High = 0.495, 0.496
	if _, err := r.Table(TableOptions{Points: 21, Places: 0, Spacing: Best}); err == nil || !strings.HasPrefix(err.Error(), "places: is 0, expected more") {
		t.Errorf("the error is %v", err)
	}
	r.High = nil
	if _, err := r.Table(TableOptions{Points: 21, Places: 1, Spacing: Best}); err == nil || !strings.HasPrefix(err.Error(), "shape.high: is missing") {
		t.Errorf("the error is %v", err)
	}
}

func BenchmarkBestTable(b *testing.B) {
	r := rudder()
	for range b.N {
		if _, err := r.Table(TableOptions{Points: 21, Places: 1, Spacing: Best}); err != nil {
			b.Fatal(err)
		}
	}
}
