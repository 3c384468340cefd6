package bench

import (
	"math"
	"slices"

	"gonum.org/v1/plot/plotter"

	"halfstick/cmd/halfstick/internal/bench/shape"
	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/propose"
	"halfstick/input"
)

// mark is a line or, where both ends are one, a dot on a figure, in its units.
type mark struct {
	Figure string  `json:"figure"`
	X1     float64 `json:"x1"`
	Y1     float64 `json:"y1"`
	X2     float64 `json:"x2"`
	Y2     float64 `json:"y2"`
}

// nowView is what the watched axis does now.
type nowView struct {
	Axis     string `json:"axis"`
	Counts   string `json:"counts"`
	Position string `json:"position"`
	Command  string `json:"command"`
	Marks    []mark `json:"marks"`
	Try      *tried `json:"try,omitempty"`
}

// nowOf works out where an axis is, and where on its figures.
func nowOf(b *Bench, axis input.Axis, counts float64) nowView {
	out := nowView{Axis: axis.Label, Counts: text.Number(counts, 0), Position: "–", Command: "–", Marks: []mark{}}
	response, ok := b.response(axis.Label, curves.Kind(axis.Kind))
	if !ok {
		return out
	}
	u, y := response.Position(counts), response.FromCounts(counts)
	out.Position, out.Command = text.Number(100*u, 1)+" %", text.Number(100*y, 1)+" %"
	x := b.analysis.Load().axis(axis.Label)
	if x == nil {
		return out
	}
	for _, p := range x.places {
		at, height := p.value(counts, u, y, response.Slope(u))
		out.Marks = append(out.Marks, marksOn(p, at, height)...)
	}
	return out
}

// place is a panel that marks are laid over, and how.
type place struct {
	figure string
	area   figures.Area
	dot    bool // else a line right across
	upward bool // the line is upright, at x
	// value is what to mark.
	value func(counts, u, y, slope float64) (x, height float64)
}

// placesOf are the panels of an axis's figures, in their order.
func placesOf(x *analysedAxis) []place {
	byCounts := func(counts, _, _, _ float64) (float64, float64) { return counts, counts }
	byPosition := func(_, u, _, _ float64) (float64, float64) { return 100 * u, 0 }
	onCurve := func(_, u, y, _ float64) (float64, float64) { return 100 * u, 100 * y }
	onSlope := func(_, u, _, slope float64) (float64, float64) { return 100 * u, slope }
	var out []place
	for i, f := range x.figures {
		name, areas := figureNames(x)[i], f.Areas()
		for k, area := range areas {
			p := place{figure: name, area: area, upward: true}
			switch {
			case name == "rest":
				p.upward, p.value = false, byCounts
			case name == "returns":
				p.value = byCounts
			case name == "noise":
				p.value = byPosition
			case k == 0:
				p.dot, p.value = true, onCurve
			default:
				p.dot, p.value = true, onSlope
			}
			out = append(out, p)
		}
	}
	return append(out,
		place{figure: "paper", area: x.areas[0], dot: true, value: onCurve},
		place{figure: "paper", area: x.areas[1], dot: true, value: onSlope})
}

// figureNames names the figures of an axis in their order; see sheet.Figures.
func figureNames(x *analysedAxis) []string {
	if x.measured.Kind == string(curves.OneSided) {
		return []string{"rest", "noise", "response"}
	}
	return []string{"rest", "returns", "noise", "response"}
}

// marksOn lays a value over a panel; what lies beyond the panel has no mark.
func marksOn(p place, x, height float64) []mark {
	a := p.area
	px, py := a.Place(x, height)
	round := func(v float64) float64 { return math.Round(v*100) / 100 }
	switch {
	case p.dot:
		if math.IsInf(height, 0) {
			return nil
		}
		return []mark{{p.figure, round(px), round(py), round(px), round(py)}}
	case p.upward:
		if x < a.XMin || x > a.XMax {
			return nil
		}
		return []mark{{p.figure, round(px), round(a.Top), round(px), round(a.Bottom)}}
	}
	if height < a.YMin || height > a.YMax {
		return nil
	}
	return []mark{{p.figure, round(a.Left), round(py), round(a.Right), round(py)}}
}

// shapeView is all that a page shows while a response is shaped.
type shapeView struct {
	Label      string          `json:"label"`
	Revision   uint64          `json:"revision"`
	Candidates []candidateView `json:"candidates"`
	Chosen     int             `json:"chosen"`
	Undo       bool            `json:"undo"`
	Redo       bool            `json:"redo"`
	Kinds      []string        `json:"kinds"`
	Kind       string          `json:"kind"`
	TwoSided   bool            `json:"two_sided"`
	Apart      bool            `json:"apart"`
	Fields     []shape.Field   `json:"fields"`
	Handles    []handleView    `json:"handles"`
	Numbers    []numberRow     `json:"numbers"`
	Flown      *flownView      `json:"flown,omitempty"`
}

type candidateView struct {
	Name  string      `json:"name"`
	Lines shape.Lines `json:"lines"`
}

type handleView struct {
	shape.Handle
	PX float64 `json:"x"` // on the paper, in its units
	PY float64 `json:"y"`
	// Now is what a screen reader takes for the slider's value: percent of the
	// way that the handle goes.
	Now float64 `json:"now"`
}

// flownView is the recorded flight through the chosen response, as lines in
// the units of its figure.
type flownView struct {
	Command string `json:"command"`
	Noise   string `json:"noise"`
	Says    string `json:"says"`
}

// shapeOf is what a page shows of an axis while it is shaped.
func (b *Bench) shapeOf(x *analysedAxis) (*shapeView, error) {
	revision := b.session.Revision() // before the choice, so that it is never too new
	c := b.choiceOf(x)
	chosen := c.candidates[c.chosen].Axis.Response
	out := &shapeView{
		Label: x.label(), Revision: revision, Chosen: c.chosen, Undo: c.undo, Redo: c.redo,
		Kinds: shape.Kinds, Kind: chosen.High.Name(), TwoSided: chosen.Kind == curves.TwoSided, Apart: shape.Apart(&chosen),
		Fields: shape.Fields(&chosen),
	}
	effects := []*propose.Effect{x.straight}
	for _, candidate := range c.candidates {
		r := candidate.Axis.Response
		effect, err := x.effectOf(r)
		if err != nil {
			return nil, err
		}
		effects = append(effects, effect)
		out.Candidates = append(out.Candidates, candidateView{Name: candidate.Name, Lines: shape.Draw(&r, x.areas[0], x.areas[1])})
	}
	for _, h := range shape.Handles(&chosen) {
		px, py := x.areas[0].Place(100*h.U, 100*h.Y)
		out.Handles = append(out.Handles, handleView{Handle: h, PX: px, PY: py, Now: nowOfHandle(h)})
	}
	responses := []curves.Response{straightOf(&chosen)}
	for _, candidate := range c.candidates {
		responses = append(responses, candidate.Axis.Response)
	}
	out.Numbers = numbersOf(responses, effects)
	if f := effects[c.chosen+1].Flight; f != nil && len(x.flownIn) == 2 {
		out.Flown = &flownView{
			Command: shape.Polyline(thinned(f.Seconds, f.After), x.flownIn[0]),
			Noise:   shape.Polyline(thinned(f.Seconds, f.NoiseAfter), x.flownIn[1]),
			Says:    flownSays(f),
		}
	}
	return out, nil
}

func nowOfHandle(h shape.Handle) float64 {
	v := h.Y
	if h.Axes == "x" {
		v = h.U
	}
	return math.Round(1000*v) / 10
}

// thinned is a series in percent with as many points as a figure can show.
func thinned(seconds, values []float64) plotter.XYs {
	line := make(plotter.XYs, len(values))
	for i, v := range values {
		line[i] = plotter.XY{X: seconds[i], Y: 100 * v}
	}
	return figures.Thinned(line)
}

func flownSays(f *propose.FlownEffect) string {
	what := "the ten recorded seconds with the most jitter"
	if f.Moving != "flight" {
		what += ", without flight: " + f.Moving
	}
	return what + ": the noise makes " + text.PercentValue(f.JitterRMS.Before) + " straight and " +
		text.PercentValue(f.JitterRMS.After) + " through this response (RMS, of full command)"
}

// effectOf works out an effect, or remembers it: only one of four candidates
// changes at a time.
func (x *analysedAxis) effectOf(r curves.Response) (*propose.Effect, error) {
	x.mu.Lock()
	i := slices.IndexFunc(x.known, func(k knownEffect) bool { return sameResponse(k.of, r) })
	if i >= 0 {
		effect := x.known[i].effect
		x.mu.Unlock()
		return effect, nil
	}
	x.mu.Unlock()
	effect, err := x.effects.Of(r)
	if err != nil {
		return nil, err
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	x.known = append(x.known, knownEffect{r, effect})
	if len(x.known) > mostKnown {
		x.known = slices.Delete(x.known, 0, 1)
	}
	return effect, nil
}
