package curves

import "math"

// Kind says whether an axis returns to a centre or runs from stop to stop.
type Kind string

// The two kinds of axis; the strings are those of the files.
const (
	TwoSided Kind = "two-sided"
	OneSided Kind = "one-sided"
)

// Sides holds one number for each side of an axis.
type Sides struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Calibration places the stops and the centre, in counts. Centre is ignored
// for one-sided axes.
type Calibration struct {
	Low    float64 `json:"low"`
	Centre float64 `json:"centre"`
	High   float64 `json:"high"`
}

// Response is the whole way from counts to command of one axis, exactly as the
// package documentation gives it: calibration, deadband, end margin and a shape
// per side. Position u and command y are −1…1 (two-sided) or 0…1 (one-sided).
//
// A one-sided axis uses Deadband.Low (at the idle stop), EndMargin.High (at the
// other) and the shape High; its other two numbers are 0. The methods take a
// response that Check accepts; NaN in gives NaN out.
type Response struct {
	Kind        Kind
	Calibration Calibration
	Deadband    Sides // u, half-width per side
	EndMargin   Sides // u
	Low, High   Shape // shape per side; one-sided axes use High only
}

// StraightThrough is the response that leaves an axis as it is: the whole range
// of counts, no deadband, no end margin, straight.
func StraightThrough(kind Kind) Response {
	return Response{Kind: kind, Calibration: Calibration{Low: minCounts, High: maxCounts}, Low: Straight{}, High: Straight{}}
}

// The range of counts, and the count of full command.
const (
	minCounts, maxCounts = -32768.0, 32767.0
	fullCommand          = 32767.0
)

// side is one side of a response: |y| = shape((|u| − dead)/(full − dead)).
type side struct {
	dead, full float64 // where the command leaves 0 and where it is full, in |u|
	shape      Shape
}

// sideOf returns the side on which u lies; u = 0 belongs to the high side.
func (r *Response) sideOf(u float64) side {
	switch {
	case r.Kind == OneSided:
		return side{dead: r.Deadband.Low, full: 1 - r.EndMargin.High, shape: r.High}
	case u < 0:
		return side{dead: r.Deadband.Low, full: 1 - r.EndMargin.Low, shape: r.Low}
	default:
		return side{dead: r.Deadband.High, full: 1 - r.EndMargin.High, shape: r.High}
	}
}

// command returns |y| for a = |u|.
func (s side) command(a float64) float64 {
	return s.shape.At(clamp((a-s.dead)/(s.full-s.dead), 0, 1))
}

// slope returns d|y|/d|u|; see Response.Slope.
func (s side) slope(a float64) float64 {
	if a > 1 || (a <= s.dead && s.dead > 0) || (a >= s.full && s.full < 1) {
		return 0
	}
	width := s.full - s.dead
	return s.shape.Slope(clamp((a-s.dead)/width, 0, 1)) / width
}

// Position returns u for counts, clamped to −1…1, or 0…1 on a one-sided axis.
func (r *Response) Position(counts float64) float64 {
	c := r.Calibration
	switch {
	case r.Kind == OneSided:
		return clamp((counts-c.Low)/(c.High-c.Low), 0, 1)
	case counts >= c.Centre:
		return min((counts-c.Centre)/(c.High-c.Centre), 1)
	default:
		return max((counts-c.Centre)/(c.Centre-c.Low), -1)
	}
}

// ToCounts returns the counts, not rounded, of the position u (clamped to the
// axis's range): the inverse of Position.
func (r *Response) ToCounts(u float64) float64 {
	c := r.Calibration
	u = r.clampToAxis(u)
	switch {
	case r.Kind == OneSided:
		return c.Low + u*(c.High-c.Low)
	case u >= 0:
		return c.Centre + u*(c.High-c.Centre)
	default:
		return c.Centre + u*(c.Centre-c.Low)
	}
}

// Command returns y for the position u; positions beyond the stops count as at
// the stops.
func (r *Response) Command(u float64) float64 {
	u = r.clampToAxis(u)
	y := r.sideOf(u).command(math.Abs(u))
	if u < 0 && y != 0 { // no −0
		return -y
	}
	return y
}

// FromCounts returns the command for counts.
func (r *Response) FromCounts(counts float64) float64 { return r.Command(r.Position(counts)) }

// Slope returns dy/du at the position u. It is 0 where the response is flat:
// inside the deadband and the end margin, their corners included, and beyond
// the stops. At a stop without end margin, and at 0 without deadband, it is the
// slope from the inside and from the high side. It is +Inf where a power shape
// with an exponent below 1 starts.
func (r *Response) Slope(u float64) float64 {
	if r.clampToAxis(u) != u {
		return 0
	}
	return r.sideOf(u).slope(math.Abs(u))
}

// Inverse returns the position with the smallest |u| that commands y; 0 for 0.
// Commands beyond full count as full, negative ones on a one-sided axis as 0.
func (r *Response) Inverse(y float64) float64 {
	y = r.clampToAxis(y)
	if y == 0 {
		return 0
	}
	s := r.sideOf(y)
	a := min(s.dead+s.shape.Inverse(math.Abs(y))*(s.full-s.dead), s.full)
	return math.Copysign(a, y)
}

func (r *Response) clampToAxis(x float64) float64 {
	if r.Kind == OneSided {
		return clamp(x, 0, 1)
	}
	return clamp(x, -1, 1)
}

// Check reports, as a *FieldError with the path of the profile file, the first
// thing that makes the response unusable: stops outside the counts or less than
// one count apart, a deadband or end margin outside 0…1 or without room between
// them, a shape that is missing or out of range.
func (r *Response) Check() error {
	if e := r.check(); e != nil {
		return e
	}
	return nil
}

func (r *Response) check() *FieldError {
	if e := checkKind(r.Kind); e != nil {
		return e
	}
	if e := r.checkCalibration(); e != nil {
		return e.under("calibration")
	}
	if r.Kind == OneSided {
		return r.checkOneSided()
	}
	if e := checkSide("low", r.Deadband.Low, r.EndMargin.Low); e != nil {
		return e
	}
	if e := checkSide("high", r.Deadband.High, r.EndMargin.High); e != nil {
		return e
	}
	if e := checkShape(r.Low); e != nil {
		return e.under("shape.low")
	}
	if e := checkShape(r.High); e != nil {
		return e.under("shape.high")
	}
	return nil
}

func checkKind(k Kind) *FieldError {
	if k == TwoSided || k == OneSided {
		return nil
	}
	return &FieldError{Path: "kind", Found: quoted(string(k)), Want: `"two-sided" or "one-sided"`}
}

func (r *Response) checkOneSided() *FieldError {
	if r.Deadband.High != 0 {
		return &FieldError{Path: "deadband.high", Found: number(r.Deadband.High), Want: "0",
			Remedy: "a one-sided axis has its deadband at the low stop only"}
	}
	if r.EndMargin.Low != 0 {
		return &FieldError{Path: "end_margin.low", Found: number(r.EndMargin.Low), Want: "0",
			Remedy: "a one-sided axis has its end margin at the high stop only"}
	}
	if e := checkWidths("deadband.low", r.Deadband.Low, "end_margin.high", r.EndMargin.High); e != nil {
		return e
	}
	if e := checkShape(r.High); e != nil {
		return e.under("shape.high")
	}
	return nil
}

func checkSide(name string, dead, margin float64) *FieldError {
	return checkWidths("deadband."+name, dead, "end_margin."+name, margin)
}

// minStretch is the least u between deadband and end margin; a narrower stretch
// would be a switch.
const minStretch = 1e-3

func checkWidths(deadPath string, dead float64, marginPath string, margin float64) *FieldError {
	if e := inRange(deadPath, dead, 0, 1-minStretch, "it is a share of half-throw"); e != nil {
		return e
	}
	most := 1 - minStretch - dead
	return inRange(marginPath, margin, 0, most, "it and the "+deadPath+" of "+number(dead)+" leave no room for a shape")
}

func (r *Response) checkCalibration() *FieldError {
	c := r.Calibration
	const remedy = "counts run from -32768 to 32767"
	if e := inRange("low", c.Low, minCounts, maxCounts, remedy); e != nil {
		return e
	}
	if e := inRange("high", c.High, minCounts, maxCounts, remedy); e != nil {
		return e
	}
	if r.Kind == OneSided {
		return checkAbove("high", c.High, "low", c.Low)
	}
	if e := inRange("centre", c.Centre, minCounts, maxCounts, remedy); e != nil {
		return e
	}
	if e := checkAbove("centre", c.Centre, "low", c.Low); e != nil {
		return e
	}
	return checkAbove("high", c.High, "centre", c.Centre)
}

func checkAbove(path string, x float64, below string, y float64) *FieldError {
	if x-y >= 1 {
		return nil
	}
	return &FieldError{Path: path, Found: number(x), Want: "at least 1 count above the " + below + " of " + number(y),
		Remedy: "counts rise from the low stop to the high one"}
}
