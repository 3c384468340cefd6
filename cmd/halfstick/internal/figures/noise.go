package figures

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/curves"
	"halfstick/fit/measure"
)

// Noise draws an axis's noise against position, with the interval of each
// band, the noise at rest for comparison, and a worn band shaded.
func Noise(a *measure.Axis) *Figure {
	const title = "Noise along the throw"
	if a == nil || !anyBand(a.Sweep.Bands) {
		return without(halfWidth, halfHeight, title, "no sweep was recorded")
	}
	lay := func(c draw.Canvas) []laid {
		p := noisePanel(title, a)
		datas := stack([]*plot.Plot{p}, []draw.Canvas{draw.Crop(c, 4, -48, 2, -4)})
		if s := a.Rest.Sigma; s != nil {
			beside(datas[0], p, []callout{{"at rest", plotter.XY{X: 100, Y: s.Value}, pen{ink: inkMuted}}})
		}
		return laidOut([]*plot.Plot{p}, datas)
	}
	return &Figure{
		width: halfWidth, height: halfHeight,
		says:  fmt.Sprintf("Noise of %s along its throw, in counts", a.Label),
		draw:  func(c draw.Canvas) { lay(c) },
		areas: lay,
	}
}

func anyBand(bands []measure.Band) bool {
	for _, b := range bands {
		if b.Sigma != nil {
			return true
		}
	}
	return false
}

func noisePanel(title string, a *measure.Axis) *plot.Plot {
	from := -1.0
	if a.Kind == string(curves.OneSided) {
		from = 0
	}
	p := newPanel(title, throwLabel(from), "σ, counts")
	var intervals []box
	var levels []plotter.XYs
	top := 0.0
	for _, b := range a.Sweep.Bands {
		if b.Sigma == nil {
			continue
		}
		s := b.Sigma
		levels = append(levels, plotter.XYs{{X: 100 * b.From, Y: s.Value}, {X: 100 * b.To, Y: s.Value}})
		top = max(top, s.Value)
		if s.Low != nil && s.High != nil {
			intervals = append(intervals, box{100 * b.From, 100 * b.To, *s.Low, *s.High})
			top = max(top, *s.High)
		}
	}
	top = max(top*1.25, 1)
	if f, t := a.Sweep.WornFrom, a.Sweep.WornTo; f != nil && t != nil {
		p.Add(rectangles{[]box{{100 * f.Value, 100 * t.Value, 0, top}}, inkOrange.faint(0.22)})
	}
	p.Add(rectangles{intervals, inkBlue.faint(0.25)})
	addLines(p, pen{ink: inkBlue}, levels)
	if s := a.Rest.Sigma; s != nil {
		p.Add(rule{s.Value, true, pen{inkMuted, pens[1].dashes}.line()})
		top = max(top, 1.4*s.Value)
	}
	if f, t := a.Sweep.WornFrom, a.Sweep.WornTo; f != nil && t != nil {
		middle := min(max(50*(f.Value+t.Value), 100*from+14*(1-from)), 100-14*(1-from))
		p.Add(note{plotter.XY{X: middle, Y: top * 0.98}, "worn band", draw.XCenter, draw.YTop})
	}
	p.X.Min, p.X.Max = 100*from, 100
	p.X.Tick.Marker = ticks{about: 8, quarters: true}
	p.Y.Min, p.Y.Max = 0, top
	return p
}
