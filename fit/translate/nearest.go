package translate

import (
	"fmt"
	"math"

	"halfstick/curves"
)

// Nearest is the whole-number setting that brings a program nearest to a
// response, in the sense of the least largest difference in command over the
// throw, with the program's deadband and end margin set as the response's.
type Nearest struct {
	Setting   int
	Parameter float64 // a of the family at this setting
	// Error is the largest difference at this setting, as a share of full
	// command, and ErrorHigh what it may be with the scale anywhere in its 95 %
	// interval. At is where the largest difference is, the position u, and Off
	// the program's size of command there less that of the response.
	Error, ErrorHigh float64
	At, Off          float64
	// ErrorBare is the largest difference with the program's deadband and end
	// margin left off, a share of full command.
	ErrorBare float64
	// Beyond says that the setting lies outside those that were read, so that it
	// rests on the family alone.
	Beyond bool
}

// throwSteps is how finely the throw is looked at, a side.
const throwSteps = 500

// target is one side of a response.
type target struct {
	sign       float64 // of u
	dead, full float64 // |u| where the shape begins and ends
	commands   []float64
}

// Side picks sides of a response.
type Side string

// The sides of a response that a setting is to serve.
const (
	Both Side = "both"
	Low  Side = "low"
	High Side = "high"
)

// targetsOf returns the shapes of the sides, sampled; a one-sided axis has its
// high one only.
func targetsOf(r *curves.Response, side Side) []target {
	var all []target
	if r.Kind == curves.OneSided {
		return append(all, newTarget(r.High, 1, r.Deadband.Low, r.EndMargin.High))
	}
	if side != Low {
		all = append(all, newTarget(r.High, 1, r.Deadband.High, r.EndMargin.High))
	}
	if side != High {
		all = append(all, newTarget(r.Low, -1, r.Deadband.Low, r.EndMargin.Low))
	}
	return all
}

func newTarget(s curves.Shape, sign, dead, margin float64) target {
	t := target{sign: sign, dead: dead, full: 1 - margin, commands: make([]float64, throwSteps+1)}
	for i := range t.commands {
		t.commands[i] = s.At(float64(i) / throwSteps)
	}
	return t
}

// farthest returns the largest difference of the family at a from the targets,
// with its sign, and the position u.
func farthest(f *Family, a float64, targets []target) (off, at float64) {
	for _, t := range targets {
		for i, y := range t.commands {
			v := float64(i) / throwSteps
			if d := f.At(a, v) - y; math.Abs(d) > math.Abs(off) {
				off, at = d, t.sign*(t.dead+v*(t.full-t.dead))
			}
		}
	}
	return off, at
}

// Nearest finds the setting for the chosen sides of a response if the program
// is the candidate. It fails if none of the settings that the program accepts
// is within the family's range.
func (id *Identified) Nearest(c *Candidate, r *curves.Response, side Side) (*Nearest, error) {
	targets := targetsOf(r, side)
	size := func(setting int) float64 {
		off, _ := farthest(c.Family, c.parameter(float64(setting)), targets)
		return math.Abs(off)
	}
	within, err := id.wholeNumbers(c)
	if err != nil {
		return nil, err
	}
	// The size falls and then rises, so the better of two neighbours says on
	// which side of them the best lies.
	low, high := within.Low, within.High
	for low < high {
		middle := low + (high-low)/2
		if size(middle) <= size(middle+1) {
			high = middle
		} else {
			low = middle + 1
		}
	}
	n := &Nearest{Setting: low}
	id.describe(n, c, r, targets)
	return n, nil
}

// wholeNumbers returns the settings at which the candidate's family is a shape
// and that the program accepts as far as is known.
func (id *Identified) wholeNumbers(c *Candidate) (Range, error) {
	if c.Scale == 0 {
		return Range{}, fmt.Errorf("if it is %s, the setting changes nothing; note more readings", c.Name)
	}
	ends := [2]float64{id.Options.StraightAt + c.Low/c.Scale, id.Options.StraightAt + c.High/c.Scale}
	low := math.Max(math.Ceil(math.Min(ends[0], ends[1])), -maxSetting)
	high := math.Min(math.Floor(math.Max(ends[0], ends[1])), maxSetting)
	if s := id.Options.Settings; s != nil {
		low, high = math.Max(low, float64(s.Low)), math.Min(high, float64(s.High))
	}
	if low > high {
		return Range{}, fmt.Errorf("no whole number that the program accepts makes a shape if it is %s; check the settings that it accepts, and which one is straight", c.Name)
	}
	return Range{int(low), int(high)}, nil
}

func (id *Identified) describe(n *Nearest, c *Candidate, r *curves.Response, targets []target) {
	distance := float64(n.Setting) - id.Options.StraightAt
	n.Parameter = c.Scale * distance
	n.Off, n.At = farthest(c.Family, n.Parameter, targets)
	n.Error = math.Abs(n.Off)
	n.ErrorHigh = n.Error
	for _, scale := range []float64{c.ScaleLow, c.ScaleHigh} {
		a := math.Min(math.Max(scale*distance, c.Low), c.High)
		off, _ := farthest(c.Family, a, targets)
		n.ErrorHigh = math.Max(n.ErrorHigh, math.Abs(off))
	}
	for _, t := range targets {
		for i := range throwSteps + 1 {
			u := float64(i) / throwSteps
			d := c.At(n.Parameter, u) - math.Abs(r.Command(t.sign*u))
			n.ErrorBare = math.Max(n.ErrorBare, math.Abs(d))
		}
	}
	low, high := id.read()
	n.Beyond = float64(n.Setting) < low || float64(n.Setting) > high
}

// ErrorIf is the largest difference, a share of full command, that a setting
// leaves if the program is the candidate; its range's end where the setting is
// beyond it.
func (id *Identified) ErrorIf(c *Candidate, setting int, r *curves.Response, side Side) float64 {
	a := math.Min(math.Max(c.parameter(float64(setting)), c.Low), c.High)
	off, _ := farthest(c.Family, a, targetsOf(r, side))
	return math.Abs(off)
}
