package sheet

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// sheetPage is what the template sets: strings as they are to be read.
type sheetPage struct {
	Title, Tool string
	Style       template.CSS
	Fields      []field
	Devices     []device
	Axes        []axis
	Proposed    bool
	Glossary    []term
	Since       *since
	Methods     []string // rows refer to them by number, from 1
}

// field is a line of the title block.
type field struct {
	Name   string
	Values []string
}

type device struct {
	Name, GUID, Axes string
}

// axis is one section of the sheet.
type axis struct {
	ID, Place    string // "axis-2", "Axis 2 of 5"
	Label, About string
	Noise        string // for the summary
	Worst        *finding
	Findings     []finding
	Measured     [][]row
	Missing      string
	Notes        []string
	Figures      []template.HTML
	Proposal     *proposal
}

type finding struct {
	Severity, Code, Says, Advice, Evidence string
}

func pageOf(d Data) sheetPage {
	p := sheetPage{
		Title: d.Title, Tool: d.Tool,
		Style:    template.CSS(figures.Style() + style),
		Fields:   fields(d),
		Proposed: d.Proposal != nil,
		Glossary: glossary,
		Since:    sinceOf(d.Change),
	}
	total := 0
	for _, r := range d.Recordings {
		if r.Header != nil {
			p.Devices = appendDevices(p.Devices, r.Header.Devices)
		}
		if r.Measurement != nil {
			total += len(r.Measurement.Axes)
		}
	}
	for _, r := range d.Recordings {
		if r.Measurement == nil {
			continue
		}
		for i := range r.Measurement.Axes {
			n := len(p.Axes) + 1
			a := p.axisOf(&r.Measurement.Axes[i], r.Header, d)
			a.ID, a.Place = fmt.Sprintf("axis-%d", n), fmt.Sprintf("Sheet %d of %d", n, total)
			p.Axes = append(p.Axes, a)
		}
	}
	return p
}

func fields(d Data) []field {
	files, started, source := field{Name: "Recording"}, field{Name: "Taken"}, field{Name: "Read through"}
	for _, r := range d.Recordings {
		files.Values = append(files.Values, r.File)
		if h := r.Header; h != nil {
			when := h.Started.UTC().Format("2 January 2006, 15:04 UTC")
			if h.Started.Equal(time.Time{}) {
				when = "not known"
			}
			started.Values = append(started.Values, when)
			source.Values = append(source.Values, fmt.Sprintf("%s, asked %s times a second", h.Source, text.Number(h.RateHz, 0)))
		}
	}
	out := []field{files, started, source}
	for i := range out {
		out[i].Values = distinct(out[i].Values)
	}
	return append(out,
		field{"Worked out by", []string{d.Tool}},
		field{"Intervals", []string{"95 %, where one can be given"}})
}

// distinct drops repeats and keeps the order.
func distinct(values []string) []string {
	var out []string
	for _, v := range values {
		if !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}

// appendDevices adds those that are not among known yet: several recordings of
// one rig name the same devices.
func appendDevices(known []device, more []input.Device) []device {
	for _, m := range more {
		var labels []string
		for _, a := range m.Axes {
			labels = append(labels, a.Label)
		}
		d := device{m.Name, m.GUID, strings.Join(labels, ", ")}
		if !slices.Contains(known, d) {
			known = append(known, d)
		}
	}
	return known
}

func (p *sheetPage) axisOf(a *measure.Axis, h *input.Header, d Data) axis {
	out := axis{Label: a.Label, About: about(a, h), Notes: a.Notes, Findings: findings(a.Findings)}
	out.Noise = text.Value(a.Rest.Sigma)
	if len(out.Findings) > 0 {
		out.Worst = &out.Findings[0]
	}
	out.Measured, out.Missing = p.measured(a)

	var response *curves.Response
	suggested := suggestedFor(d.Proposal, a, h)
	if suggested != nil {
		response = &suggested.Profile.Response
		if response.Check() != nil {
			response = nil
		}
		out.Proposal = proposalOf(suggested, response, d.Table)
	}
	drawn := Figures(a, response)
	if suggested != nil {
		drawn = append(drawn, figures.Response(a.Label, response, d.Normal))
	}
	for _, f := range drawn {
		out.Figures = append(out.Figures, template.HTML(f.Inline())) // figures escapes its texts
	}
	return out
}

// Figures are those of an axis's measurements, in the order of the sheet. The
// response, whose deadband is marked, may be nil.
func Figures(a *measure.Axis, response *curves.Response) []*figures.Figure {
	drawn := []*figures.Figure{figures.Rest(a)}
	if a.Kind != string(curves.OneSided) {
		drawn = append(drawn, figures.Returns(a, response))
	}
	return append(drawn, figures.Noise(a))
}

// about says whose axis it is: "Example Pedals, axis 2, two-sided".
func about(a *measure.Axis, h *input.Header) string {
	return fmt.Sprintf("%s, axis %d, %s", deviceOf(a, h).Name, a.Index, a.Kind)
}

// deviceOf is the device that the measurement names by its id; without a
// header the id has to do for a name.
func deviceOf(a *measure.Axis, h *input.Header) input.Device {
	if h != nil {
		for _, d := range h.Devices {
			if d.ID == a.Device {
				return d
			}
		}
	}
	return input.Device{ID: a.Device, Name: a.Device}
}

// suggestedFor finds the proposal for a measured axis: the one made from this
// very measurement, else the one with its device, index and label.
func suggestedFor(p *propose.Proposal, a *measure.Axis, h *input.Header) *propose.AxisProposal {
	if p == nil {
		return nil
	}
	for i := range p.Axes {
		if p.Axes[i].Measured == a {
			return &p.Axes[i]
		}
	}
	guid := deviceOf(a, h).GUID
	for i := range p.Axes {
		s := &p.Axes[i]
		if s.Profile.Label == a.Label && s.Profile.Index == a.Index && s.Profile.Device.GUID == guid {
			return s
		}
	}
	return nil
}

// weight orders severities, gravest first.
var weight = map[measure.Severity]int{measure.Repair: 0, measure.Compensate: 1, measure.Watch: 2, measure.Good: 3}

func findings(in []measure.Finding) []finding {
	sorted := slices.Clone(in)
	slices.SortStableFunc(sorted, func(a, b measure.Finding) int { return weight[a.Severity] - weight[b.Severity] })
	var out []finding
	for _, f := range sorted {
		out = append(out, finding{string(f.Severity), f.Code, f.Says, f.Advice, evidence(f.Evidence)})
	}
	return out
}

// evidence writes a finding's quantities in the order of their names.
func evidence(quantities map[string]measure.Quantity) string {
	var parts []string
	for name, q := range quantities {
		parts = append(parts, strings.ReplaceAll(name, "_", " ")+" "+text.Quantity(&q))
	}
	slices.Sort(parts)
	return strings.Join(parts, "; ")
}
