package curves

import (
	"fmt"
	"slices"
	"sort"

	"gonum.org/v1/gonum/interp"
)

// minGap is the least distance in v between two points of a shape; closer ones
// cannot be told apart by any 16-bit axis and make slopes overflow.
const minGap = 1e-6

// Points is the monotone cubic through given points, of Fritsch and Butland
// (1984) as described in the package documentation. Make one with NewPoints.
type Points struct {
	xs, ys []float64
	cubic  interp.FritschButland
	bends  []float64 // nodes and inflections, rising
}

// NewPoints returns the monotone cubic through points [v, y]. They run from
// [0,0] to [1,1]; v rises by at least 1e-6 from each to the next, y never falls.
// An error is a *FieldError whose path starts with "points".
func NewPoints(points [][2]float64) (*Points, error) {
	p, e := newPoints(points)
	if e != nil {
		return nil, e
	}
	return p, nil
}

func newPoints(points [][2]float64) (*Points, *FieldError) {
	if e := checkPoints(points); e != nil {
		return nil, e
	}
	p := &Points{xs: make([]float64, len(points)), ys: make([]float64, len(points))}
	for i, q := range points {
		p.xs[i], p.ys[i] = q[0], q[1]
	}
	if err := p.cubic.Fit(p.xs, p.ys); err != nil {
		return nil, &FieldError{Path: "points", Found: err.Error(), Want: "points that a curve goes through"}
	}
	p.bends = p.findBends()
	return p, nil
}

func checkPoints(points [][2]float64) *FieldError {
	if len(points) < 2 {
		return &FieldError{Path: "points", Found: fmt.Sprintf("%d long", len(points)),
			Want: "2 or more points", Remedy: "[[0,0],[1,1]] is straight"}
	}
	wrong := func(i int, want, remedy string) *FieldError {
		return &FieldError{Path: fmt.Sprintf("points[%d]", i), Found: pair(points[i]), Want: want, Remedy: remedy}
	}
	last := len(points) - 1
	for i, q := range points {
		switch {
		case !(q[0] >= 0 && q[0] <= 1 && q[1] >= 0 && q[1] <= 1):
			return wrong(i, "two numbers from 0 to 1", "")
		case i == 0 && q != [2]float64{0, 0}:
			return wrong(i, "[0,0]", "the first point is the start of the curve")
		case i > 0 && q[0]-points[i-1][0] < minGap:
			return wrong(i, "a position above "+number(points[i-1][0]), "put the points in order of position, at least 1e-6 apart")
		case i > 0 && q[1] < points[i-1][1]:
			return wrong(i, "a command of at least "+number(points[i-1][1]), "a response never falls")
		case i == last && q != [2]float64{1, 1}:
			return wrong(i, "[1,1]", "the last point is full command")
		}
	}
	return nil
}

func pair(q [2]float64) string { return "[" + number(q[0]) + "," + number(q[1]) + "]" }

// Name returns "points".
func (*Points) Name() string { return "points" }

// Nodes returns the points [v, y] that the curve goes through.
func (p *Points) Nodes() [][2]float64 {
	nodes := make([][2]float64, len(p.xs))
	for i := range nodes {
		nodes[i] = [2]float64{p.xs[i], p.ys[i]}
	}
	return nodes
}

// At returns the cubic's value. It is held between the two nodes around v, so
// that rounding cannot make the curve fall from one piece to the next.
func (p *Points) At(v float64) float64 {
	v = clamp(v, 0, 1)
	i := sort.SearchFloat64s(p.xs, v)
	if i == 0 || i == len(p.xs) {
		return p.cubic.Predict(v)
	}
	return clamp(p.cubic.Predict(v), p.ys[i-1], p.ys[i])
}

// Slope returns the cubic's derivative; it is continuous.
func (p *Points) Slope(v float64) float64 {
	if v < 0 || v > 1 {
		return 0
	}
	return max(0, p.cubic.PredictDerivative(v))
}

// Inverse returns the smallest v with At(v) ≥ y: a node where y is a node's
// command, else by bisection to the last bit within the piece that reaches y.
func (p *Points) Inverse(y float64) float64 {
	y = clamp(y, 0, 1)
	i := sort.SearchFloat64s(p.ys, y)
	if i == len(p.ys) || p.ys[i] == y { // past the end only for NaN
		return p.xs[min(i, len(p.xs)-1)]
	}
	return firstReaching(p.At, p.xs[i-1], p.xs[i], y)
}

func (p *Points) turns() []float64 { return p.bends }

// findBends lists the nodes and, inside the pieces, the inflections: between
// two of them the slope, a parabola, only rises or only falls.
func (p *Points) findBends() []float64 {
	bends := slices.Clone(p.xs)
	for i := 1; i < len(p.xs); i++ {
		h := p.xs[i] - p.xs[i-1]
		secant := (p.ys[i] - p.ys[i-1]) / h
		d0, d1 := p.cubic.PredictDerivative(p.xs[i-1]), p.cubic.PredictDerivative(p.xs[i])
		// y = y0 + d0·t + a2·t² + a3·t³ has its inflection at t = −a2/(3·a3).
		a2, a3 := (3*secant-2*d0-d1)/h, (d0+d1-2*secant)/(h*h)
		if t := -a2 / (3 * a3); t > 0 && t < h {
			bends = append(bends, p.xs[i-1]+t)
		}
	}
	slices.Sort(bends)
	return bends
}
