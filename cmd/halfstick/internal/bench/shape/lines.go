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

const (
	// steps is how many even steps a curve is worked out in, besides its corners.
	steps = 200
	// unseen is how far a drawn line may lie off the curve, in units of the
	// figure: a tenth of the width of its thinnest line is not seen.
	unseen = 0.05
)

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
	placed := make([]plotter.XY, len(line))
	for i, q := range line {
		placed[i].X, placed[i].Y = in.Place(q.X, q.Y)
	}
	var b strings.Builder
	for i, q := range sparse(placed) {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(strconv.FormatFloat(q.X, 'f', 2, 64))
		b.WriteByte(',')
		b.WriteString(strconv.FormatFloat(q.Y, 'f', 2, 64))
	}
	return b.String()
}

// sparse leaves out the points of a line that straight lines between the others
// show as well: a page redraws every point with every move of a hand. It keeps
// both ends, and the point that lies farthest off the line between them if that
// is to be seen, and so on with both halves (Douglas and Peucker 1973; from memory).
func sparse(line []plotter.XY) []plotter.XY {
	if len(line) < 3 {
		return line
	}
	first, last := line[0], line[len(line)-1]
	dx, dy := last.X-first.X, last.Y-first.Y
	length := math.Hypot(dx, dy)
	farthest, at := 0.0, 0
	for i, q := range line {
		off := math.Hypot(q.X-first.X, q.Y-first.Y)
		if length > 0 {
			off = math.Abs(dx*(q.Y-first.Y)-dy*(q.X-first.X)) / length
		}
		if off > farthest {
			farthest, at = off, i
		}
	}
	if farthest <= unseen {
		return []plotter.XY{first, last}
	}
	return append(sparse(line[:at+1]), sparse(line[at:])[1:]...)
}
