package shape

import (
	"errors"
	"fmt"
	"slices"

	"halfstick/curves"
)

// movePoint moves the inner point i of a side, held between its neighbours.
func movePoint(r *curves.Response, side Side, i int, to [2]float64) {
	s, ok := of(r, side).(*curves.Points)
	if !ok {
		return
	}
	nodes := s.Nodes()
	if i < 1 || i >= len(nodes)-1 {
		return
	}
	before, after := nodes[i-1], nodes[i+1]
	nodes[i] = [2]float64{
		held(to[0], before[0]+leastGap, after[0]-leastGap, finePoint),
		min(max(held(to[1], 0, 1, finePoint), before[1]), after[1]),
	}
	if moved, err := curves.NewPoints(nodes); err == nil {
		put(r, side, moved)
	}
}

// AddPoint puts a point in the middle of the widest gap, on the curve.
func AddPoint(r *curves.Response) error {
	for _, side := range shapes(r) {
		s, ok := of(r, side).(*curves.Points)
		if !ok {
			return errors.New("only a curve through points takes another point; choose that shape first")
		}
		nodes := s.Nodes()
		if len(nodes) >= mostPoints {
			return fmt.Errorf("%d points are enough for a hand; take one away first", mostPoints-2)
		}
		widest := 1
		for i := range nodes {
			if i > 0 && nodes[i][0]-nodes[i-1][0] > nodes[widest][0]-nodes[widest-1][0]+1e-9 {
				widest = i
			}
		}
		v := held((nodes[widest-1][0]+nodes[widest][0])/2, 0, 1, finePoint)
		nodes = slices.Insert(nodes, widest, [2]float64{v, held(s.At(v), nodes[widest-1][1], nodes[widest][1], finePoint)})
		more, err := curves.NewPoints(nodes)
		if err != nil {
			return err
		}
		put(r, side, more)
	}
	return nil
}

// RemovePoint takes the point of a handle away.
func RemovePoint(r *curves.Response, handle string) error {
	side, i, ok := pointOf(r, handle)
	if !ok {
		return errors.New("there is no such point; load the page anew")
	}
	s := of(r, side).(*curves.Points)
	fewer, err := curves.NewPoints(slices.Delete(s.Nodes(), i, i+1))
	if err != nil {
		return err
	}
	put(r, side, fewer)
	return nil
}
