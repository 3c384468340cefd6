package bench

import (
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"strings"

	"halfstick/fit/measure"
	"halfstick/input"
	"halfstick/input/guide"
)

// stateView is what a page needs to know to draw itself.
type stateView struct {
	Rig       uint64       `json:"rig"`
	Source    string       `json:"source"`
	NoRig     string       `json:"no_rig"` // why there is none, empty if there is one
	Notice    string       `json:"notice"` // of a controller that came
	Devices   []deviceView `json:"devices"`
	Busy      string       `json:"busy"`
	Problem   string       `json:"problem"`
	Recording string       `json:"recording"` // that the page is about, empty for none
	Measured  uint64       `json:"measured"`  // another number, measured anew
	Others    []string     `json:"others"`    // recordings of the folder
	Flying    bool         `json:"flying"`    // a flight is being recorded
	Folder    string       `json:"folder"`
	Elsewhere []string     `json:"elsewhere"` // flights with other controls than the recording's
	// Unfinished is the recording, where it can be gone on with.
	Unfinished *unfinishedView   `json:"unfinished,omitempty"`
	Axes       []axisView        `json:"axes"`              // of the recording, in its order
	Renamed    map[string]string `json:"renamed,omitempty"` // axes by their labels before
}

type deviceView struct {
	ID   string     `json:"id"`
	Name string     `json:"name"`
	Away bool       `json:"away"` // unplugged, and not back
	Axes []liveAxis `json:"axes"` // in the order of the live columns
}

type liveAxis struct {
	Label string     `json:"label"`
	Kind  input.Kind `json:"kind"`
}

type axisView struct {
	Label   string   `json:"label"`
	Kind    string   `json:"kind"`
	About   string   `json:"about"`
	Gravest string   `json:"gravest"` // severity of its gravest finding
	Figures []string `json:"figures"`
	Flown   bool     `json:"flown"`
}

func (b *Bench) stateNow() stateView {
	rig := b.rigNow()
	out := stateView{
		Rig: rig.Number, Source: rig.Source, NoRig: rig.Problem, Notice: rig.Notice,
		Devices: []deviceView{}, Axes: []axisView{}, Elsewhere: []string{}, Folder: b.session.Folder(),
	}
	b.mu.Lock()
	out.Busy, out.Problem, out.Flying, out.Renamed = b.busy, b.problem, b.flight != nil, b.renamed
	b.mu.Unlock()
	out.Unfinished = b.unfinishedNow(rig.Devices)
	out.Others = b.recordings()
	if err := b.session.Problem(); err != nil {
		out.Problem = err.Error()
	}
	for _, d := range rig.Devices {
		v := deviceView{ID: d.ID, Name: d.Name, Away: rig.Away[d.ID], Axes: []liveAxis{}}
		for _, a := range d.Axes {
			v.Axes = append(v.Axes, liveAxis{a.Label, a.Kind})
		}
		out.Devices = append(out.Devices, v)
	}
	a := b.analysis.Load()
	if a == nil {
		return out
	}
	out.Recording, out.Measured = a.file, a.serial
	out.Elsewhere = append(out.Elsewhere, a.elsewhere...)
	if !slices.Contains(out.Others, a.file) { // it lies elsewhere
		out.Others = append(out.Others, a.file)
	}
	for _, x := range a.axes {
		v := axisView{
			Label: x.label(), Kind: x.measured.Kind, Figures: figureNames(x), Flown: x.flown != nil,
			About: fmt.Sprintf("%s, axis %d, %s", x.proposed.Profile.Device.Name, x.measured.Index, x.measured.Kind),
		}
		if len(x.measured.Findings) > 0 {
			v.Gravest = string(gravest(x.measured.Findings))
		}
		out.Axes = append(out.Axes, v)
	}
	return out
}

// recordings are those of the session's folder, the newest first, without the
// flights, which go with them.
func (b *Bench) recordings() []string {
	out := []string{}
	found, _ := filepath.Glob(filepath.Join(b.session.Folder(), "*.csv")) // the pattern is sound
	for _, path := range found {
		if name := filepath.Base(path); !strings.HasPrefix(name, "flight-") {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	slices.Reverse(out)
	return out
}

// chooseRecording looks at another recording of the folder.
func (b *Bench) chooseRecording(r *http.Request) (any, error) {
	var wish struct {
		Name string `json:"name"`
	}
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	path := wish.Name
	if a := b.analysis.Load(); a != nil && a.file == wish.Name {
		path = a.path
	} else if !slices.Contains(b.recordings(), wish.Name) {
		return nil, fmt.Errorf("there is no recording %q in %s; load the page anew", wish.Name, b.session.Folder())
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.busy != "" {
		return nil, fmt.Errorf("wait until the bench is done with %s", b.busy)
	}
	b.session.SetRecording(path)
	b.busy = "opening " + wish.Name // so that nothing else begins meanwhile
	b.work.Go(b.look)
	return nil, nil
}

// watchAxis says what a page wants to see in its stream.
func (b *Bench) watchAxis(r *http.Request) (any, error) {
	var wish struct {
		Stream string `json:"stream"`
		Axis   string `json:"axis"`
		Try    bool   `json:"try"`
	}
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	s := b.find(wish.Stream)
	if s == nil {
		return nil, errors.New("the page's stream has ended; it begins again by itself")
	}
	s.watch(wish.Axis, wish.Try)
	return nil, nil
}

// guideAction begins a guided recording, or passes on an action.
func (b *Bench) guideAction(r *http.Request) (any, error) {
	var wish struct {
		guide.Action
		Axes []string `json:"axes"`
	}
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	switch wish.Kind {
	case "begin":
		return nil, b.beginGuide(wish.Axes)
	case "go-on":
		return nil, b.goOn()
	}
	return nil, b.actGuide(wish.Action)
}

// gravest is the severity of the gravest finding.
func gravest(findings []measure.Finding) measure.Severity {
	worst := measure.Good
	for _, f := range findings {
		if slices.Index(severities, f.Severity) > slices.Index(severities, worst) {
			worst = f.Severity
		}
	}
	return worst
}

var severities = []measure.Severity{measure.Good, measure.Watch, measure.Compensate, measure.Repair}
