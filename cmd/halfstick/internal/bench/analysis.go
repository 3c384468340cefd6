package bench

import (
	"errors"
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
	path    string // of the recording
	file    string // its name
	serial  uint64 // another one, another analysis
	leftOut error  // why a flight does not count
	// elsewhere are the flights of the session that were flown with other
	// controls. They belong to other recordings, which is nothing to mend.
	elsewhere []string
	sheet     sheet.Data
	proposal  *propose.Proposal
	axes      []*analysedAxis // in the proposal's order
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

// analyse measures rec, the first of the recordings at paths, and proposes a
// response for each of its axes from it and the flights after it. Flights that
// cannot be taken with it are left out, and that is said. tool and title are for
// the sheet.
func analyse(rec *input.Recording, paths []string, opts propose.Options, title, tool string) (*analysis, error) {
	name := filepath.Base(paths[0])
	m, err := measure.Recording(rec, name)
	if err != nil {
		return nil, err
	}
	recs, ms := []*input.Recording{rec}, []*measure.Measurement{m}
	whole, leftOut := withoutProfile(rec), error(nil)
	var elsewhere []string
	for _, path := range paths[1:] {
		flight, measured, joined, err := openFlight(path, whole)
		if errors.Is(err, input.ErrOtherAxes) {
			elsewhere = append(elsewhere, filepath.Base(path))
			continue
		}
		if err != nil {
			leftOut = errors.Join(leftOut, fmt.Errorf("%s is left out: %w", filepath.Base(path), err))
			continue
		}
		recs, ms, whole = append(recs, flight), append(ms, measured), joined
	}
	p, err := propose.Axes(recs, ms, opts)
	if err != nil {
		return nil, err
	}
	out := &analysis{path: paths[0], file: name, leftOut: leftOut, elsewhere: elsewhere, proposal: p, sheet: sheet.Data{
		Title: title, Tool: tool, Normal: opts.Normal, Proposal: p,
		Recordings: []sheet.Recording{{File: name, Header: &rec.Header, Measurement: m}},
	}}
	for i := range p.Axes {
		a, err := analyseAxis(&m.Axes[i], &p.Axes[i], whole, opts)
		if err != nil {
			return nil, fmt.Errorf("axis %s: %w", p.Axes[i].Profile.Label, err)
		}
		out.axes = append(out.axes, a)
	}
	return out, nil
}

// withoutProfile is a recording of positions alone, for which it does not
// matter what was active when it was flown.
func withoutProfile(rec *input.Recording) *input.Recording {
	positions := *rec
	positions.Header.FlownWith = nil
	return &positions
}

// openFlight reads a flight, and joins its positions to those so far.
func openFlight(path string, whole *input.Recording) (flight *input.Recording, m *measure.Measurement, joined *input.Recording, err error) {
	if flight, err = input.Open(path); err != nil {
		return nil, nil, nil, err
	}
	name := filepath.Base(path)
	if joined, err = input.Join([]*input.Recording{whole, withoutProfile(flight)}, []string{"the recording", name}); err != nil {
		return nil, nil, nil, err
	}
	m, err = measure.Recording(flight, name)
	return flight, m, joined, err
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
