package figures

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/curves"
)

const (
	shapingHeight = vg.Length(350)
	flownHeight   = vg.Length(210)
	// SteepestShown bounds the slope panel of Shaping.
	SteepestShown = 4.0
)

// Shaping is the sheet of paper on which a response is shaped: the panels
// response and slope, with the straight response and the normal deflection but
// without the response itself, which a page lays over them. The areas are
// those of the two panels.
func Shaping(kind curves.Kind, normal float64) *Figure {
	lay := func(c draw.Canvas) []laid { return drawShaping(c, kind, normal) }
	return &Figure{
		width: halfWidth, height: shapingHeight,
		says:  "Command and slope against position, with the straight response",
		draw:  func(c draw.Canvas) { lay(c) },
		areas: lay,
	}
}

func drawShaping(c draw.Canvas, kind curves.Kind, normal float64) []laid {
	straight := curves.StraightThrough(kind)
	named := NamedCurve{Name: "straight", Response: &straight}
	from := named.from()
	response := newPanel("Response", "", "command, %")
	slope := newPanel("", throwLabel(from), "slope")
	quiet := responsePens[0]
	addLines(response, quiet, []plotter.XYs{sample(named, straight.Command, 100)})
	addLines(slope, quiet, []plotter.XYs{{{X: 100 * from, Y: 1}, {X: 100, Y: 1}}})
	for _, u := range []float64{-normal, normal} {
		if normal > 0 && u >= from {
			response.Add(rule{100 * u, false, thin(inkVermilion)})
			slope.Add(rule{100 * u, false, thin(inkVermilion)})
		}
	}
	panels := []*plot.Plot{response, slope}
	for i, p := range panels {
		p.X.Min, p.X.Max = 100*from, 100
		p.X.Tick.Marker = ticks{about: 8, quarters: true, bare: i == 0}
	}
	response.Y.Min, response.Y.Max = 100*from, 100
	response.Y.Tick.Marker = ticks{about: 8, quarters: true}
	slope.Y.Min, slope.Y.Max = 0, SteepestShown
	slope.Y.Tick.Marker = ticks{about: 4}
	if normal > 0 {
		slope.Add(note{plotter.XY{X: 50 * (from + 1), Y: 0.98 * SteepestShown}, "normal deflection", draw.XCenter, draw.YTop})
	}
	c = draw.Crop(c, 4, -10, 2, -4)
	return laidOut(panels, stack(panels, []draw.Canvas{tile(c, 0, 1, 0.32, 1), tile(c, 0, 1, 0, 0.31)}))
}

// Flown is the paper for a part of a recorded flight: commands and what the
// noise alone does to them, straight, without those of a response. The areas
// are those of the two panels.
func Flown(part ReplayPart) *Figure {
	n := len(part.Seconds)
	if n < 2 || len(part.Before) != n || len(part.JitterBefore) != n {
		return without(halfWidth, 60, "Flown", "nothing but rest was recorded")
	}
	lay := func(c draw.Canvas) []laid { return drawFlown(c, part) }
	return &Figure{
		width: halfWidth, height: flownHeight,
		says:  "Straight commands of " + part.Label + " in ten recorded seconds, and what the noise alone did to them",
		draw:  func(c draw.Canvas) { lay(c) },
		areas: lay,
	}
}

func drawFlown(c draw.Canvas, part ReplayPart) []laid {
	commands := newPanel("Ten recorded seconds", "", "command, %")
	jitter := newPanel("", "time, s", "noise, %")
	panels := []*plot.Plot{commands, jitter}
	for i, values := range [][]float64{part.Before, part.JitterBefore} {
		p := panels[i]
		line := make(plotter.XYs, len(values))
		for k, v := range values {
			line[k] = plotter.XY{X: part.Seconds[k], Y: 100 * v}
		}
		p.Add(&plotter.Line{XYs: Thinned(line), LineStyle: draw.LineStyle{Color: inkVermilion.light, Width: 0.8}})
		pad := 0.08*(p.Y.Max-p.Y.Min) + 0.01
		p.Y.Min, p.Y.Max = p.Y.Min-pad, p.Y.Max+pad
		p.X.Min, p.X.Max = part.Seconds[0], math.Max(part.Seconds[len(part.Seconds)-1], part.Seconds[0]+1e-3)
		p.X.Tick.Marker = ticks{about: 6, bare: i == 0}
		p.Y.Tick.Marker = ticks{about: 4 - i}
	}
	c = draw.Crop(c, 4, -10, 2, -4)
	return laidOut(panels, stack(panels, []draw.Canvas{tile(c, 0, 1, 0.48, 1), tile(c, 0, 1, 0, 0.47)}))
}

// Thinned keeps the least and the greatest of each of some three hundred
// stretches of a line whose X rises, so that no spike is lost.
func Thinned(line plotter.XYs) plotter.XYs {
	if len(line) < 2 {
		return line
	}
	seconds, values := make([]float64, len(line)), make([]float64, len(line))
	for i, q := range line {
		seconds[i], values[i] = q.X, q.Y
	}
	out, _ := thinned(seconds, values, math.Inf(-1), math.Inf(1))
	return out
}
