package shape

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/plot/plotter"
	"pgregory.net/rapid"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
)

func two(low, high curves.Shape) curves.Response {
	return curves.Response{
		Kind: curves.TwoSided, Calibration: curves.Calibration{Low: -30000, Centre: 100, High: 31000},
		Deadband: curves.Sides{Low: 0.03, High: 0.02}, EndMargin: curves.Sides{Low: 0.01, High: 0.015},
		Low: low, High: high,
	}
}

func one(s curves.Shape) curves.Response {
	return curves.Response{
		Kind: curves.OneSided, Calibration: curves.Calibration{Low: -30000, High: 31000},
		Deadband: curves.Sides{Low: 0.03}, EndMargin: curves.Sides{High: 0.015}, Low: curves.Straight{}, High: s,
	}
}

func points(t testing.TB, nodes ...[2]float64) curves.Shape {
	t.Helper()
	s, err := curves.NewPoints(nodes)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

// Every handle lies on the curve, and follows where it is dragged: the curve
// then passes through the place, as far as its family can.
func TestHandlesLieOnTheCurveAndFollow(t *testing.T) {
	bent := points(t, [2]float64{0, 0}, [2]float64{0.3, 0.1}, [2]float64{0.7, 0.5}, [2]float64{1, 1})
	for name, r := range map[string]curves.Response{
		"power": two(curves.Power{Exponent: 1.6}, curves.Power{Exponent: 1.6}), "blend": two(curves.Blend{Share: 0.4}, curves.Blend{Share: 0.4}),
		"points": two(bent, bent), "apart": two(curves.Power{Exponent: 1.3}, curves.Blend{Share: 0.6}),
		"one-sided": one(curves.Power{Exponent: 1.6}), "one-sided points": one(bent), "straight": two(curves.Straight{}, curves.Straight{}),
	} {
		handles := Handles(&r)
		if len(handles) < 2 {
			t.Errorf("%s: %d handles", name, len(handles))
		}
		for i, h := range handles {
			near(t, name+": command at "+h.ID, r.Command(h.U), h.Y, 1e-9)
			if i > 0 && h.U < handles[i-1].U {
				t.Errorf("%s: %s lies left of the one before", name, h.ID)
			}
			if h.Label == "" || h.Value == "" {
				t.Errorf("%s: %s has the label %q and the value %q", name, h.ID, h.Label, h.Value)
			}
			moved := r
			toU, toY := h.U, h.Y
			if strings.Contains(h.Axes, "x") {
				toU += 0.0107 - 0.02*math.Copysign(1, h.U)*boolean(strings.HasPrefix(h.ID, "margin"))
			}
			if strings.Contains(h.Axes, "y") {
				toY -= 0.013
			}
			if err := Move(&moved, h.ID, toU, toY); err != nil {
				t.Fatalf("%s: %s: %v", name, h.ID, err)
			}
			at := find(t, &moved, h.ID)
			near(t, name+": u of "+h.ID, at.U, toU, 6e-4) // finenesses
			near(t, name+": y of "+h.ID, at.Y, toY, 4e-3)
			if err := moved.Check(); err != nil {
				t.Errorf("%s: after %s: %v", name, h.ID, err)
			}
		}
	}
}

func boolean(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func find(t *testing.T, r *curves.Response, id string) Handle {
	t.Helper()
	for _, h := range Handles(r) {
		if h.ID == id {
			return h
		}
	}
	t.Fatalf("no handle %s", id)
	return Handle{}
}

// What a hand does to a side stays on that side; together it does to both.
func TestSides(t *testing.T) {
	r := two(curves.Power{Exponent: 1.6}, curves.Power{Exponent: 1.6})
	if err := Set(&r, "exponent", "2,2"); err != nil {
		t.Fatal(err)
	}
	if r.Low != (curves.Power{Exponent: 2.2}) || r.High != r.Low {
		t.Errorf("together: %v, %v", r.Low, r.High)
	}
	if err := SetApart(&r, true); err != nil {
		t.Fatal(err)
	}
	if err := Set(&r, "exponent-low", " 1.2 %"); err != nil { // a unit too much is no reason to complain
		t.Fatal(err)
	}
	if r.Low != (curves.Power{Exponent: 1.2}) || r.High != (curves.Power{Exponent: 2.2}) {
		t.Errorf("apart: %v, %v", r.Low, r.High)
	}
	// A drag of one side passes through the other's value and goes on.
	if err := Set(&r, "exponent-low", "2.2"); err != nil || Apart(&r) {
		t.Fatalf("equal sides are apart (%v)", err)
	}
	if err := Move(&r, "bend-low", -0.5, -0.3); err != nil || !Apart(&r) || r.High != (curves.Power{Exponent: 2.2}) {
		t.Errorf("the drag stuck: %v, %v, %v", err, r.Low, r.High)
	}
	if err := SetApart(&r, false); err != nil || Apart(&r) {
		t.Errorf("together again: %v, %v, %v", err, r.Low, r.High)
	}
	lever := one(curves.Power{Exponent: 1.5})
	if SetApart(&lever, true) == nil {
		t.Error("a one-sided axis was taken apart")
	}
}

// Another kind keeps the command in the middle.
func TestKindsKeepTheMiddle(t *testing.T) {
	for _, kind := range Kinds[1:] {
		r := two(curves.Power{Exponent: 1.5}, curves.Power{Exponent: 1.5})
		want := r.High.At(middle)
		if err := SetKind(&r, kind); err != nil {
			t.Fatal(err)
		}
		if r.High.Name() != kind || r.Low.Name() != kind {
			t.Errorf("%s became %s and %s", kind, r.Low.Name(), r.High.Name())
		}
		near(t, kind+": command in the middle", r.High.At(middle), want, 2e-3)
	}
	r := two(curves.Straight{}, curves.Straight{})
	if SetKind(&r, "cubist") == nil {
		t.Error("a kind that is not there was taken")
	}
}

func TestPointsComeAndGo(t *testing.T) {
	r := two(curves.Blend{Share: 0.4}, curves.Blend{Share: 0.4})
	if AddPoint(&r) == nil {
		t.Error("a blend took a point")
	}
	if err := SetKind(&r, "points"); err != nil {
		t.Fatal(err)
	}
	count := func() int { return len(r.High.(*curves.Points).Nodes()) }
	before := r.High
	for count() < mostPoints {
		if err := AddPoint(&r); err != nil {
			t.Fatal(err)
		}
	}
	for v := 0.0; v <= 1; v += 0.05 {
		near(t, "a point on the curve leaves it", r.High.At(v), before.At(v), 5e-3)
	}
	if AddPoint(&r) == nil {
		t.Error("points without end")
	}
	for count() > 2 {
		if err := RemovePoint(&r, "point-1"); err != nil {
			t.Fatal(err)
		}
	}
	if RemovePoint(&r, "point-1") == nil || RemovePoint(&r, "deadband-low") == nil {
		t.Error("what is no point was taken away")
	}
}

// Whatever a hand does, the response stays one that can be used.
func TestAnythingGoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := two(curves.Power{Exponent: 1.6}, curves.Power{Exponent: 1.6})
		if rapid.Bool().Draw(t, "one-sided") {
			r = one(curves.Blend{Share: 0.3})
		}
		for range rapid.IntRange(1, 12).Draw(t, "moves") {
			handles, fields := Handles(&r), Fields(&r)
			h := handles[rapid.IntRange(0, len(handles)-1).Draw(t, "handle")]
			f := fields[rapid.IntRange(0, len(fields)-1).Draw(t, "field")]
			number := rapid.Float64Range(-3, 3)
			var err error
			switch rapid.IntRange(0, 6).Draw(t, "what") {
			case 0:
				err = Move(&r, h.ID, number.Draw(t, "u"), number.Draw(t, "y"))
			case 1:
				err = Nudge(&r, h.ID, number.Draw(t, "right"), number.Draw(t, "up"))
			case 2:
				err = Set(&r, f.ID, rapid.SampledFrom([]string{"0", "-1", "50", "1.5", "1e9"}).Draw(t, "text"))
			case 3:
				err = SetKind(&r, rapid.SampledFrom(Kinds).Draw(t, "kind"))
			case 4:
				_ = AddPoint(&r) // refused where it does not fit
			case 5:
				_ = RemovePoint(&r, h.ID)
			case 6:
				_ = SetApart(&r, rapid.Bool().Draw(t, "apart"))
			}
			if err != nil {
				t.Fatal(err)
			}
			if err := r.Check(); err != nil {
				t.Fatalf("%+v: %v", r, err)
			}
		}
	})
}

// A key press always does something, unless the end is reached.
func TestNudgeMoves(t *testing.T) {
	bent := points(t, [2]float64{0, 0}, [2]float64{0.3, 0.1}, [2]float64{0.7, 0.5}, [2]float64{1, 1})
	for _, r := range []curves.Response{two(curves.Power{Exponent: 1.6}, curves.Power{Exponent: 1.6}), two(curves.Blend{Share: 0.9}, curves.Blend{Share: 0.9}), two(bent, bent)} {
		for _, h := range Handles(&r) {
			for _, by := range []float64{-1, 1} {
				moved := r
				right, up := by, 0.0
				if h.Axes == "y" {
					right, up = 0, by
				}
				if err := Nudge(&moved, h.ID, right, up); err != nil {
					t.Fatal(err)
				}
				at := find(t, &moved, h.ID)
				if d := by * (at.U - h.U + at.Y - h.Y); !(d > 0) {
					t.Errorf("%s of %s went %g for %g", h.ID, r.High.Name(), d, by)
				}
			}
		}
	}
	r := two(bent, bent)
	if Nudge(&r, "bend", 1, 0) == nil || Move(&r, "bend", 0, 0) == nil || Set(&r, "exponent", "1") == nil || Set(&r, "margin-low", "much") == nil {
		t.Error("what is not there was moved")
	}
}

// The lines are the response's own numbers, at their places on the paper, and
// nowhere between their points is the curve seen to be elsewhere.
func TestLines(t *testing.T) {
	r := two(curves.Power{Exponent: 0.7}, curves.Power{Exponent: 0.7}) // infinite slope at the deadband
	areas := figures.Shaping(curves.TwoSided, 0.5).Areas()
	lines := Draw(&r, areas[0], areas[1])
	points := parse(t, lines.Response)
	if len(points) > 100 {
		t.Errorf("%d points, many of them on the straight line between others", len(points))
	}
	for _, q := range points {
		u, command := areas[0].Value(q.X, q.Y)
		near(t, "command", command/100, r.Command(u/100), 0.03) // steep at the deadband, where x is rounded
	}
	const rounding = 0.01
	worst := 0.0
	for _, u := range places(&r) {
		x, y := areas[0].Place(100*u, 100*r.Command(u))
		worst = max(worst, offLine(points, x, y))
	}
	if !(worst <= unseen+rounding) {
		t.Errorf("the curve lies %g off the line", worst)
	}
	if len(lines.Slope) < 3 {
		t.Fatalf("%d pieces of slope; it is infinite at both ends of the deadband", len(lines.Slope))
	}
	for _, piece := range lines.Slope {
		for _, q := range parse(t, piece) {
			if u, slope := areas[1].Value(q.X, q.Y); math.Abs(math.Abs(u)-50) < 30 {
				near(t, "slope", slope, r.Slope(u/100), 0.03)
			}
		}
	}
}

// offLine is how far a place is off a line.
func offLine(line []plotter.XY, x, y float64) float64 {
	least := math.Inf(1)
	for i := range len(line) - 1 {
		a, b := line[i], line[i+1]
		dx, dy := b.X-a.X, b.Y-a.Y
		along := min(max(((x-a.X)*dx+(y-a.Y)*dy)/(dx*dx+dy*dy), 0), 1)
		least = min(least, math.Hypot(x-a.X-along*dx, y-a.Y-along*dy))
	}
	return least
}

func parse(t *testing.T, points string) []plotter.XY {
	t.Helper()
	var out []plotter.XY
	for _, pair := range strings.Fields(points) {
		var q plotter.XY
		if _, err := fmt.Sscanf(pair, "%g,%g", &q.X, &q.Y); err != nil {
			t.Fatal(err)
		}
		out = append(out, q)
	}
	return out
}
