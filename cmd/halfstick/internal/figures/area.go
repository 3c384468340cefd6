package figures

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Area is where a panel of a figure has its data, in the user units of the
// figure's SVG (from the left, and from the top), and which values lie at its
// edges. A page lays live marks over a figure by it.
type Area struct {
	Left, Right, Top, Bottom float64
	XMin, XMax, YMin, YMax   float64
}

// Place is where a value lies in the figure; a value beyond an edge lies on it.
func (a Area) Place(x, y float64) (px, py float64) {
	return between(x, a.XMin, a.XMax, a.Left, a.Right), between(y, a.YMin, a.YMax, a.Bottom, a.Top)
}

// Value is what lies at a place of the figure, the inverse of Place.
func (a Area) Value(px, py float64) (x, y float64) {
	return between(px, a.Left, a.Right, a.XMin, a.XMax), between(py, a.Bottom, a.Top, a.YMin, a.YMax)
}

// between carries v from one range to another and keeps it there.
func between(v, fromLow, fromHigh, toLow, toHigh float64) float64 {
	share := min(max((v-fromLow)/(fromHigh-fromLow), 0), 1)
	return toLow + share*(toHigh-toLow)
}

// Areas are the figure's panels that live marks can be laid over, none for a
// figure that only says that there is nothing to draw.
func (f *Figure) Areas() []Area {
	if f.areas == nil {
		return nil
	}
	var out []Area
	for _, l := range f.areas(draw.New(vgsvg.New(f.width, f.height))) {
		out = append(out, Area{
			Left: l.data.Min.X.Points(), Right: l.data.Max.X.Points(),
			Top: (f.height - l.data.Max.Y).Points(), Bottom: (f.height - l.data.Min.Y).Points(),
			XMin: l.plot.X.Min, XMax: l.plot.X.Max, YMin: l.plot.Y.Min, YMax: l.plot.Y.Max,
		})
	}
	return out
}

// laid is a panel and where its data were drawn.
type laid struct {
	plot *plot.Plot
	data vg.Rectangle
}

// laidOut pairs panels with the data areas that stack gave them.
func laidOut(panels []*plot.Plot, datas []draw.Canvas) []laid {
	out := make([]laid, len(panels))
	for i, p := range panels {
		out[i] = laid{p, datas[i].Rectangle}
	}
	return out
}
