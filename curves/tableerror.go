package curves

import "math"

// tableError returns the largest |y − straight lines through the points| over
// all u. Within a line's stretch the difference is greatest at the stretch's
// ends, at a corner of the response, or where shape and line are parallel.
func (r *Response) tableError(points []TablePoint) float64 {
	worst := 0.0
	for i := 1; i < len(points); i++ {
		worst = max(worst, r.lineError(points[i-1], points[i]))
	}
	return worst
}

// lineError is tableError for the one line from a to b.
func (r *Response) lineError(a, b TablePoint) float64 {
	slope := (b.Command - a.Command) / (b.Position - a.Position)
	off := func(u float64) float64 {
		return math.Abs(r.Command(u) - a.Command - slope*(u-a.Position))
	}
	worst := max(off(a.Position), off(b.Position))
	try := func(u float64) {
		if u > a.Position && u < b.Position {
			worst = max(worst, off(u))
		}
	}
	if b.Position > 0 {
		r.sideOf(1).candidates(slope, max(a.Position, 0), b.Position, try)
	}
	if a.Position < 0 {
		r.sideOf(-1).candidates(slope, max(-b.Position, 0), -a.Position, func(u float64) { try(-u) })
	}
	return worst
}

// candidates calls try with every |u| at which the side may be farthest from a
// line of the given slope between |u| = from and |u| = to.
func (s side) candidates(slope, from, to float64, try func(float64)) {
	width := s.full - s.dead
	try(s.dead)
	try(s.full)
	v := func(a float64) float64 { return clamp((a-s.dead)/width, 0, 1) }
	for _, at := range stationary(s.shape, slope*width, v(from), v(to)) {
		try(s.dead + at*width)
	}
}
