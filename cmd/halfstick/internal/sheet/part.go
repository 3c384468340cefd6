package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"halfstick/fit/measure"
)

// Part names a part of an axis's section.
type Part string

// The parts, in the order of the sheet; figures and table lie between and after
// them.
const (
	Share    Part = "share"    // what the proposal gains, in a line
	Measured Part = "measured" // measurements and findings
	Proposal Part = "proposal" // the proposed response and why it is as it is
	Methods  Part = "methods"  // that Measured refers to
)

// RenderPart writes one part of the section of one axis, as it stands in the
// sheet of d, as HTML without styles. Parts about the proposal are empty
// where there is none. It writes nothing when it fails before it is done; a
// failure after that is w's.
func RenderPart(w io.Writer, d Data, of *measure.Axis, part Part) error {
	p := sheetPage{}
	for _, r := range d.Recordings {
		if r.Measurement == nil {
			continue
		}
		for i := range r.Measurement.Axes {
			if a := &r.Measurement.Axes[i]; a == of {
				return p.renderPart(w, p.axisOf(a, r.Header, d), part)
			}
		}
	}
	return errors.New("the sheet has no such axis; name one of its measurements")
}

func (p *sheetPage) renderPart(w io.Writer, a axis, part Part) error {
	var of any = a
	switch part {
	case Share, Proposal:
		if a.Proposal == nil {
			return nil
		}
		of = a.Proposal
	case Methods:
		of = p.Methods
	}
	var b bytes.Buffer
	if err := page.ExecuteTemplate(&b, string(part), of); err != nil {
		return fmt.Errorf("the part %s of %s: %w", part, a.Label, err)
	}
	_, err := b.WriteTo(w)
	return err
}

// Style is the sheet's style sheet, for a page that shows parts of it beside
// figures.Style.
func Style() string { return style }
