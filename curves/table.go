package curves

import (
	"fmt"
	"math"
	"slices"
)

// Spacings of a table's breakpoints.
const (
	Even = "even" // at equal distances within the shaped stretch of each side
	Best = "best" // so that the largest error is least
)

// TableOptions says what a receiving program takes.
type TableOptions struct {
	Points  int    // breakpoints an axis: exactly so many with even, at most with best
	Places  int    // decimals of a percent in position and command, 0…6; 0 is whole percents
	Spacing string // Even or Best
}

// maxPlaces is as far as decimals of a percent mean anything: 1e-6 % is a
// thousandth of a count.
const maxPlaces = 6

// TablePoint is one breakpoint: counts (rounded), position u and command y,
// both rounded to the table's places.
type TablePoint struct {
	Counts            int
	Position, Command float64
}

// Table is a response turned into breakpoints with straight lines between them.
// Positions rise strictly, commands never fall, the ends are exact.
type Table struct {
	Label  string // of the axis; empty from Response.Table
	Places int
	Points []TablePoint
	// MaxError is the largest |y − straight lines| over all u, in percent of
	// full command, for the rounded numbers as they stand in Points.
	MaxError float64
}

// Monotone says whether positions rise strictly and commands never fall.
func (t *Table) Monotone() bool {
	for i := 1; i < len(t.Points); i++ {
		a, b := t.Points[i-1], t.Points[i]
		if !(b.Position > a.Position && b.Command >= a.Command) {
			return false
		}
	}
	return true
}

// Table turns the response into breakpoints. The stops and the corners of
// deadband and end margin are among them, and the centre of a two-sided axis
// unless it lies inside a deadband of a best-spaced table. Rounding never makes
// a deadband or an end margin narrower: their corners are rounded into the
// shaped stretch between them.
//
// With Best the breakpoints are those whose straight lines, through the rounded
// numbers, err least at most. On the curve every piece is as long as one common
// tolerance allows, the tolerance bisected until the pieces suffice: the optimum
// for a curve that bends one way (each side of straight, power and blend), close
// to it for points that bend both ways. About these places the rounded numbers
// are searched. A best table has fewer breakpoints than asked for where more
// would not help.
//
// Errors are *FieldError: options out of range, too few points for the corners,
// too many for the places, or a response that Check refuses.
func (r *Response) Table(o TableOptions) (Table, error) {
	if err := r.Check(); err != nil {
		return Table{}, err
	}
	if e := checkOptions(o); e != nil {
		return Table{}, e
	}
	even, evenErr := r.evenTable(o)
	if o.Spacing == Even {
		if evenErr != nil {
			return Table{}, evenErr
		}
		return even, nil
	}
	best, bestErr := r.bestTable(o)
	if bestErr != nil {
		return Table{}, bestErr
	}
	if evenErr == nil && even.MaxError < best.MaxError {
		return even, nil
	}
	return best, nil
}

// Check reports the first option that is out of range, as a *FieldError.
func (o TableOptions) Check() error {
	if e := checkOptions(o); e != nil {
		return e
	}
	return nil
}

func checkOptions(o TableOptions) *FieldError {
	if o.Spacing != Even && o.Spacing != Best {
		return &FieldError{Path: "spacing", Found: quoted(o.Spacing), Want: `"even" or "best"`}
	}
	if e := inRange("places", float64(o.Places), 0, maxPlaces, "0 gives whole percents"); e != nil {
		return e
	}
	return inRange("points", float64(o.Points), 2, 1<<16, "21 is common")
}

// latticeSide is one side of a response on the lattice of a table's numbers:
// whole multiples a of 1/scale in |u| and |y|.
type latticeSide struct {
	side
	scale      int
	dead, full int // corners: the command is 0 up to dead and scale from full
}

// newLatticeSide puts a side on the lattice, with its corners moved inward where
// they lie between two lattice points.
func newLatticeSide(s side, places int) latticeSide {
	scale := int(math.Round(100 * math.Pow10(places)))
	const slack = 1e-6 // lattice steps: 0.07·100 is 7.000000000000001
	return latticeSide{
		side:  s,
		scale: scale,
		dead:  int(math.Ceil(s.dead*float64(scale) - slack)),
		full:  int(math.Floor(s.full*float64(scale) + slack)),
	}
}

// flats counts the straight pieces that deadband and end margin take.
func (s latticeSide) flats() (dead, margin int) {
	if s.dead > 0 {
		dead = 1
	}
	if s.full < s.scale {
		margin = 1
	}
	return dead, margin
}

func (s latticeSide) commandAt(a int) int {
	switch {
	case a <= s.dead:
		return 0
	case a >= s.full:
		return s.scale
	default:
		return int(math.Round(s.command(float64(a)/float64(s.scale)) * float64(s.scale)))
	}
}

// evenly divides the shaped stretch into n equal pieces, as near as the lattice
// allows, and adds the corners and the ends.
func (s latticeSide) evenly(n int) ([]int, *FieldError) {
	if s.full-s.dead < n {
		return nil, &FieldError{Path: "points", Found: fmt.Sprintf("%d pieces for %d steps of position", n, s.full-s.dead),
			Want: "a step of position for every piece", Remedy: "ask for fewer points or more places"}
	}
	inner := make([]int, 0, n-1)
	for i := 1; i < n; i++ {
		inner = append(inner, s.dead+int(math.Round(float64(i)*float64(s.full-s.dead)/float64(n))))
	}
	return s.withCorners(inner), nil
}

func (s latticeSide) withCorners(inner []int) []int {
	return slices.Compact(slices.Concat([]int{0, s.dead}, inner, []int{s.full, s.scale}))
}

// sides returns the sides of the response, low first; a one-sided axis has one.
func (r *Response) sides(places int) []latticeSide {
	if r.Kind == OneSided {
		return []latticeSide{newLatticeSide(r.sideOf(0), places)}
	}
	return []latticeSide{newLatticeSide(r.sideOf(-1), places), newLatticeSide(r.sideOf(1), places)}
}

// budget returns how many straight pieces remain for the shaped stretches.
func budget(o TableOptions, sides []latticeSide, flats int) (int, *FieldError) {
	for _, s := range sides {
		if s.full <= s.dead {
			return 0, &FieldError{Path: "places", Found: fmt.Sprint(o.Places), Want: "more",
				Remedy: "deadband and end margin leave no step of position between them"}
		}
	}
	pieces := o.Points - 1 - flats
	if pieces < len(sides) {
		return 0, &FieldError{Path: "points", Found: fmt.Sprint(o.Points), Want: fmt.Sprintf("at least %d", flats+len(sides)+1),
			Remedy: "the ends and the corners of deadband and end margin need a point each"}
	}
	return pieces, nil
}

func (r *Response) evenTable(o TableOptions) (Table, *FieldError) {
	sides := r.sides(o.Places)
	flats, length := 0, 0
	for _, s := range sides {
		dead, margin := s.flats()
		flats += dead + margin
		length += s.full - s.dead
	}
	left, e := budget(o, sides, flats)
	if e != nil {
		return Table{}, e
	}
	var positions [][]int
	for i, s := range sides {
		n := left
		if i < len(sides)-1 { // the low side of two gets its share of the pieces
			share := float64(left) * float64(s.full-s.dead) / float64(length)
			n = min(max(int(math.Round(share)), 1), left-1)
			left -= n
		}
		p, e := s.evenly(n)
		if e != nil {
			return Table{}, e
		}
		positions = append(positions, p)
	}
	return r.assemble(o.Places, sides, positions, true), nil
}

func (r *Response) bestTable(o TableOptions) (Table, *FieldError) {
	sides := r.sides(o.Places)
	flats, deadbands := 0, 0
	for _, s := range sides {
		dead, margin := s.flats()
		deadbands += dead
		flats += dead + margin
	}
	// Two deadbands side by side are one straight piece.
	withCentre := deadbands < 2
	if !withCentre {
		flats--
	}
	pieces, e := budget(o, sides, flats)
	if e != nil {
		return Table{}, e
	}
	positions := make([][]int, len(sides))
	for i, path := range bestPaths(sides, pieces) {
		positions[i] = sides[i].withCorners(path)
	}
	return r.assemble(o.Places, sides, positions, withCentre), nil
}

// assemble joins the sides' positions to a table and measures its error.
func (r *Response) assemble(places int, sides []latticeSide, positions [][]int, withCentre bool) Table {
	t := Table{Places: places}
	add := func(s latticeSide, a, sign int) {
		u := float64(sign*a) / float64(s.scale)
		t.Points = append(t.Points, TablePoint{
			Counts:   int(math.Round(r.ToCounts(u))),
			Position: u,
			Command:  float64(sign*s.commandAt(a)) / float64(s.scale),
		})
	}
	high := len(sides) - 1
	if high > 0 {
		for _, a := range slices.Backward(positions[0]) {
			if a > 0 {
				add(sides[0], a, -1)
			}
		}
	}
	for _, a := range positions[high] {
		if a > 0 || withCentre {
			add(sides[high], a, 1)
		}
	}
	t.MaxError = 100 * r.tableError(t.Points)
	return t
}

// Tables turns every axis of the profile into a table with the axis's label.
func (p *Profile) Tables(o TableOptions) ([]Table, error) {
	tables := make([]Table, len(p.Axes))
	for i := range p.Axes {
		t, err := p.Axes[i].Response.Table(o)
		if err != nil {
			return nil, fmt.Errorf("axis %q: %w", p.Axes[i].Label, err)
		}
		t.Label = p.Axes[i].Label
		tables[i] = t
	}
	return tables, nil
}
