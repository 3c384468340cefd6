package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
)

// comparison is what compare prints.
type comparison struct {
	Format string          `json:"format"`
	Curves []comparedCurve `json:"curves"`
}

// comparedCurve is a curve in numbers, one for each side of an axis whose sides differ.
type comparedCurve struct {
	Name     string      `json:"name"`
	Side     string      `json:"side"`     // low, high, or both where they are alike
	Commands [3]atPlace  `json:"commands"` // percent of full
	Slopes   [2]*atPlace `json:"slopes"`   // null where it is infinite
	Largest  *float64    `json:"largest_slope"`
}

// atPlace is a value at a position on a side, in percent of half-throw.
type atPlace struct {
	Position float64 `json:"position_percent"`
	Value    float64 `json:"value"`
}

// compared puts curves into numbers.
func compared(named []figures.NamedCurve) []comparedCurve {
	var out []comparedCurve
	for _, c := range named {
		switch r := c.Response; {
		case r.Kind == curves.OneSided:
			out = append(out, comparedSide(c, "high", 1))
		case sidesAlike(r):
			out = append(out, comparedSide(c, "both", 1))
		default:
			out = append(out, comparedSide(c, "low", -1), comparedSide(c, "high", 1))
		}
	}
	return out
}

// comparedSide takes the side of a direction: 1 for high, −1 for low.
func comparedSide(c figures.NamedCurve, side string, direction float64) comparedCurve {
	r := c.Response
	out := comparedCurve{Name: c.Name, Side: side}
	for i, at := range []float64{25, 50, 75} {
		out.Commands[i] = atPlace{at, direction * 100 * r.Command(direction*at/100)}
	}
	for i, at := range []float64{5, 50} {
		if s := r.Slope(direction * at / 100); !math.IsInf(s, 0) {
			out.Slopes[i] = &atPlace{at, s}
		}
	}
	if s := largestSlope(r, direction); !math.IsInf(s, 0) {
		out.Largest = &s
	}
	return out
}

// sidesAlike tells whether both sides command the same, by every thousandth.
func sidesAlike(r *curves.Response) bool {
	for i := range 1001 {
		u := float64(i) / 1000
		if math.Abs(r.Command(u)+r.Command(-u)) > 1e-12 {
			return false
		}
	}
	return true
}

// largestSlope looks at every thousandth of a side of the throw. A shape with an
// exponent below 1 is infinitely steep at the edge of the deadband.
func largestSlope(r *curves.Response, direction float64) float64 {
	largest := 0.0
	for i := range 1001 {
		largest = max(largest, r.Slope(direction*float64(i)/1000))
	}
	return largest
}

func curveTable(w io.Writer, list []comparedCurve) error {
	slope := func(s *float64) string {
		if s == nil {
			return "infinite"
		}
		return fmt.Sprintf("%.2f", *s)
	}
	at := func(p *atPlace) string {
		if p == nil {
			return slope(nil)
		}
		return slope(&p.Value)
	}
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(tw, "curve\tat 25 %\tat 50 %\tat 75 %\tslope at 5 %\tslope at 50 %\tlargest slope\t")
	for i, c := range list {
		name := c.Name
		if c.Side == "low" || i > 0 && list[i-1].Side == "low" {
			name += ", " + c.Side + " side"
		}
		fmt.Fprintf(tw, "%s\t%.1f %%\t%.1f %%\t%.1f %%\t%s\t%s\t%s\t\n", name,
			c.Commands[0].Value, c.Commands[1].Value, c.Commands[2].Value, at(c.Slopes[0]), at(c.Slopes[1]), slope(c.Largest))
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, "positions and commands in percent of half-throw and of full command; slope in command per position")
	return err
}
