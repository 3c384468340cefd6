package figures

import (
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
)

// NamedCurve is one of several curves to be laid over each other.
type NamedCurve struct {
	Name     string
	Response *curves.Response // nil is left out
}

// UsualNoise is a noise to compare curves with where none is given: 0.2 % of
// half-throw, that of a worn sensor (common practice, no source).
const UsualNoise = 0.002

// OfShape is the curve of a bare shape, without deadband or end margins.
func OfShape(name string, kind curves.Kind, s curves.Shape) NamedCurve {
	r := curves.StraightThrough(kind)
	r.Low, r.High = s, s
	return NamedCurve{Name: name, Response: &r}
}

func (c NamedCurve) from() float64 {
	if c.Response.Kind == curves.OneSided {
		return 0
	}
	return -1
}

const (
	curvesWidth  = vg.Length(440)
	curvesHeight = vg.Length(640)
	// steepest bounds the slope panel: shapes with an exponent below 1 are
	// infinitely steep at the centre.
	steepest    = 6.0
	samples     = 400
	nameLetters = 22
)

// Curves lays curves over each other in three panels: response, slope and
// the command jitter that a noise of the position makes, its standard deviation
// given in u. Positions and commands are in percent; each curve is named on its
// lines.
func Curves(named []NamedCurve, noise float64) *Figure {
	var drawn []NamedCurve
	var names []string
	for _, c := range named {
		if c.Response != nil {
			drawn = append(drawn, c)
			names = append(names, c.Name)
		}
	}
	if len(drawn) == 0 {
		return without(curvesWidth, 120, "Curves", "no curve to draw")
	}
	return &Figure{
		width: curvesWidth, height: curvesHeight,
		says: "Response, slope and command jitter of " + strings.Join(names, ", "),
		draw: func(c draw.Canvas) { drawCurves(c, drawn, noise) },
	}
}

func drawCurves(c draw.Canvas, drawn []NamedCurve, noise float64) {
	from := 0.0
	for _, n := range drawn {
		from = min(from, n.from())
	}
	throw := throwLabel(from)
	panels := []*plot.Plot{
		newPanel("Response", "", "command, % of full"),
		newPanel("Slope", "", "command per position"),
		newPanel("Command jitter where the position has a noise of "+text.Percent(noise), throw, "% of full command, RMS"),
	}
	var right [3][]callout
	for i, n := range drawn {
		pen := pens[i%len(pens)]
		lines := [][]plotter.XYs{
			{sample(n, n.Response.Command, 100)}, slopes(n, 1), slopes(n, 100*noise),
		}
		for j, pieces := range lines {
			addLines(panels[j], pen, pieces)
			right[j] = append(right[j], callout{shorten(n.Name, nameLetters), lastNonZero(pieces), pen})
		}
	}
	for j, p := range panels {
		p.X.Min, p.X.Max = 100*from, 100
		p.X.Tick.Marker = ticks{about: 8, quarters: true, bare: j < 2}
		p.Y.Min = 0
		p.Y.Max *= 1.05
		p.Y.Tick.Marker = ticks{about: 4}
	}
	panels[0].Y.Min, panels[0].Y.Max = 100*from, 100
	panels[0].Y.Tick.Marker = ticks{about: 8, quarters: true}
	panels[1].Y.Max = min(panels[1].Y.Max, steepest)

	c = draw.Crop(c, 8, -nameWidth(drawn)-14, 6, -6)
	datas := stack(panels, []draw.Canvas{
		tile(c, 0, 1, 0.53, 1), tile(c, 0, 1, 0.28, 0.52), tile(c, 0, 1, 0, 0.27),
	})
	nameResponses(datas[0], panels[0], drawn, pens, 0.34, 0.8)
	beside(datas[1], panels[1], right[1])
	beside(datas[2], panels[2], right[2])
}

func throwLabel(from float64) string {
	if from < 0 {
		return "position, % of half-throw"
	}
	return "position, % of throw"
}

// nameWidth is the room that the longest name needs, in points.
func nameWidth(drawn []NamedCurve) vg.Length {
	style := textStyle(inkText, draw.XLeft, draw.YCenter)
	width := vg.Length(40)
	for _, n := range drawn {
		width = max(width, style.Width(shorten(n.Name, nameLetters)))
	}
	return width * 1.08 // a fallback font may run wider
}

// nameResponses hangs the names under the curves: all responses end in the
// same corner, so they cannot be named there. The points lie between the
// positions first and last.
func nameResponses(data draw.Canvas, p *plot.Plot, drawn []NamedCurve, pens []pen, first, last float64) {
	var callouts []callout
	for i, n := range drawn {
		u := first
		if len(drawn) > 1 {
			u += (last - first) * float64(i) / float64(len(drawn)-1)
		}
		callouts = append(callouts, callout{
			name: shorten(n.Name, nameLetters),
			on:   plotter.XY{X: 100 * u, Y: 100 * n.Response.Command(u)},
			pen:  pens[i%len(pens)],
		})
	}
	low, high := data.Min.Y+labelPitch, data.Center().Y-labelPitch
	if p.X.Min == 0 { // no empty quarter below a one-sided axis's curves
		low = data.Min.Y + 0.6*labelPitch
		high = low + labelPitch*vg.Length(len(drawn)-1)
	}
	below(data, p, callouts, low, high)
}

// sample takes scale·f(u) at even steps over the curve's throw.
func sample(n NamedCurve, f func(float64) float64, scale float64) plotter.XYs {
	from := n.from()
	out := make(plotter.XYs, samples+1)
	for i := range out {
		u := from + (1-from)*float64(i)/samples
		out[i] = plotter.XY{X: 100 * u, Y: scale * f(u)}
	}
	return out
}

// slopes samples scale·slope·noise (noise nil: 1), in pieces that leave out
// where the slope has no finite value.
func slopes(n NamedCurve, scale float64) []plotter.XYs {
	return finite(sample(n, n.Response.Slope, scale))
}

// finite cuts points into runs of finite ones.
func finite(points plotter.XYs) []plotter.XYs {
	var out []plotter.XYs
	var run plotter.XYs
	for _, q := range append(points, plotter.XY{Y: math.NaN()}) {
		if !math.IsNaN(q.Y) && !math.IsInf(q.Y, 0) {
			run = append(run, q)
			continue
		}
		if len(run) > 0 {
			out = append(out, run)
		}
		run = nil
	}
	return out
}

// lastNonZero is the rightmost point at which the line is off zero, before the
// end margin takes it there.
func lastNonZero(pieces []plotter.XYs) plotter.XY {
	for i := len(pieces) - 1; i >= 0; i-- {
		for j := len(pieces[i]) - 1; j >= 0; j-- {
			if pieces[i][j].Y != 0 {
				return pieces[i][j]
			}
		}
	}
	return plotter.XY{X: 100}
}

// addLines draws finite pieces of one line.
func addLines(p *plot.Plot, pen pen, pieces []plotter.XYs) {
	for _, xys := range pieces {
		p.Add(&plotter.Line{XYs: xys, LineStyle: pen.line()})
	}
}
