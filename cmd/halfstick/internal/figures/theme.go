package figures

import (
	"fmt"
	"image/color"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// ink is a colour of the theme: what it is on paper and on a dark screen.
type ink struct {
	name  string
	light color.NRGBA
	dark  color.NRGBA
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// The theme. The named hues are Okabe and Ito's (see doc.go; values from memory); where a hue is
// too dark to be seen on a dark page the lighter relative stands in for it.
var (
	inkText  = ink{"ink", rgb(0x1B1B1B), rgb(0xE8E6E1)}
	inkMuted = ink{"muted", rgb(0x5E5E5E), rgb(0xA8A59E)}
	inkGrid  = ink{"grid", rgb(0xDEDEDA), rgb(0x3A3A38)}
	inkPaper = ink{"paper", rgb(0xFFFFFF), rgb(0x1A1A19)}

	inkBlue      = ink{"blue", rgb(0x0072B2), rgb(0x5FB4E8)}
	inkVermilion = ink{"vermilion", rgb(0xD55E00), rgb(0xF0853A)}
	inkGreen     = ink{"green", rgb(0x009E73), rgb(0x2CC79A)}
	inkPurple    = ink{"purple", rgb(0xCC79A7), rgb(0xDD94BC)}
	inkOrange    = ink{"orange", rgb(0xE69F00), rgb(0xF0B63A)}
	inkSky       = ink{"sky", rgb(0x56B4E9), rgb(0x8CCBF0)}
)

var theme = []ink{
	inkText, inkMuted, inkGrid, inkPaper,
	inkBlue, inkVermilion, inkGreen, inkPurple, inkOrange, inkSky,
}

// pen is how one of several lines is drawn: colour and dash both differ.
type pen struct {
	ink    ink
	dashes []vg.Length
}

// pens are taken in turn; the darkest come first since two or three lines are
// the usual case.
var pens = []pen{
	{inkBlue, nil},
	{inkVermilion, []vg.Length{6, 2.5}},
	{inkGreen, []vg.Length{1.6, 2}},
	{inkPurple, []vg.Length{7, 2, 1.6, 2}},
	{inkOrange, []vg.Length{3.2, 1.8}},
	{inkText, []vg.Length{10, 2.5}},
	{inkSky, []vg.Length{12, 2, 1.6, 2, 1.6, 2}},
}

const (
	fontSize  = vg.Length(9.5)
	titleSize = vg.Length(10)
	lineWidth = vg.Length(1.5)
	hairline  = vg.Length(0.6)
	// fontFamily begins with families of the same widths as the ones that
	// lay the figure out, so that nothing overlaps where they are missing.
	fontFamily = "'Liberation Sans', Arial, Helvetica, 'Nimbus Sans', sans-serif"
)

func (p pen) line() draw.LineStyle {
	return draw.LineStyle{Color: p.ink.light, Width: lineWidth, Dashes: p.dashes}
}

func thin(i ink) draw.LineStyle {
	return draw.LineStyle{Color: i.light, Width: hairline}
}

func (i ink) faint(alpha float64) color.NRGBA {
	c := i.light
	c.A = uint8(alpha * 255)
	return c
}

func sans(size vg.Length) font.Font {
	return font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
}

func textStyle(i ink, x draw.XAlignment, y draw.YAlignment) text.Style {
	return text.Style{
		Color: i.light, Font: sans(fontSize), XAlign: x, YAlign: y,
		Handler: plot.DefaultTextHandler,
	}
}

// newPanel is an empty plot in the theme, with a quiet grid. Labels name quantity and unit.
func newPanel(title, x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil // the figure paints one paper under all panels
	p.Title.Text = title
	p.Title.Padding = 3
	p.Title.TextStyle = textStyle(inkText, draw.XCenter, draw.YTop)
	p.Title.TextStyle.Font = sans(titleSize)
	styleAxis(&p.X, x)
	styleAxis(&p.Y, y)
	p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = draw.XCenter, draw.YTop
	p.Y.Tick.Label.XAlign, p.Y.Tick.Label.YAlign = draw.XRight, draw.YCenter
	grid := plotter.NewGrid() // first, so that it lies under the data
	grid.Vertical, grid.Horizontal = thin(inkGrid), thin(inkGrid)
	p.Add(grid)
	return p
}

func styleAxis(a *plot.Axis, label string) {
	a.Label.Text = label
	a.Label.TextStyle = textStyle(inkMuted, draw.XCenter, draw.YBottom)
	a.Label.Padding = 2
	a.Padding = 0
	a.LineStyle = thin(inkMuted)
	a.Tick.LineStyle = thin(inkMuted)
	a.Tick.Length = 3
	a.Tick.Label = textStyle(inkText, draw.XCenter, draw.YTop)
	a.Tick.Marker = ticks{about: 5}
}

// Style is the style sheet of the figures' colours for a page that inlines
// them: custom properties on paper and on a dark screen, and the classes that
// use them. Print always takes the paper colours.
func Style() string {
	var b strings.Builder
	properties := func(pick func(ink) color.NRGBA) {
		for _, i := range theme {
			fmt.Fprintf(&b, "--%s:%s;", i.name, hex(pick(i)))
		}
	}
	b.WriteString(":root{")
	properties(func(i ink) color.NRGBA { return i.light })
	b.WriteString("}\n@media screen and (prefers-color-scheme:dark){:root{")
	properties(func(i ink) color.NRGBA { return i.dark })
	b.WriteString("}}\n")
	for _, i := range theme {
		fmt.Fprintf(&b, ".stroke-%[1]s{stroke:var(--%[1]s)}.fill-%[1]s{fill:var(--%[1]s)}\n", i.name)
	}
	return b.String()
}

func hex(c color.NRGBA) string {
	return fmt.Sprintf("#%02X%02X%02X", c.R, c.G, c.B)
}
