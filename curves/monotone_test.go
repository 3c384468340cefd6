package curves

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

type monotoneSet struct {
	ID                string
	X, Y, Q           []float64
	Pchip             []float64
	PchipSlopes       []float64 `json:"pchip_slopes"`
	PchipNodeSlopes   []float64 `json:"pchip_node_slopes"`
	PchipIntegral     float64   `json:"pchip_integral"`
	FritschCarlson    []float64 `json:"fritsch_carlson"`
	Steffen, Expected []float64
	Tolerance         float64
}

// stretched is a Points shape put back onto the scale of a published data set;
// the curve is the same up to these scales.
type stretched struct {
	shape               *Points
	x0, width, y0, rise float64
}

func stretch(t *testing.T, x, y []float64) stretched {
	t.Helper()
	last := len(x) - 1
	s := stretched{x0: x[0], width: x[last] - x[0], y0: y[0], rise: y[last] - y[0]}
	points := make([][2]float64, len(x))
	for i := range x {
		points[i] = [2]float64{(x[i] - s.x0) / s.width, (y[i] - s.y0) / s.rise}
	}
	var err error
	if s.shape, err = NewPoints(points); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s stretched) at(x float64) float64 { return s.y0 + s.rise*s.shape.At((x-s.x0)/s.width) }
func (s stretched) slope(x float64) float64 {
	return s.rise / s.width * s.shape.Slope((x-s.x0)/s.width)
}

type monotoneFile struct {
	Tolerance float64
	Sets      []monotoneSet
	NAG       monotoneSet
}

// Published data of Fritsch and Carlson (1980), Akima (1970) and Hyman (1983),
// with the values of three implementations of Fritsch and Butland (1984); the
// sources stand in the file.
func TestPointsAreFritschButland(t *testing.T) {
	var file monotoneFile
	readReference(t, "monotone_cubic.json", &file)
	compared := 0
	for _, set := range file.Sets {
		s := stretch(t, set.X, set.Y)
		check := func(what string, x, got, want float64) {
			compared++
			// Values reach 85 and slopes 49 in one set: the tolerance is relative there.
			if !near(got, want, file.Tolerance) {
				t.Errorf("%s: %s at %v is %v, expected %v", set.ID, what, x, got, want)
			}
		}
		for i, q := range set.Q {
			check("value", q, s.at(q), set.Pchip[i])
			check("slope", q, s.slope(q), set.PchipSlopes[i])
		}
		for i, x := range set.X {
			check("node slope", x, s.slope(x), set.PchipNodeSlopes[i])
		}
		check("integral", set.X[0], integral(s, set.X), set.PchipIntegral)
	}
	if compared != 220 {
		t.Errorf("compared %d numbers", compared)
	}
}

// integral is exact for cubics: Gauss–Legendre with two points a piece.
func integral(s stretched, x []float64) float64 {
	sum := 0.0
	for i := 1; i < len(x); i++ {
		sum += quad.Fixed(s.at, x[i-1], x[i], 2, nil, 0)
	}
	return sum
}

// The other two kinds of monotone cubic go through the same points on visibly
// different ways; a change of kind would not pass.
func TestPointsAreNotAnotherMonotoneCubic(t *testing.T) {
	var file monotoneFile
	readReference(t, "monotone_cubic.json", &file)
	for _, set := range file.Sets {
		s := stretch(t, set.X, set.Y)
		for name, other := range map[string][]float64{"Fritsch–Carlson": set.FritschCarlson, "Steffen": set.Steffen} {
			apart := 0.0
			for i, q := range set.Q {
				apart = max(apart, math.Abs(s.at(q)-other[i]))
			}
			if apart < 1e-3 {
				t.Errorf("%s: within %v of %s", set.ID, apart, name)
			}
		}
	}
}

// The example of the NAG C library's e01bec, printed to 4 decimals.
func TestPointsAgainstNAG(t *testing.T) {
	var file monotoneFile
	readReference(t, "monotone_cubic.json", &file)
	s := stretch(t, file.NAG.X, file.NAG.Y)
	for i, q := range file.NAG.Q {
		if got := s.at(q); math.Abs(got-file.NAG.Expected[i]) > file.NAG.Tolerance {
			t.Errorf("value at %v is %v, expected %v", q, got, file.NAG.Expected[i])
		}
	}
	if len(file.NAG.Q) != 11 {
		t.Errorf("%d values in the example", len(file.NAG.Q))
	}
}
