package figures

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// ReplayPart is a part of a recording (the worst ten seconds, say) as it would
// have been commanded before and after. All slices are of one length.
type ReplayPart struct {
	Label         string
	Seconds       []float64 // since the start of the recording
	Before, After []float64 // commands, −1…1 or 0…1
	Smoothed      []float64 // as After; nil where nothing was smoothed
	// JitterBefore and JitterAfter are what the noise alone does to the
	// commands; without them the lower panel is left out.
	JitterBefore, JitterAfter, JitterSmoothed []float64
}

const (
	replayWidth  = vg.Length(440)
	replayHeight = vg.Length(360)
)

// Replay draws the commands of a part of a recording before and after, and
// below them the jitter in both.
func Replay(part ReplayPart) *Figure {
	n := len(part.Seconds)
	if n < 2 || len(part.Before) != n || len(part.After) != n {
		return without(replayWidth, 120, "Replay", "nothing was replayed")
	}
	return &Figure{
		width: replayWidth, height: replayHeight,
		says: "Commands of " + part.Label + " before and after",
		draw: func(c draw.Canvas) { drawReplay(c, part) },
	}
}

func drawReplay(c draw.Canvas, part ReplayPart) {
	n := len(part.Seconds)
	commands := newPanel("Commands of "+shorten(part.Label, 40), "", "command, % of full")
	panels := []*plot.Plot{commands}
	callouts := [][]callout{addReplayed(commands, part.Seconds, part.Before, part.After, part.Smoothed)}
	c = draw.Crop(c, 6, -62, 4, -6)
	canvases := []draw.Canvas{c}
	if len(part.JitterBefore) == n && len(part.JitterAfter) == n {
		jitter := newPanel("What the noise alone does", "", "% of full")
		callouts = append(callouts, addReplayed(jitter, part.Seconds, part.JitterBefore, part.JitterAfter, part.JitterSmoothed))
		panels = append(panels, jitter)
		canvases = []draw.Canvas{tile(c, 0, 1, 0.46, 1), tile(c, 0, 1, 0, 0.44)}
		commands.X.Tick.Marker = ticks{about: 6, bare: true}
	}
	panels[len(panels)-1].X.Label.Text = "time, s"
	for i, data := range stack(panels, canvases) {
		beside(data, panels[i], callouts[i])
	}
}

// replayNames and replayInks are those of the commands in turn.
var (
	replayNames = []string{"before", "after", "smoothed"}
	replayInks  = []ink{inkVermilion, inkBlue, inkText}
)

// addReplayed draws commands in percent, those of another length left out, and
// says where to name them.
func addReplayed(p *plot.Plot, seconds []float64, commands ...[]float64) []callout {
	var out []callout
	for i, values := range commands {
		if len(values) != len(seconds) {
			continue
		}
		pen := pen{ink: replayInks[i]}
		xys := make(plotter.XYs, len(values))
		for j, v := range values {
			xys[j] = plotter.XY{X: seconds[j], Y: 100 * v}
		}
		pieces := finite(xys)
		for _, piece := range pieces {
			p.Add(&plotter.Line{XYs: piece, LineStyle: draw.LineStyle{Color: pen.ink.light, Width: 0.9}})
		}
		out = append(out, callout{replayNames[i], lastNonZero(pieces), pen})
	}
	pad := 0.05*(p.Y.Max-p.Y.Min) + 0.01
	p.Y.Min, p.Y.Max = p.Y.Min-pad, p.Y.Max+pad
	p.X.Min, p.X.Max = seconds[0], max(seconds[len(seconds)-1], seconds[0]+1e-3)
	p.X.Tick.Marker = ticks{about: 6}
	return out
}
