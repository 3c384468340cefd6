package figures

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/curves"
	"halfstick/fit/measure"
)

// Heights of the two sides in the figure of the returns.
const (
	rowLow  = 0.0
	rowHigh = 1.0
)

// Returns draws where an axis came to rest after it was let go, from the low
// side and from the high side, with each side's mean and its interval. With a
// response, the deadband is shaded.
func Returns(a *measure.Axis, r *curves.Response) *Figure {
	const title = "Where it returns to"
	switch {
	case a != nil && a.Kind == string(curves.OneSided):
		return without(halfWidth, halfHeight, title, "a one-sided axis has no centre to return to")
	case a == nil || len(a.Plots.Returns) == 0:
		return without(halfWidth, halfHeight, title, "no release was recorded")
	}
	lay := func(c draw.Canvas) []laid {
		panels := []*plot.Plot{returnsPanel(title, a, r)}
		return laidOut(panels, stack(panels, []draw.Canvas{draw.Crop(c, 4, -10, 2, -4)}))
	}
	return &Figure{
		width: halfWidth, height: halfHeight,
		says:  fmt.Sprintf("Where %s came to rest after each of %d releases, from either side", a.Label, len(a.Plots.Returns)),
		draw:  func(c draw.Canvas) { lay(c) },
		areas: lay,
	}
}

func returnsPanel(title string, a *measure.Axis, r *curves.Response) *plot.Plot {
	p := newPanel(title, "counts", "")
	if r != nil {
		band := box{r.ToCounts(-r.Deadband.Low), r.ToCounts(r.Deadband.High), -1, 3}
		p.Add(rectangles{[]box{band}, inkOrange.faint(0.22)})
		p.X.Min, p.X.Max = band.x0, band.x1
		p.Add(note{plotter.XY{X: (band.x0 + band.x1) / 2, Y: 1.72}, "deadband", draw.XCenter, draw.YCenter})
	}
	for _, side := range []struct {
		fromHigh bool
		row      float64
		ink      ink
		sum      *measure.ReturnSide
	}{{false, rowLow, inkVermilion, a.Return.FromLow}, {true, rowHigh, inkBlue, a.Return.FromHigh}} {
		var points plotter.XYs
		for _, release := range a.Plots.Returns {
			if release.FromHigh == side.fromHigh {
				points = append(points, plotter.XY{X: release.Resting, Y: side.row})
			}
		}
		p.Add(marks(points, side.ink, 3, draw.RingGlyph{}))
		if side.sum != nil {
			p.Add(mean{side.sum.Mean, side.row, side.ink})
		}
	}
	pad := max(0.06*(p.X.Max-p.X.Min), stepOf(a))
	p.X.Min, p.X.Max = p.X.Min-pad, p.X.Max+pad
	p.Y.Min, p.Y.Max = -0.6, 2
	p.Y.Tick.Marker = plot.ConstantTicks{
		{Value: rowLow, Label: "from low side"}, {Value: rowHigh, Label: "from high side"},
	}
	return p
}

// mean is a side's mean with its interval, above the releases it sums up.
type mean struct {
	q   *measure.Quantity
	row float64
	ink ink
}

// Plot implements plot.Plotter.
func (m mean) Plot(c draw.Canvas, p *plot.Plot) {
	if m.q == nil {
		return
	}
	toX, toY := p.Transforms(&c)
	clip := func(v float64) vg.Length { return min(max(toX(v), c.Min.X), c.Max.X) }
	y := toY(m.row) + 12
	thick := draw.LineStyle{Color: m.ink.light, Width: lineWidth}
	if m.q.Low != nil && m.q.High != nil {
		c.StrokeLine2(thick, clip(*m.q.Low), y, clip(*m.q.High), y)
	}
	c.StrokeLine2(thick, clip(m.q.Value), y-4, clip(m.q.Value), y+4)
}

// DataRange implements plot.DataRanger.
func (m mean) DataRange() (xmin, xmax, ymin, ymax float64) {
	if m.q == nil {
		low, high := extremes(nil)
		return low, high, low, high
	}
	return m.q.Value, m.q.Value, m.row, m.row
}
