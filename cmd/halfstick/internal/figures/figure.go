package figures

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Figure is a drawing that has not chosen its format yet. One length unit is
// a point in SVG's user space; text is sized so that a figure stays legible
// when it is shown at 350 CSS pixels of width.
type Figure struct {
	width, height vg.Length
	says          string // for readers who cannot see the figure
	draw          func(draw.Canvas)
	// areas lays the panels out without a page; nil where none can be marked.
	areas func(draw.Canvas) []laid
}

// Says describes the figure in a sentence.
func (f *Figure) Says() string { return f.says }

// pngPerInch makes a PNG about four times as many pixels wide as the figure
// has units, which prints well at the width of a page.
const pngPerInch = 288

// Format is the figure format that a file name asks for by its extension,
// "svg" or "png".
func Format(path string) (string, error) {
	switch ext := strings.ToLower(filepath.Ext(path)); ext {
	case ".svg", ".png":
		return ext[1:], nil
	default:
		return "", fmt.Errorf("%s: cannot draw a %q file: name it .svg or .png", path, ext)
	}
}

// Write draws the figure in the format "svg" or "png".
func (f *Figure) Write(w io.Writer, format string) error {
	switch format {
	case "svg":
		return f.writeSVG(w)
	case "png":
		return f.writePNG(w)
	}
	return fmt.Errorf("cannot draw the format %q: ask for svg or png", format)
}

func (f *Figure) writeSVG(w io.Writer) error {
	_, err := io.WriteString(w, `<?xml version="1.0" encoding="UTF-8"?>`+"\n"+f.svg(true)+"\n")
	return err
}

func (f *Figure) writePNG(w io.Writer) error {
	c := vgimg.NewWith(vgimg.UseWH(f.width, f.height), vgimg.UseDPI(pngPerInch))
	f.paint(draw.New(c))
	_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(w)
	return err
}

// Inline is the figure as an SVG element for a page that has Style.
func (f *Figure) Inline() string { return f.svg(false) }

func (f *Figure) svg(standalone bool) string {
	c := vgsvg.New(f.width, f.height)
	f.paint(draw.New(c))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		panic(err) // a bytes.Buffer does not fail
	}
	return adapt(b.String(), f, standalone)
}

func (f *Figure) paint(c draw.Canvas) {
	fill(c, c.Rectangle, inkPaper.light)
	f.draw(c)
}

// fill paints a rectangle.
func fill(c draw.Canvas, r vg.Rectangle, col color.Color) {
	c.FillPolygon(col, []vg.Point{
		r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y},
	})
}

// tile is the part of c between the shares x0…x1 from the left and y0…y1 from
// the bottom.
func tile(c draw.Canvas, x0, x1, y0, y1 float64) draw.Canvas {
	size := c.Size()
	return draw.Crop(c,
		vg.Length(x0)*size.X, -vg.Length(1-x1)*size.X,
		vg.Length(y0)*size.Y, -vg.Length(1-y1)*size.Y)
}

// without is a figure that says why there is nothing to draw.
func without(width, height vg.Length, title, why string) *Figure {
	return &Figure{
		width: width, height: height, says: title + ": " + why,
		draw: func(c draw.Canvas) {
			style := textStyle(inkMuted, draw.XCenter, draw.YCenter)
			c.StrokeLines(thin(inkGrid), frame(c.Rectangle, 4)...)
			c.FillText(style, vg.Point{X: c.Center().X, Y: c.Center().Y + 8}, title)
			c.FillText(style, vg.Point{X: c.Center().X, Y: c.Center().Y - 8}, why)
		},
	}
}

func frame(r vg.Rectangle, inset vg.Length) [][]vg.Point {
	a := vg.Point{X: r.Min.X + inset, Y: r.Min.Y + inset}
	b := vg.Point{X: r.Max.X - inset, Y: r.Max.Y - inset}
	return [][]vg.Point{{a, {X: b.X, Y: a.Y}, b, {X: a.X, Y: b.Y}, a}}
}
