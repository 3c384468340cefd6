package curves

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// anyShape draws one of the four shapes over the whole range of parameters.
func anyShape() *rapid.Generator[Shape] {
	return rapid.Custom(func(t *rapid.T) Shape {
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			return Straight{}
		case 1:
			return Power{rapid.Float64Range(MinExponent, MaxExponent).Draw(t, "exponent")}
		case 2:
			return Blend{rapid.Float64Range(MinShare, MaxShare).Draw(t, "share")}
		default:
			return anyPoints(t)
		}
	})
}

// anyPoints draws points whose steps in v and y are very unequal; flat stretches
// are among them.
func anyPoints(t *rapid.T) *Points {
	n := rapid.IntRange(1, 7).Draw(t, "pieces")
	steps := rapid.SliceOfN(rapid.IntRange(1, 20), n, n).Draw(t, "steps")
	rises := rapid.SliceOfN(rapid.IntRange(0, 20), n, n).Draw(t, "rises")
	rises[rapid.IntRange(0, n-1).Draw(t, "sure rise")]++
	p, err := NewPoints(cumulated(steps, rises))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func cumulated(steps, rises []int) [][2]float64 {
	var sumV, sumY int
	points := [][2]float64{{0, 0}}
	for i := range steps {
		sumV, sumY = sumV+steps[i], sumY+rises[i]
		points = append(points, [2]float64{float64(sumV), float64(sumY)})
	}
	for i := range points {
		points[i][0] /= float64(sumV)
		points[i][1] /= float64(sumY)
	}
	return points
}

// anyResponse draws a response of either kind, with and without deadbands and
// end margins.
func anyResponse() *rapid.Generator[Response] {
	width := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 0.45))
	sides := func(t *rapid.T, name string) Sides {
		return Sides{Low: width.Draw(t, name+" low"), High: width.Draw(t, name+" high")}
	}
	return rapid.Custom(func(t *rapid.T) Response {
		r := Response{
			Kind:      rapid.SampledFrom([]Kind{TwoSided, OneSided}).Draw(t, "kind"),
			Deadband:  sides(t, "deadband"),
			EndMargin: sides(t, "end margin"),
			High:      anyShape().Draw(t, "high"),
		}
		c := &r.Calibration
		c.Low = rapid.Float64Range(-32768, 20000).Draw(t, "low stop")
		c.High = rapid.Float64Range(c.Low+4, 32767).Draw(t, "high stop")
		if r.Kind == OneSided {
			r.Deadband.High, r.EndMargin.Low = 0, 0
			return r
		}
		c.Centre = rapid.Float64Range(c.Low+1.5, c.High-1.5).Draw(t, "centre")
		r.Low = anyShape().Draw(t, "low")
		return r
	})
}

// anyPosition draws a u of the axis.
func anyPosition(t *rapid.T, r Response, name string) float64 {
	return rapid.Float64Range(lowest(r), 1).Draw(t, name)
}

// lowest is the low end of the axis's positions and commands.
func lowest(r Response) float64 {
	if r.Kind == OneSided {
		return 0
	}
	return -1
}

// kinks lists the |u| on u's side at which the response may have no derivative.
func kinks(r Response, u float64) []float64 {
	s := r.sideOf(u)
	found := []float64{0, s.dead, s.full, 1}
	if p, ok := s.shape.(*Points); ok {
		for _, x := range p.xs {
			found = append(found, s.dead+x*(s.full-s.dead))
		}
	}
	return found
}

func distanceTo(marks []float64, x float64) float64 {
	nearest := math.Inf(1)
	for _, m := range marks {
		nearest = min(nearest, math.Abs(m-x))
	}
	return nearest
}

// near reports whether two numbers agree to tolerance, absolute below 1 and
// relative above.
func near(a, b, tolerance float64) bool {
	return math.Abs(a-b) <= tolerance*max(1, math.Abs(a), math.Abs(b))
}

// readReference reads a table of published values; a missing file fails.
func readReference(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile("../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}
