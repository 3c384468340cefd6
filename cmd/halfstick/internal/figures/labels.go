package figures

import (
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// callout names a line: a dot on the line, a leader and the name.
type callout struct {
	name string
	on   plotter.XY // in data coordinates
	pen  pen
}

const (
	labelPitch = vg.Length(11.5) // distance of two labels' middles
	dotRadius  = vg.Length(2)
)

// beside writes each name to the right of the data area, as near to the height
// of its point as the others leave room for, with a leader to the point.
func beside(data draw.Canvas, p *plot.Plot, callouts []callout) {
	toX, toY := p.Transforms(&data)
	slices.SortStableFunc(callouts, func(a, b callout) int {
		return int(toY(a.on.Y)*16) - int(toY(b.on.Y)*16)
	})
	heights := make([]vg.Length, len(callouts))
	for i, c := range callouts {
		heights[i] = toY(c.on.Y)
	}
	spread(heights, labelPitch, data.Min.Y+labelPitch/2, data.Max.Y-labelPitch/2)
	style := textStyle(inkText, draw.XLeft, draw.YCenter)
	for i, c := range callouts {
		from := vg.Point{X: toX(c.on.X), Y: toY(c.on.Y)}
		to := vg.Point{X: data.Max.X + 9, Y: heights[i]}
		data.StrokeLine2(leader(c.pen.ink, to.X-from.X), from.X, from.Y, to.X, to.Y)
		dot(data, from, c.pen.ink)
		data.FillText(style, vg.Point{X: to.X + 2.5, Y: to.Y}, c.name)
	}
}

// longLeader is how far a leader may run in its line's colour.
const longLeader = vg.Length(24)

// leader is the style of a leader of a width: a long one is dotted and grey, as
// it would else be taken for more of the line.
func leader(i ink, width vg.Length) draw.LineStyle {
	if width <= longLeader {
		return thin(i)
	}
	style := thin(inkMuted)
	style.Dashes = []vg.Length{1, 2.5}
	return style
}

// below hangs each name on a vertical leader under its point, the leftmost
// lowest, so that neither names nor leaders cross. Points must run from left to right;
// low and high bound the middles of the names.
func below(data draw.Canvas, p *plot.Plot, callouts []callout, low, high vg.Length) {
	toX, toY := p.Transforms(&data)
	pitch := labelPitch
	if n := len(callouts); n > 1 {
		pitch = min(2*labelPitch, (high-low)/vg.Length(n-1))
	}
	style := textStyle(inkText, draw.XLeft, draw.YCenter)
	for i, c := range callouts {
		from := vg.Point{X: toX(c.on.X), Y: toY(c.on.Y)}
		y := low + vg.Length(i)*pitch
		data.StrokeLine2(thin(c.pen.ink), from.X, from.Y, from.X, y-labelPitch/3)
		dot(data, from, c.pen.ink)
		data.FillText(style, vg.Point{X: from.X + 3, Y: y}, c.name)
	}
}

func dot(c draw.Canvas, at vg.Point, i ink) {
	c.DrawGlyph(draw.GlyphStyle{Color: i.light, Radius: dotRadius, Shape: draw.CircleGlyph{}}, at)
}

// spread moves ascending heights apart until neighbours are pitch from each
// other, staying between low and high where there is room.
func spread(heights []vg.Length, pitch, low, high vg.Length) {
	for i := range heights {
		heights[i] = max(heights[i], low)
		if i > 0 {
			heights[i] = max(heights[i], heights[i-1]+pitch)
		}
	}
	ceiling := high
	for i := len(heights) - 1; i >= 0; i-- {
		heights[i] = min(heights[i], ceiling)
		ceiling = heights[i] - pitch
	}
}

// shorten keeps a name to a number of letters, cutting in the middle, since
// both ends of "rig.json#rudder" matter.
func shorten(name string, letters int) string {
	r := []rune(name)
	if len(r) <= letters {
		return name
	}
	head := (letters - 1) / 2
	tail := letters - 1 - head
	return string(r[:head]) + "…" + string(r[len(r)-tail:])
}

// stack draws panels into their canvases with their data areas' left and
// right edges in line, and returns the data areas.
func stack(panels []*plot.Plot, canvases []draw.Canvas) []draw.Canvas {
	left, right := vg.Length(0), vg.Length(0)
	for i, p := range panels {
		d := p.DataCanvas(canvases[i])
		left = max(left, d.Min.X-canvases[i].Min.X)
		right = max(right, canvases[i].Max.X-d.Max.X)
	}
	datas := make([]draw.Canvas, len(panels))
	for i, p := range panels {
		d := p.DataCanvas(canvases[i])
		c := draw.Crop(canvases[i],
			left-(d.Min.X-canvases[i].Min.X), -(right - (canvases[i].Max.X - d.Max.X)), 0, 0)
		p.Draw(c)
		datas[i] = p.DataCanvas(c)
	}
	return datas
}
