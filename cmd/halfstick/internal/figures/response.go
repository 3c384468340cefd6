package figures

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/curves"
)

// Response draws the proposed response of an axis beside the straight one, and
// the slopes of both. Normal, a share of half-throw (of throw, for a one-sided
// axis), marks the normal deflection; 0 leaves it out.
func Response(label string, proposed *curves.Response, normal float64) *Figure {
	if proposed == nil {
		return without(halfWidth, halfHeight, "Response", "no response is proposed")
	}
	straight := curves.StraightThrough(proposed.Kind)
	drawn := []NamedCurve{{Name: "straight", Response: &straight}, {Name: "proposed", Response: proposed}}
	lay := func(c draw.Canvas) []laid { return drawResponse(c, drawn, normal) }
	return &Figure{
		width: halfWidth, height: halfHeight,
		says:  "Proposed response of " + label + " beside the straight one, and their slopes",
		draw:  func(c draw.Canvas) { lay(c) },
		areas: lay,
	}
}

// responsePens draw the straight response quietly and the proposed one boldly.
var responsePens = []pen{{inkMuted, []vg.Length{4, 2.5}}, {inkBlue, nil}}

func drawResponse(c draw.Canvas, drawn []NamedCurve, normal float64) []laid {
	from := drawn[1].from()
	response := newPanel("Response", throwLabel(from), "command, %")
	slope := newPanel("Slope", throwLabel(from), "")
	response.X.Label.Text, slope.X.Label.Text = "position, %", "position, %"
	for i, n := range drawn {
		addLines(response, responsePens[i], []plotter.XYs{sample(n, n.Response.Command, 100)})
		addLines(slope, responsePens[i], slopes(n, 1))
	}
	for _, p := range []*plot.Plot{response, slope} {
		p.X.Min, p.X.Max = 100*from, 100
		p.X.Tick.Marker = ticks{about: 4, quarters: true}
		p.Y.Tick.Marker = ticks{about: 4, quarters: true}
	}
	for _, u := range []float64{-normal, normal} {
		if normal > 0 && u >= from {
			slope.Add(rule{100 * u, false, thin(inkVermilion)})
		}
	}
	response.Y.Min, response.Y.Max = 100*from, 100
	slope.Y.Min, slope.Y.Max = 0, 1.25*min(max(slope.Y.Max, 1.4), steepest)
	slope.Y.Tick.Marker = ticks{about: 4}
	if normal > 0 {
		slope.Add(note{plotter.XY{X: 50 * (from + 1), Y: 0.98 * slope.Y.Max}, "normal deflection", draw.XCenter, draw.YTop})
	}
	c = draw.Crop(c, 4, -10, 2, -4)
	panels := []*plot.Plot{response, slope}
	datas := stack(panels, []draw.Canvas{tile(c, 0, 0.52, 0, 1), tile(c, 0.53, 1, 0, 1)})
	first, last := 0.12, 0.35
	if from == 0 {
		first, last = 0.4, 0.6
	}
	nameResponses(datas[0], response, drawn, responsePens, first, last)
	return laidOut(panels, datas)
}
