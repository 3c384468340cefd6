package curves

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Shape is a non-falling curve from [0,1] to [0,1] with At(0)=0 and At(1)=1.
// Arguments outside [0,1] are clamped.
type Shape interface {
	// Name is the kind word of the profile file: straight, power, blend, points.
	Name() string
	// At returns the command for the position v, both 0…1 of the shaped stretch.
	At(v float64) float64
	// Slope returns dAt/dv inside (0,1), the one-sided slope at 0 and 1
	// (+Inf possible at 0 for exponents below 1) and 0 outside [0,1].
	Slope(v float64) float64
	// Inverse returns the smallest v with At(v) ≥ y, for y in [0,1].
	Inverse(y float64) float64
}

// Ranges of the shapes' parameters. Below −½ or above 1 a blend would fall
// somewhere; outside its range a power curve is a switch rather than a control.
const (
	MinExponent, MaxExponent = 0.2, 8.0
	MinShare, MaxShare       = -0.5, 1.0
)

// checker is a shape whose parameters can be wrong.
type checker interface{ check() *FieldError }

// turner is a shape that knows the places between which its slope only rises
// or only falls. A shape without this method is looked at on a fine grid.
type turner interface{ turns() []float64 }

// Straight is the shape y = v.
type Straight struct{}

// Name returns "straight".
func (Straight) Name() string { return "straight" }

// At returns v.
func (Straight) At(v float64) float64 { return clamp(v, 0, 1) }

// Slope returns 1 on [0,1].
func (Straight) Slope(v float64) float64 {
	if v < 0 || v > 1 {
		return 0
	}
	return 1
}

// Inverse returns y.
func (Straight) Inverse(y float64) float64 { return clamp(y, 0, 1) }

func (Straight) turns() []float64 { return nil }

// Power is the shape y = v^Exponent, 0.2 ≤ Exponent ≤ 8.
type Power struct{ Exponent float64 }

// Name returns "power".
func (Power) Name() string { return "power" }

// At returns v^Exponent.
func (p Power) At(v float64) float64 { return math.Pow(clamp(v, 0, 1), p.Exponent) }

// Slope returns Exponent·v^(Exponent−1); +Inf at 0 for exponents below 1.
func (p Power) Slope(v float64) float64 {
	if v < 0 || v > 1 {
		return 0
	}
	return p.Exponent * math.Pow(v, p.Exponent-1)
}

// Inverse returns y^(1/Exponent).
func (p Power) Inverse(y float64) float64 { return math.Pow(clamp(y, 0, 1), 1/p.Exponent) }

func (p Power) check() *FieldError {
	return inRange("exponent", p.Exponent, MinExponent, MaxExponent, "1 is straight, above 1 is finer around the centre")
}

func (Power) turns() []float64 { return nil }

// Blend is the cubic blend y = (1−Share)·v + Share·v³, −½ ≤ Share ≤ 1.
type Blend struct{ Share float64 }

// Name returns "blend".
func (Blend) Name() string { return "blend" }

// At returns (1−Share)·v + Share·v³.
func (b Blend) At(v float64) float64 {
	if v >= 1 {
		return 1 // (1−k)+k need not be exactly 1
	}
	v = clamp(v, 0, 1)
	return v * ((1 - b.Share) + b.Share*v*v)
}

// Slope returns 1 − Share + 3·Share·v².
func (b Blend) Slope(v float64) float64 {
	if v < 0 || v > 1 {
		return 0
	}
	return 1 - b.Share + 3*b.Share*v*v
}

// Inverse finds the v of y by bisection, to the last bit.
func (b Blend) Inverse(y float64) float64 {
	if y >= 1 {
		return 1 // where the curve ends flat, rounding reaches 1 too early
	}
	return firstReaching(b.At, 0, 1, y)
}

func (b Blend) check() *FieldError {
	return inRange("share", b.Share, MinShare, MaxShare, "0 is straight, above 0 is finer around the centre")
}

func (Blend) turns() []float64 { return nil }

// ParseCurve reads a shape from the command line: straight, power:P with
// 0.2 ≤ P ≤ 8, or blend:K with −0.5 ≤ K ≤ 1.
func ParseCurve(s string) (Shape, error) {
	word, parameter, given := strings.Cut(s, ":")
	if word == "straight" && !given {
		return Straight{}, nil
	}
	if !given || (word != "power" && word != "blend") {
		return nil, fmt.Errorf("curve %q is not known; write straight, power:1.6 or blend:0.4", s)
	}
	x, err := strconv.ParseFloat(parameter, 64)
	if err != nil {
		return nil, fmt.Errorf("curve %q: %q is not a number; write for example %s:0.6", s, parameter, word)
	}
	var shape Shape = Power{x}
	if word == "blend" {
		shape = Blend{x}
	}
	if e := checkShape(shape); e != nil {
		return nil, fmt.Errorf("curve %q: %w", s, e)
	}
	return shape, nil
}

// checkShape reports a missing shape or one whose parameter is out of range.
func checkShape(s Shape) *FieldError {
	if s == nil {
		return &FieldError{Found: "missing", Want: "a shape", Remedy: `for example {"kind":"straight"}`}
	}
	if c, ok := s.(checker); ok {
		return c.check()
	}
	return nil
}

// firstReaching returns the smallest v of [lo,hi] at which the non-falling at
// reaches y, to the last bit; hi if none does.
func firstReaching(at func(float64) float64, lo, hi, y float64) float64 {
	if at(lo) >= y {
		return lo
	}
	for {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			return hi
		}
		if at(mid) >= y {
			hi = mid
		} else {
			lo = mid
		}
	}
}

func clamp(x, lo, hi float64) float64 { return min(max(x, lo), hi) }
