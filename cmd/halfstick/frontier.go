package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
	"halfstick/fit/propose"
)

// frontierFlags are the flags about the picture of --frontier.
type frontierFlags struct {
	axis, format string
	marks        []string
}

// check reports wrong usage before anything is read; path is the picture's.
func (f *frontierFlags) check(path string) error {
	if path == "" {
		if f.axis != "" || len(f.marks) > 0 {
			return usagef("--axis and --mark belong to --frontier; name its picture too")
		}
		return nil
	}
	var err error
	if f.format, err = figures.Format(path); err != nil {
		return usageError{err}
	}
	for _, m := range f.marks {
		if _, err := curves.ParseCurve(m); err != nil && isInline(m) {
			return usageError{err}
		}
	}
	return nil
}

// draw makes the picture of one proposed axis.
func (f *frontierFlags) draw(p *propose.Proposal, opts propose.Options) (*figures.Figure, error) {
	a, err := f.find(p)
	if err != nil {
		return nil, err
	}
	r := a.Profile.Response
	straight := r
	straight.Low, straight.High = curves.Straight{}, curves.Straight{}
	marks := []figures.FrontierMark{
		{Name: "straight", At: a.OnFrontier(straight, opts.MinSlope)},
		{Name: "proposal", At: a.OnFrontier(r, opts.MinSlope)},
	}
	for _, arg := range f.marks {
		named, err := onAxis(arg, r)
		if err != nil {
			return nil, err
		}
		for _, n := range named {
			if _, plain := n.Response.High.(curves.Straight); plain && n.Name == marks[0].Name {
				continue // it is marked already
			}
			at := a.OnFrontier(*n.Response, opts.MinSlope)
			if math.IsInf(at.MaxSlope, 0) {
				return nil, fmt.Errorf("%s has no largest slope, so it cannot be marked; mark an exponent of 1 or more", n.Name)
			}
			marks = append(marks, figures.FrontierMark{Name: n.Name, At: at})
		}
	}
	return figures.Frontier(a.Frontier(opts), marks), nil
}

// find returns the axis that was asked for.
func (f *frontierFlags) find(p *propose.Proposal) (*propose.AxisProposal, error) {
	var labels []string
	for i := range p.Axes {
		a := &p.Axes[i]
		if a.Profile.Label == f.axis || f.axis == "" && a.Profile.Response.Kind == curves.TwoSided {
			return a, nil
		}
		labels = append(labels, a.Profile.Label)
	}
	if f.axis == "" {
		return &p.Axes[0], nil
	}
	return nil, fmt.Errorf("there is no axis %s to draw; choose one of %s", f.axis, strings.Join(labels, ", "))
}

// onAxis turns a CURVE into responses with the calibration, deadband and end
// margins of r, so that only the shapes differ. Of a profile file without
// #LABEL the axes of r's kind count.
func onAxis(arg string, r curves.Response) ([]figures.NamedCurve, error) {
	if s, err := curves.ParseCurve(arg); err == nil {
		r.Low, r.High = s, s
		return []figures.NamedCurve{{Name: arg, Response: &r}}, nil
	}
	named, err := findCurves(arg)
	if err != nil {
		return nil, err
	}
	var out []figures.NamedCurve
	for _, n := range named {
		if n.Response.Kind != r.Kind {
			continue
		}
		path, _, _ := strings.Cut(arg, "#")
		name := filepath.Base(path) + "#" + n.Name // a whole path would not fit
		shaped := r
		shaped.Low, shaped.High = n.Response.Low, n.Response.High
		out = append(out, figures.NamedCurve{Name: name, Response: &shaped})
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s has no %s curve to mark; name one of the axis's kind", arg, r.Kind)
	}
	return out, nil
}
