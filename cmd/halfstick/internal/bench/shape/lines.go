package shape

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/plotter"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
)

// steps is how many even steps a curve is drawn in, besides its corners.
const steps = 200

// Lines are the curves of a response as the points of polylines, in the user
// units of the figure that they lie on.
type Lines struct {
	Response string   `json:"response"`
	Slope    []string `json:"slope"` // in pieces, where the slope is finite
}

// Draw draws a response on the two panels of figures.Shaping.
func Draw(r *curves.Response, response, slope figures.Area) Lines {
	var out Lines
	var commands, slopes []plotter.XY
	flush := func() {
		if len(slopes) > 1 {
			out.Slope = append(out.Slope, Polyline(slopes, slope))
		}
		slopes = nil
	}
	for _, u := range places(r) {
		commands = append(commands, plotter.XY{X: 100 * u, Y: 100 * r.Command(u)})
		if s := r.Slope(u); !math.IsInf(s, 0) && s <= slope.YMax {
			slopes = append(slopes, plotter.XY{X: 100 * u, Y: s})
		} else {
			flush()
		}
	}
	flush()
	out.Response = Polyline(commands, response)
	return out
}

// places are the positions at which a response is drawn, its corners from
// both sides among them.
func places(r *curves.Response) []float64 {
	first := -steps
	corners := []float64{-1 + r.EndMargin.Low, -r.Deadband.Low, r.Deadband.High, 1 - r.EndMargin.High}
	if r.Kind == curves.OneSided {
		first = 0
		corners = []float64{r.Deadband.Low, 1 - r.EndMargin.High}
	}
	var out []float64
	for i := first; i <= steps; i++ {
		out = append(out, float64(i)/steps)
	}
	const apart = 1e-6
	for _, c := range corners {
		for _, u := range []float64{c - apart, c, c + apart} {
			out = append(out, min(max(u, float64(first)/steps), 1))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Polyline writes a line as the points of an SVG polyline in an area, to a
// hundredth of a unit.
func Polyline(line []plotter.XY, in figures.Area) string {
	var b strings.Builder
	for i, q := range line {
		if i > 0 {
			b.WriteByte(' ')
		}
		x, y := in.Place(q.X, q.Y)
		b.WriteString(strconv.FormatFloat(x, 'f', 2, 64))
		b.WriteByte(',')
		b.WriteString(strconv.FormatFloat(y, 'f', 2, 64))
	}
	return b.String()
}
