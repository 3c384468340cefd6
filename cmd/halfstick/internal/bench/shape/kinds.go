package shape

import (
	"errors"
	"fmt"

	"halfstick/curves"
)

// Kinds are the shapes that a hand can choose among, as words of the profile
// file.
var Kinds = []string{"straight", "power", "blend", "points"}

// middle is the v at which shapes of one parameter are held by hand, and where
// a change of kind keeps the command.
const middle = 0.5

// SetKind changes the kind of the shapes; each keeps its command in the middle
// of the shaped stretch as nearly as it can.
func SetKind(r *curves.Response, kind string) error {
	for _, side := range shapes(r) {
		s, err := as(of(r, side), kind)
		if err != nil {
			return err
		}
		put(r, side, s)
	}
	return nil
}

func as(s curves.Shape, kind string) (curves.Shape, error) {
	if s.Name() == kind {
		return s, nil
	}
	y := s.At(middle)
	switch kind {
	case "straight":
		return curves.Straight{}, nil
	case "power":
		return curves.Power{Exponent: held(exponentThrough(middle, y), leastExponent, mostExponent, fineExponent)}, nil
	case "blend":
		return curves.Blend{Share: held(shareThrough(middle, y), leastShare, mostShare, fineShare)}, nil
	case "points":
		nodes := [][2]float64{{0, 0}}
		for _, v := range []float64{0.25, 0.5, 0.75} {
			nodes = append(nodes, [2]float64{v, held(s.At(v), 0, 1, finePoint)})
		}
		return curves.NewPoints(append(nodes, [2]float64{1, 1}))
	}
	return nil, fmt.Errorf("there is no shape %q; choose straight, power, blend or points", kind)
}

// SetApart gives the sides shapes of their own or, if not apart, the low side
// that of the high one. Sides that begin apart are made a little unlike, since
// two equal shapes are one.
func SetApart(r *curves.Response, apart bool) error {
	if r.Kind == curves.OneSided {
		return errors.New("a one-sided axis has one side; there is nothing to take apart")
	}
	if !apart {
		r.Low = r.High
		return nil
	}
	if Apart(r) {
		return nil
	}
	switch s := r.High.(type) {
	case curves.Straight:
		return errors.New("straight is the same on both sides; choose another shape first")
	case curves.Power:
		r.Low = curves.Power{Exponent: beside(s.Exponent, mostExponent, fineExponent)}
	case curves.Blend:
		r.Low = curves.Blend{Share: beside(s.Share, mostShare, fineShare)}
	case *curves.Points:
		nodes := s.Nodes()
		last := len(nodes) - 2
		if last < 1 {
			return errors.New("the curve has no point between its ends; add one first")
		}
		movePoint(r, Low, last, [2]float64{nodes[last][0], nodes[last][1] - finePoint})
	}
	return nil
}

// beside is the next finer value, or the one before at the end.
func beside(v, most, fineness float64) float64 {
	if v+fineness > most {
		return held(v-fineness, v-fineness, most, fineness)
	}
	return held(v+fineness, v, most, fineness)
}
