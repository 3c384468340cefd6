package figures

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/fit/propose"
)

// FrontierMark is a curve to be found on the frontier.
type FrontierMark struct {
	Name string
	At   propose.FrontierPoint
}

const (
	frontierWidth  = vg.Length(440)
	frontierHeight = vg.Length(340)
	// flatFrontier is the least range of the jitter that fills the panel.
	flatFrontier = 0.05
)

// Frontier draws command jitter against largest slope: a line for each family,
// and marks, each named. Marks whose slope has no limit are left out.
func Frontier(f propose.Frontier, named []FrontierMark) *Figure {
	named = slices.DeleteFunc(slices.Clone(named), func(m FrontierMark) bool {
		return math.IsInf(m.At.MaxSlope, 0) || math.IsNaN(m.At.MaxSlope+m.At.Jitter)
	})
	slices.SortStableFunc(named, func(a, b FrontierMark) int {
		if a.At.MaxSlope < b.At.MaxSlope {
			return -1
		}
		return 1
	})
	if len(f.Families) == 0 {
		return without(frontierWidth, 120, "Frontier", "no line to draw")
	}
	says := []string{}
	for _, m := range named {
		says = append(says, fmt.Sprintf("%s at slope %.2f and jitter %.2f", m.Name, m.At.MaxSlope, m.At.Jitter))
	}
	return &Figure{
		width: frontierWidth, height: frontierHeight,
		says: "Command jitter of " + f.Label + " against largest slope: " + strings.Join(says, ", "),
		draw: func(c draw.Canvas) { drawFrontier(c, f, named) },
	}
}

func drawFrontier(c draw.Canvas, f propose.Frontier, named []FrontierMark) {
	p := newPanel(f.Label+": command jitter for the largest slope", "largest slope, command per position",
		"command jitter over position noise, RMS in flight")
	var lines []callout
	low, high := math.Inf(1), math.Inf(-1)
	reach := func(q propose.FrontierPoint) plotter.XY {
		low, high = min(low, q.Jitter), max(high, q.Jitter)
		p.X.Max = max(p.X.Max, q.MaxSlope)
		return plotter.XY{X: q.MaxSlope, Y: q.Jitter}
	}
	p.X.Max = f.LargestSlope
	for i, family := range f.Families {
		var xys plotter.XYs
		for _, q := range family.Points {
			xys = append(xys, reach(q))
		}
		if len(xys) == 0 {
			continue
		}
		addLines(p, pens[i%len(pens)], []plotter.XYs{xys})
		lines = append(lines, callout{familyWords(family.Family), xys[len(xys)-1], pens[i%len(pens)]})
	}
	var places []plotter.XY
	for _, m := range named {
		places = append(places, reach(m.At))
	}
	p.Add(rule{at: f.LargestSlope, style: thin(inkMuted)})
	p.X.Min = 1 - 0.03*(p.X.Max-1)
	p.X.Max += 0.03 * (p.X.Max - 1)
	p.X.Tick.Marker = ticks{about: 6}
	p.Y.Tick.Marker = ticks{about: 5}

	c = draw.Crop(c, 8, -nameRoom(lines)-14, 6, -6)
	// Over the lines there is room for the marks' names and the limit's.
	over := labelPitch * vg.Length(len(named)+2)
	share := float64(over / (c.Size().Y - 60))
	span := max(high-low, flatFrontier)
	p.Y.Min = low - 0.06*span
	p.Y.Max = high + (high-p.Y.Min)*share/(1-min(share, 0.7))
	datas := stack([]*plot.Plot{p}, []draw.Canvas{c})
	beside(datas[0], p, lines)
	nameLimit(datas[0], p, f.LargestSlope)
	nameMarks(datas[0], p, named, places)
}

func familyWords(family string) string {
	if family == "bound" {
		return "the best possible"
	}
	return family
}

// nameRoom is the room that the widest name needs beside the panel.
func nameRoom(lines []callout) vg.Length {
	style := textStyle(inkText, draw.XLeft, draw.YCenter)
	width := vg.Length(40)
	for _, l := range lines {
		width = max(width, style.Width(l.name))
	}
	return width * 1.08 // a fallback font may run wider
}

func nameLimit(data draw.Canvas, p *plot.Plot, at float64) {
	toX, _ := p.Transforms(&data)
	style := textStyle(inkMuted, draw.XLeft, draw.YCenter)
	words := "largest slope allowed"
	x := toX(at) + 3
	if x+style.Width(words) > data.Max.X {
		style.XAlign, x = draw.XRight, toX(at)-3
	}
	data.FillText(style, vg.Point{X: x, Y: data.Max.Y - 0.7*labelPitch}, words)
}

// nameMarks stands each name on a vertical leader over its point, the leftmost
// highest, so that neither names nor leaders cross.
func nameMarks(data draw.Canvas, p *plot.Plot, named []FrontierMark, places []plotter.XY) {
	toX, toY := p.Transforms(&data)
	style := textStyle(inkText, draw.XLeft, draw.YCenter)
	for i, m := range named {
		at := vg.Point{X: toX(places[i].X), Y: toY(places[i].Y)}
		y := data.Max.Y - labelPitch*(vg.Length(i)+1.7)
		name := shorten(m.Name, 2*nameLetters)
		data.StrokeLine2(thin(inkText), at.X, at.Y, at.X, y-labelPitch/2)
		dot(data, at, inkText)
		style.XAlign, at.X = draw.XLeft, at.X+3
		if at.X+style.Width(name) > data.Max.X {
			style.XAlign, at.X = draw.XRight, data.Max.X-1
		}
		at.Y = y
		fill(data, style.Rectangle(name).Add(at), inkPaper.light) // no line runs through the words
		data.FillText(style, at, name)
	}
}
