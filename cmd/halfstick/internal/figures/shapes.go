package figures

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// rectangles fills boxes given in data coordinates, cut to the data area. An
// infinite side reaches the edge.
type rectangles struct {
	boxes []box
	color color.Color
}

type box struct{ x0, x1, y0, y1 float64 }

// Plot implements plot.Plotter.
func (r rectangles) Plot(c draw.Canvas, p *plot.Plot) {
	toX, toY := p.Transforms(&c)
	for _, b := range r.boxes {
		fill(c, vg.Rectangle{
			Min: vg.Point{X: toX(max(b.x0, p.X.Min)), Y: toY(max(b.y0, p.Y.Min))},
			Max: vg.Point{X: toX(min(b.x1, p.X.Max)), Y: toY(min(b.y1, p.Y.Max))},
		}, r.color)
	}
}

// rule is a line right across the data area.
type rule struct {
	at         float64
	horizontal bool
	style      draw.LineStyle
}

// Plot implements plot.Plotter.
func (r rule) Plot(c draw.Canvas, p *plot.Plot) {
	toX, toY := p.Transforms(&c)
	switch {
	case r.horizontal && r.at >= p.Y.Min && r.at <= p.Y.Max:
		c.StrokeLine2(r.style, c.Min.X, toY(r.at), c.Max.X, toY(r.at))
	case !r.horizontal && r.at >= p.X.Min && r.at <= p.X.Max:
		c.StrokeLine2(r.style, toX(r.at), c.Min.Y, toX(r.at), c.Max.Y)
	}
}

// marks draws one glyph at every point.
func marks(points plotter.XYs, i ink, radius vg.Length, shape draw.GlyphDrawer) *plotter.Scatter {
	return &plotter.Scatter{XYs: points, GlyphStyle: draw.GlyphStyle{Color: i.light, Radius: radius, Shape: shape}}
}

// note writes a word at a point of the data, on a patch of paper.
type note struct {
	at    plotter.XY
	words string
	x     draw.XAlignment
	y     draw.YAlignment
}

// Plot implements plot.Plotter.
func (n note) Plot(c draw.Canvas, p *plot.Plot) {
	toX, toY := p.Transforms(&c)
	style := textStyle(inkText, n.x, n.y)
	at := vg.Point{X: toX(n.at.X), Y: toY(n.at.Y)}
	patch := style.Rectangle(n.words).Add(at)
	patch.Min.X, patch.Max.X = patch.Min.X-1.5, patch.Max.X+1.5
	fill(c, patch, inkPaper.faint(0.8))
	c.FillText(style, at, n.words)
}

// extremes is the least and the greatest finite value.
func extremes(values []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			low, high = min(low, v), max(high, v)
		}
	}
	return low, high
}
