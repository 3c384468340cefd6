package propose

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/integrate"
)

// cells is the number of equal cells that the demand's grid has on [0,1].
const cells = 1000

// tailFloor is the least density, as a share of the largest. It keeps the bound
// defined where nothing was flown, and is too small to show in any number.
const tailFloor = 1e-30

// Demand is how often each command is needed in normal flight.
type Demand struct {
	Source  string    `json:"source"`  // "default" or "flight"
	Minutes float64   `json:"minutes"` // of flight that count
	Weight  float64   `json:"weight"`  // share of the flown density, 0 to 1; the rest is the default
	Y       []float64 `json:"-"`       // |y|, an even grid on [0,1]
	P       []float64 `json:"-"`       // density on the grid; its trapezoid integral is 1
	SigmaY  float64   `json:"sigma_y"` // RMS command
	Holds   []Hold    `json:"holds,omitempty"`
}

// Hold is a stretch of flight in which a large command was held still.
type Hold struct {
	Recording int     `json:"recording"` // index of the recording
	From      float64 `json:"from_s"`    // since the recording's first row
	To        float64 `json:"to_s"`
	Command   float64 `json:"command"` // mean y
	Kept      bool    `json:"kept"`    // counted in the demand all the same
}

// DefaultDemand is the demand where nothing was flown: half-normal with 95 % of
// the commands inside the normal deflection, σ_y = normal/1.96, renormalised
// on [0,1]. It falls from the centre outward.
func DefaultDemand(normal float64) Demand {
	sigma := normal / 1.96
	d := NewDemand(func(y float64) float64 { return math.Exp(-y * y / (2 * sigma * sigma)) })
	d.SigmaY = sigma
	return d
}

// evenDemand asks for every command as often as for any other: all that is
// known of a one-sided axis that was not flown.
func evenDemand() Demand { return NewDemand(func(float64) float64 { return 1 }) }

// NewDemand is the demand with the given density over |y| in [0,1], up to a
// factor. The density is finite and not negative, and above 0 somewhere.
func NewDemand(density func(y float64) float64) Demand {
	y := floats.Span(make([]float64, cells+1), 0, 1)
	p := make([]float64, len(y))
	for i := range y {
		p[i] = density(y[i])
	}
	d := Demand{Source: "default", Y: y, P: p}
	d.normalise()
	return d
}

// normalise makes the density integrate to 1 and works out the RMS command.
func (d *Demand) normalise() {
	floor := tailFloor * floats.Max(d.P)
	for i := range d.P {
		d.P[i] = math.Max(d.P[i], floor)
	}
	floats.Scale(1/integrate.Trapezoidal(d.Y, d.P), d.P)
	square := make([]float64, len(d.Y))
	for i, y := range d.Y {
		square[i] = y * y * d.P[i]
	}
	d.SigmaY = math.Sqrt(integrate.Trapezoidal(d.Y, square))
}

// At returns the density at the command y of [0,1], between the grid's points
// by straight lines.
func (d *Demand) At(y float64) float64 {
	n := len(d.Y) - 1
	t := min(max(y, 0), 1) * float64(n)
	i := min(int(t), n-1)
	return d.P[i] + (t-float64(i))*(d.P[i+1]-d.P[i])
}

// slopeAt returns the slope of the density as At has it.
func (d *Demand) slopeAt(y float64) float64 {
	n := len(d.Y) - 1
	i := min(max(int(y*float64(n)), 0), n-1)
	return (d.P[i+1] - d.P[i]) * float64(n)
}

// mid returns the density of each cell between two grid points.
func (d *Demand) mid() []float64 {
	m := make([]float64, len(d.P)-1)
	for i := range m {
		m[i] = (d.P[i] + d.P[i+1]) / 2
	}
	return m
}

// mix returns w parts of flown and 1−w parts of d.
func (d *Demand) mix(flown []float64, w float64) Demand {
	out := Demand{Source: "flight", Weight: w, Y: slices.Clone(d.Y), P: make([]float64, len(d.P))}
	for i := range out.P {
		out.P[i] = w*flown[i] + (1-w)*d.P[i]
	}
	out.normalise()
	return out
}
