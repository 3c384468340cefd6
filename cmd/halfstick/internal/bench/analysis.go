package bench

import (
	"fmt"
	"path/filepath"
	"sync"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/cmd/halfstick/internal/sheet"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// analysis is all that follows from one recording. It does not change.
type analysis struct {
	file     string
	sheet    sheet.Data
	proposal *propose.Proposal
	axes     []*analysedAxis // in the proposal's order
}

// analysedAxis is one axis of an analysis.
type analysedAxis struct {
	measured *measure.Axis
	proposed *propose.AxisProposal
	effects  *propose.Effects
	straight *propose.Effect // of the straight response
	figures  []*figures.Figure
	paper    *figures.Figure // to shape on
	areas    []figures.Area  // of the paper: response, slope
	flown    *figures.Figure // nil where nothing but rest was recorded
	flownIn  []figures.Area  // commands, noise
	places   []place         // for live marks

	mu    sync.Mutex
	known []knownEffect
}

// label is the axis's name.
func (a *analysedAxis) label() string { return a.proposed.Profile.Label }

// analyse measures a recording and proposes a response for each of its axes.
// tool and title are for the sheet.
func analyse(path string, opts propose.Options, title, tool string) (*analysis, error) {
	rec, err := input.Open(path)
	if err != nil {
		return nil, err
	}
	name := filepath.Base(path)
	m, err := measure.Recording(rec, name)
	if err != nil {
		return nil, err
	}
	p, err := propose.Axes([]*input.Recording{rec}, []*measure.Measurement{m}, opts)
	if err != nil {
		return nil, err
	}
	out := &analysis{file: name, proposal: p, sheet: sheet.Data{
		Title: title, Tool: tool, Normal: opts.Normal, Proposal: p,
		Recordings: []sheet.Recording{{File: name, Header: &rec.Header, Measurement: m}},
	}}
	for i := range p.Axes {
		a, err := analyseAxis(&m.Axes[i], &p.Axes[i], rec, opts)
		if err != nil {
			return nil, fmt.Errorf("axis %s: %w", p.Axes[i].Profile.Label, err)
		}
		out.axes = append(out.axes, a)
	}
	return out, nil
}

func analyseAxis(m *measure.Axis, p *propose.AxisProposal, rec *input.Recording, opts propose.Options) (*analysedAxis, error) {
	effects, err := propose.NewEffects(p, rec, opts)
	if err != nil {
		return nil, err
	}
	response := &p.Profile.Response
	straight, err := effects.Of(straightOf(response))
	if err != nil {
		return nil, err
	}
	a := &analysedAxis{measured: m, proposed: p, effects: effects, straight: straight}
	a.figures = append(sheet.Figures(m, response), figures.Response(m.Label, response, opts.Normal))
	a.paper = figures.Shaping(response.Kind, opts.Normal)
	a.areas = a.paper.Areas()
	if f := straight.Flight; f != nil {
		a.flown = figures.Flown(figures.ReplayPart{
			Label: m.Label, Seconds: f.Seconds, Before: f.Before, JitterBefore: f.NoiseBefore,
		})
		a.flownIn = a.flown.Areas()
	}
	a.places = placesOf(a)
	return a, nil
}

// straightOf has the calibration of r and nothing else.
func straightOf(r *curves.Response) curves.Response {
	s := curves.StraightThrough(r.Kind)
	s.Calibration = r.Calibration
	return s
}

// axis finds an axis by its label.
func (a *analysis) axis(label string) *analysedAxis {
	if a == nil {
		return nil
	}
	for _, x := range a.axes {
		if x.label() == label {
			return x
		}
	}
	return nil
}

// rebased is a candidate on the calibration of the proposal: a candidate made
// on an older recording keeps its deadband, margins and shapes. It reports
// false for one of another kind.
func (a *analysedAxis) rebased(c curves.ProfileAxis) (curves.ProfileAxis, bool) {
	p := a.proposed.Profile
	if c.Response.Kind != p.Response.Kind {
		return curves.ProfileAxis{}, false
	}
	r := c.Response
	r.Calibration = p.Response.Calibration
	p.Response, p.Reasons = r, c.Reasons
	return p, r.Check() == nil
}
